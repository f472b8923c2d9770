//! The index finds for everybody exactly what the database's own policies let the same person read, whatever
//! has happened, and follows the feed through every change.

use std::collections::BTreeSet;

use app::jobs::index;
use archive::{Archive, Asker, Filters, Search, Sort};
use chrono::{DateTime, Utc};
use domain::parts::{PARTS as TREE, ancestors};
use postgres::Client;
use postgres::types::ToSql;
use rand::RngExt;
use rand::seq::IndexedRandom;
use store::Db;
use uuid::Uuid;

use super::invented::{Asking, Invented, KINDS, PARTS, PRINCIPLES, WORDS};
use tests::harness::cluster::{aside, cluster, connect};

type Found = BTreeSet<(String, Uuid)>;

/// A question both sides are asked.
#[derive(Debug)]
struct Question {
    /// Words that must occur as they are, in a row.
    words: Vec<&'static str>,
    filters: Filters,
}

fn question(invented: &mut Invented<'_>) -> Question {
    let some = |dice: &mut rand::rngs::StdRng, share| dice.random_bool(share);
    let words = (0..[0, 0, 1, 1, 2][invented.dice.random_range(0..5)])
        .filter_map(|_| WORDS.choose(&mut invented.dice).copied())
        .collect();
    let dice = &mut invented.dice;
    let word = |dice: &mut rand::rngs::StdRng, all: &[&str]| {
        all.choose(dice).copied().unwrap_or_default().to_owned()
    };
    let day = |n: i64| Utc::now() - chrono::Duration::days(n);
    let part = if some(dice, 0.3) {
        Some(word(
            dice,
            &[&PARTS[..], &["body", "upper", "leg"]].concat(),
        ))
    } else {
        None
    };
    let filters = Filters {
        principle: if some(dice, 0.2) {
            word(dice, &PRINCIPLES).parse().ok()
        } else {
            None
        },
        kind: if some(dice, 0.2) {
            word(dice, &KINDS).parse().ok()
        } else {
            None
        },
        side: if part.is_some() && some(dice, 0.4) {
            word(dice, &["left", "right", "both"]).parse().ok()
        } else {
            None
        },
        part,
        student: if some(dice, 0.2) {
            invented.people.choose(dice).map(|p| p.person.into())
        } else {
            None
        },
        shot: if some(dice, 0.2) {
            invented.shots.choose(dice).map(|shot| (*shot).into())
        } else {
            None
        },
        from: if some(dice, 0.2) {
            Some(day(dice.random_range(0..300)))
        } else {
            None
        },
        to: if some(dice, 0.2) {
            Some(day(dice.random_range(0..300)))
        } else {
            None
        },
    };
    Question { words, filters }
}

/// What the policies let this person read, asked as the program's own role; with the time the policies used.
fn by_the_database(
    sql: &mut Client,
    asking: &Asking,
    question: &Question,
) -> (Found, DateTime<Utc>) {
    let mut tx = sql.transaction().expect("a transaction");
    let (school, person) = (asking.school.to_string(), asking.person.to_string());
    let scope = "SELECT set_config('app.school', $1, true), set_config('app.person', $2, true), set_config('app.roles', $3, true)";
    tx.execute(scope, &[&school, &person, &asking.roles.join(",")])
        .expect("a scope");
    let filters = &question.filters;
    let below: Option<Vec<&str>> = filters.part.as_deref().map(|wanted| {
        TREE.iter()
            .map(|node| node.name)
            .filter(|name| ancestors(name).any(|above| above == wanted))
            .collect()
    });
    let phrase =
        (!question.words.is_empty()).then(|| format!(r"(^|\s){}(\s|$)", question.words.join(" ")));
    let values: [&(dyn ToSql + Sync); 9] = [
        &phrase,
        &filters.principle.map(|principle| principle.as_str()),
        &filters.kind.map(|kind| kind.as_str()),
        &below,
        &filters.side.map(|side| side.as_str()),
        &filters.student.map(|id| id.0),
        &filters.shot.map(|id| id.0),
        &filters.from,
        &filters.to,
    ];
    let rows = tx
        .query(
            "SELECT d.sort, d.id, now() FROM archive_document d WHERE ($1::text IS NULL OR d.words ~ $1)
               AND ($2::text IS NULL OR $2 = ANY (d.principles)) AND ($3::text IS NULL OR d.kind = $3)
               AND ($4::text[] IS NULL OR EXISTS (SELECT FROM jsonb_array_elements(d.parts) p WHERE p->>'part' = ANY ($4)
                 AND ($5::text IS NULL OR p->>'side' = $5 OR p->>'side' = 'both')))
               AND ($6::uuid IS NULL OR d.student_id = $6) AND ($7::uuid IS NULL OR d.shot_id = $7)
               AND ($8::timestamptz IS NULL OR d.at >= $8) AND ($9::timestamptz IS NULL OR d.at < $9)",
            &values,
        )
        .expect("what the policies show");
    let now = tx.query_one("SELECT now()", &[]).expect("the time").get(0);
    (
        rows.iter().map(|row| (row.get(0), row.get(1))).collect(),
        now,
    )
}

fn by_the_index(
    archive: &Archive,
    enrolments: Vec<Uuid>,
    asking: &Asking,
    question: &Question,
    now: DateTime<Utc>,
) -> Found {
    let asker = Asker {
        school: asking.school.into(),
        person: asking.person.into(),
        as_student: asking.roles.contains(&"student"),
        as_office: asking.roles.contains(&"office"),
        as_mentor: asking
            .roles
            .contains(&"mentor")
            .then(|| enrolments.into_iter().map(Into::into).collect()),
    };
    let text = if question.words.is_empty() {
        String::new()
    } else {
        format!("\"{}\"", question.words.join(" "))
    };
    let (mut found, mut cursor) = (Found::new(), None::<String>);
    loop {
        let search = Search {
            text: &text,
            filters: &question.filters,
            cursor: cursor.as_deref(),
            limit: 7,
            now,
        };
        let page = archive.search(&asker, &search).expect("an answer");
        for hit in page.hits {
            let sort = match hit.document.key.sort {
                Sort::Note => "note",
                Sort::Answer => "answer",
                Sort::Amendment => "amendment",
            };
            assert!(
                found.insert((sort.to_owned(), hit.document.key.id)),
                "a hit twice"
            );
        }
        cursor = page.next_cursor;
        if cursor.is_none() {
            assert_eq!(page.total, found.len());
            return found;
        }
    }
}

/// Everybody asks a few questions of both.
fn compare(invented: &mut Invented<'_>, as_app: &mut Client, archive: &Archive) -> usize {
    let mut hits = 0;
    for asking in invented.people.clone() {
        for _ in 0..4 {
            let question = question(invented);
            let mentored = "SELECT id FROM enrolment WHERE mentor_id = $1";
            let rows = invented
                .sql
                .query(mentored, &[&asking.person])
                .expect("enrolments");
            let enrolments = rows.iter().map(|row| row.get(0)).collect();
            let (wanted, now) = by_the_database(as_app, &asking, &question);
            let found = by_the_index(archive, enrolments, &asking, &question, now);
            assert_eq!(found, wanted, "{asking:?} asks {question:?}");
            hits += found.len();
        }
    }
    hits
}

#[test]
fn everybody_finds_what_the_policies_show_them() {
    let database = cluster().database();
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let db = Db::new(&database.app_url, 2).expect("a pool");
    let folder = cluster().var_folder();
    let head = runtime.block_on(index::head(&db)).expect("the feed");
    let (archive, state) = Archive::open(&folder, &head.source).expect("the folder");
    assert!(state.is_err(), "there is no index yet");
    runtime
        .block_on(index::rebuild(&db, &archive))
        .expect("an index of nothing");
    let hits = aside(|| {
        let (mut as_owner, mut as_app) = (connect(&database.owner_url), connect(&database.app_url));
        let mut invented = Invented::new(&mut as_owner, 20_261_125);
        let mut hits = 0;
        for round in 0..14 {
            for _ in 0..8 {
                invented.change();
            }
            // What runs in other databases of the cluster holds the feed up for as long as it runs.
            while runtime
                .block_on(index::catch_up(&db, &archive))
                .expect("followed")
            {
                std::thread::sleep(std::time::Duration::from_millis(5));
            }
            hits += compare(&mut invented, &mut as_app, &archive);
            if round % 5 == 4 {
                assert_eq!(
                    runtime
                        .block_on(index::is_whole(&db, &archive))
                        .expect("counted"),
                    Some(true)
                );
                runtime
                    .block_on(index::rebuild(&db, &archive))
                    .expect("rebuilt");
                hits += compare(&mut invented, &mut as_app, &archive);
            }
        }
        hits
    });
    assert!(
        hits > 400,
        "only {hits} hits: the questions find too little to mean anything"
    );
}
