//! How long suggestions for a note being typed take in a school of more than 10,000 notes.
//!
//! `cargo run -p tests --example suggestions [rounds]` prints `name<TAB>value<TAB>unit`. The references, in the same run and between the
//! same rounds: the rows an answer needs, read by plain SQL under the same policies in one transaction, and the page of the same critique.

#[expect(dead_code, reason = "the pages ask for more of it")]
#[path = "../pages/school.rs"]
mod school;

use std::io::Write;
use std::time::{Duration, Instant};

use postgres::Client as Sql;
use serde_json::{Value, json};
use tests::harness::TestApp;
use tests::harness::cluster::{aside, connect};
use uuid::Uuid;

use school::School;

const ROUNDS: usize = 200;
/// What an answer may take.
const LIMIT_MS: f64 = 30.0;
/// What is typed, as far as it has come.
const TYPED: [&str; 5] = [
    "The left wrist still",
    "Left wrist still jumps over one frame, give it two more.",
    "The heel creeps again while it carries the weight",
    "Lovely settle now, keep it",
    "Hold the look a touch less, it drags; the head leads and the chest follows three frames later, must fix",
];

/// A draft, and what lies around it.
struct Draft {
    critique: Uuid,
    shot: Uuid,
    notes: i64,
}

fn main() {
    let rounds = std::env::args()
        .nth(1)
        .map_or(ROUNDS, |text| text.parse().expect("a number"));
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let app = runtime.block_on(TestApp::start_with(|config| config.jobs.workers = 0));
    let school = aside(|| School::fill(&app.database.owner_url));
    let (drafts, scope) = aside(|| {
        let mut owner = connect(&app.database.owner_url);
        (drafts(&mut owner), scope(&mut owner))
    });
    let mentor = app
        .anonymous()
        .with_cookie(format!("refrain={}", school.mentor));
    let mut sql = aside(|| connect(&app.database.app_url));
    let (mut answers, mut reads, mut pages) = (vec![], vec![], vec![]);
    let mut earlier = 0;
    for round in 0..rounds {
        let draft = &drafts[round % drafts.len()];
        let path = format!("/api/v1/critiques/{}", draft.critique);
        let begun = Instant::now();
        let answer = runtime.block_on(mentor.post(&format!("{path}/suggestions"), &typed(round)));
        answers.push(begun.elapsed());
        assert_eq!(answer.status, 200, "{answer}");
        earlier += answer.json()["earlier"].as_array().map_or(0, Vec::len);
        let begun = Instant::now();
        aside(|| read(&mut sql, &scope, draft));
        reads.push(begun.elapsed());
        let begun = Instant::now();
        let page = runtime.block_on(mentor.get(&path));
        pages.push(begun.elapsed());
        assert_eq!(page.status, 200, "{page}");
    }
    aside(|| drop(sql));
    assert!(earlier > 0, "nothing was about anything earlier");
    print(&school, &drafts, &mut answers, &mut reads, &mut pages);
}

fn typed(round: usize) -> Value {
    let start = (round * 37) % 200;
    json!({ "words": TYPED[round % TYPED.len()], "span": { "start": start, "end": start + 12 }, "kind": null, "urgency": null,
        "principles": [], "parts": [] })
}

/// Drafts of the busiest mentor that come after other critiques, those with most notes before them first.
fn drafts(owner: &mut Sql) -> Vec<Draft> {
    let query = "SELECT c.id, c.shot_id, count(n.id) FROM critique c JOIN note n ON n.shot_id = c.shot_id AND n.critique_id <> c.id
        WHERE c.released_at IS NULL AND c.mentor_id = (SELECT mentor_id FROM enrolment GROUP BY 1 ORDER BY count(*) DESC, 1 LIMIT 1)
        GROUP BY 1, 2 ORDER BY 3 DESC, 1 LIMIT 20";
    let rows = owner.query(query, &[]).expect("drafts");
    assert!(!rows.is_empty(), "no draft comes after another critique");
    rows.iter()
        .map(|row| Draft {
            critique: row.get(0),
            shot: row.get(1),
            notes: row.get(2),
        })
        .collect()
}

/// School and person of the busiest mentor.
fn scope(owner: &mut Sql) -> [String; 2] {
    let query = "SELECT school_id::text, id::text FROM person
        WHERE id = (SELECT mentor_id FROM enrolment GROUP BY 1 ORDER BY count(*) DESC, 1 LIMIT 1)";
    let row = owner.query_one(query, &[]).expect("a mentor");
    [row.get(0), row.get(1)]
}

/// The same rows by hand: the critique, its chain with the lengths of footage, the notes, what was said of concerns.
fn read(sql: &mut Sql, [school, person]: &[String; 2], draft: &Draft) {
    let mut transaction = sql.transaction().expect("a transaction");
    let scope = "SELECT set_config('app.school', $1, true), set_config('app.person', $2, true), set_config('app.roles', 'mentor', true)";
    transaction
        .execute(scope, &[school, person])
        .expect("a scope");
    let critique = "SELECT id, shot_id, mentor_id, released_at FROM critique WHERE id = $1";
    transaction
        .query_one(critique, &[&draft.critique])
        .expect("the critique");
    for query in [
        "SELECT r.number, r.footage_id, f.frames FROM revision r JOIN footage f ON f.id = r.footage_id WHERE r.shot_id = $1",
        "SELECT n.id, n.concern_id, r.number, n.kind, n.principles, n.parts, n.span_start, n.span_end, n.words, n.ask
           FROM note n JOIN revision r ON r.id = n.revision_id WHERE n.shot_id = $1",
        "SELECT c.id, r.number FROM critique c JOIN revision r ON r.id = c.revision_id WHERE c.shot_id = $1",
        "SELECT concern_id, critique_id, judged FROM verdict WHERE shot_id = $1",
    ] {
        transaction.query(query, &[&draft.shot]).expect("rows");
    }
    transaction.commit().expect("an end");
}

fn print(
    school: &School,
    drafts: &[Draft],
    answers: &mut [Duration],
    reads: &mut [Duration],
    pages: &mut [Duration],
) {
    let mut out = std::io::stdout();
    let mut say = |name: &str, value: f64, unit: &str| {
        writeln!(out, "{name}\t{value:.3}\t{unit}").expect("written");
    };
    let notes = school.rows.iter().find(|(table, _)| *table == "note");
    say("school_notes", notes.map_or(0, |row| row.1) as f64, "notes");
    say("drafts", drafts.len() as f64, "critiques");
    say("earlier_notes_most", drafts[0].notes as f64, "notes");
    let over = answers
        .iter()
        .filter(|time| time.as_secs_f64() * 1_000.0 > LIMIT_MS)
        .count();
    let middle = quantile(answers, 0.5);
    for (name, times) in [
        ("suggestions", answers),
        ("plain_sql", reads),
        ("critique_page", pages),
    ] {
        for (at, q) in [("p50", 0.5), ("p95", 0.95)] {
            say(&format!("{name}_{at}"), quantile(times, q), "ms");
        }
        if name != "suggestions" {
            let ratio = middle / quantile(times, 0.5);
            say(&format!("suggestions_to_{name}_p50"), ratio, "ratio");
        }
    }
    say("suggestions_over_30_ms", over as f64, "answers");
}

fn quantile(times: &mut [Duration], q: f64) -> f64 {
    times.sort_unstable();
    times[((times.len() - 1) as f64 * q).round() as usize].as_secs_f64() * 1_000.0
}
