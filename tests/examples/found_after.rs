//! How long after a change of a note its words are found by `GET /api/v1/archive`, and how long that takes to answer.
//!
//! `cargo run -p tests --example found_after [changes]` prints `name<TAB>value<TAB>unit`. The reference is the same
//! question put to the database alone, without an index: every document's words read through the policies.

#[path = "../src/archive/invented.rs"]
mod invented;

use std::io::Write;
use std::time::{Duration, Instant};

use app::token::Token;
use invented::{Asking, Invented};
use postgres::types::ToSql;
use tests::harness::TestApp;
use tests::harness::client::Client;
use tests::harness::cluster::{aside, connect};
use uuid::Uuid;

const CHANGES: usize = 100;
/// Random things that happen first; each writes about two documents.
const HISTORY: usize = 3_000;

fn main() {
    let changes = std::env::args()
        .nth(1)
        .map_or(CHANGES, |text| text.parse().expect("a number"));
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let app = runtime.block_on(TestApp::start());
    let times = aside(|| {
        let mut owner = connect(&app.database.owner_url);
        let mut invented = Invented::new(&mut owner, 1);
        (0..HISTORY).for_each(|_| invented.change());
        let (mentor, critique) = mentor_with_a_draft(&mut invented);
        let client = sign_in(invented.sql, &app, &mentor);
        runtime.block_on(found(&client, "hand"));
        let mut times = Times::default();
        for n in 0..changes {
            let word = format!("fresh{n}");
            let begun = Instant::now();
            change(invented.sql, critique, &word);
            runtime.block_on(found(&client, &word));
            times.found.push(begun.elapsed());
            let begun = Instant::now();
            runtime.block_on(found(&client, "hand"));
            times.asked.push(begun.elapsed());
            times.scanned.push(scan(&app.database.app_url, &mentor));
        }
        times
    });
    times.print();
}

#[derive(Default)]
struct Times {
    found: Vec<Duration>,
    asked: Vec<Duration>,
    scanned: Vec<Duration>,
}

impl Times {
    fn print(mut self) {
        let mut out = std::io::stdout();
        let mut say = |name: &str, value: f64, unit: &str| {
            writeln!(out, "{name}\t{value:.3}\t{unit}").expect("written")
        };
        let (asked, scanned) = (
            quantile(&mut self.asked, 0.5),
            quantile(&mut self.scanned, 0.5),
        );
        say(
            "archive_change_to_answer_p50",
            quantile(&mut self.found, 0.5),
            "ms",
        );
        say(
            "archive_change_to_answer_p99",
            quantile(&mut self.found, 0.99),
            "ms",
        );
        say("archive_answer_p50", asked, "ms");
        say("archive_answer_p99", quantile(&mut self.asked, 0.99), "ms");
        say("database_answer_p50", scanned, "ms");
        say("archive_to_database_p50", asked / scanned, "ratio");
    }
}

fn quantile(times: &mut [Duration], q: f64) -> f64 {
    times.sort_unstable();
    times[((times.len() - 1) as f64 * q).round() as usize].as_secs_f64() * 1_000.0
}

fn mentor_with_a_draft(invented: &mut Invented<'_>) -> (Asking, Uuid) {
    let draft = "SELECT c.school_id, c.mentor_id, c.id FROM critique c JOIN enrolment e ON e.id = c.enrolment_id AND e.mentor_id = c.mentor_id
        WHERE c.released_at IS NULL AND EXISTS (SELECT FROM note n WHERE n.critique_id = c.id AND n.words <> '') LIMIT 1";
    loop {
        if let Some(row) = invented.sql.query_opt(draft, &[]).expect("an answer") {
            let mentor = invented
                .people
                .iter()
                .find(|p| p.person == row.get::<_, Uuid>(1))
                .expect("somebody");
            return (mentor.clone(), row.get(2));
        }
        invented.change();
    }
}

fn sign_in(sql: &mut postgres::Client, app: &TestApp, asking: &Asking) -> Client {
    let token = Token::random();
    let hash = token.hash();
    let session = "INSERT INTO session (token_hash, school_id, person_id, created_at, seen_at) VALUES ($1, $2, $3, now(), now())";
    let values: [&(dyn ToSql + Sync); 3] = [&hash.as_slice(), &asking.school, &asking.person];
    sql.execute(session, &values).expect("a session");
    app.anonymous().with_cookie(format!("refrain={token}"))
}

fn change(sql: &mut postgres::Client, critique: Uuid, word: &str) {
    let change = "UPDATE note SET words = $2, updated_at = now() WHERE id = (SELECT min(id::text)::uuid FROM note WHERE critique_id = $1)";
    sql.execute(change, &[&critique, &word]).expect("a change");
}

/// Asks until there is a hit.
async fn found(client: &Client, word: &str) {
    loop {
        let answer = client.get(&format!("/api/v1/archive?q={word}")).await;
        if answer.status == 200 && answer.json()["total"] != 0 {
            return;
        }
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
}

/// The same question without an index, as the program's role in the mentor's scope.
fn scan(url: &str, mentor: &Asking) -> Duration {
    let mut sql = connect(url);
    let begun = Instant::now();
    let mut tx = sql.transaction().expect("a transaction");
    let scope = "SELECT set_config('app.school', $1, true), set_config('app.person', $2, true), set_config('app.roles', $3, true)";
    let (school, person) = (mentor.school.to_string(), mentor.person.to_string());
    let roles = mentor.roles.join(",");
    let values: [&(dyn ToSql + Sync); 3] = [&school, &person, &roles];
    tx.execute(scope, &values).expect("a scope");
    let rows = "SELECT d.sort, d.id, d.words, d.at FROM archive_document d WHERE to_tsvector('english', d.words) @@ plainto_tsquery('english', $1)
        ORDER BY d.at DESC, d.id LIMIT 30";
    assert!(!tx.query(rows, &[&"hand"]).expect("hits").is_empty());
    begun.elapsed()
}
