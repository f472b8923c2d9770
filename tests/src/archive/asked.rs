//! `GET /api/v1/archive` as people ask it: what is found, by whom, and what odd questions are answered.

use std::time::{Duration, Instant};

use app::token::Token;
use serde_json::Value;
use uuid::Uuid;

use super::invented::{Asking, Invented};
use tests::harness::TestApp;
use tests::harness::client::{Answer, Client};
use tests::harness::cluster::{Database, aside, connect};

/// Somebody of `app`'s schools, signed in.
fn sign_in(app: &TestApp, asking: &Asking) -> Client {
    let token = Token::random();
    let hash = token.hash();
    aside(|| {
        let sql = "INSERT INTO session (token_hash, school_id, person_id, created_at, seen_at) VALUES ($1, $2, $3, now(), now())";
        let values: [&(dyn postgres::types::ToSql + Sync); 3] =
            [&hash.as_slice(), &asking.school, &asking.person];
        connect(&app.database.owner_url)
            .execute(sql, &values)
            .expect("a session");
    });
    app.anonymous().with_cookie(format!("refrain={token}"))
}

/// Asks with these parameters.
async fn ask(client: &Client, parameters: &[(&str, &str)]) -> Answer {
    let encoded = |text: &str| {
        text.bytes()
            .map(|byte| format!("%{byte:02X}"))
            .collect::<String>()
    };
    let pairs: Vec<String> = parameters
        .iter()
        .map(|(name, value)| format!("{name}={}", encoded(value)))
        .collect();
    client
        .get(&format!("/api/v1/archive?{}", pairs.join("&")))
        .await
}

/// Everybody, and a released note with words of its own between two of them.
struct Story {
    people: Vec<Asking>,
    mentor: Asking,
    student: Asking,
    note: Uuid,
    documents: i64,
}

const WORDS: &str =
    "The lanterne sways late; \u{1F525} \u{5E9}\u{5DC}\u{5D5}\u{5DD} <b>hips</b> lead.";

fn story(database: &Database) -> Story {
    aside(|| {
        let mut owner = connect(&database.owner_url);
        let mut invented = Invented::new(&mut owner, 21);
        let draft = "SELECT c.id, c.school_id, c.mentor_id, c.student_id, n.id FROM critique c JOIN enrolment e ON e.id = c.enrolment_id
            AND e.mentor_id = c.mentor_id JOIN note n ON n.critique_id = c.id WHERE c.released_at IS NULL AND c.mentor_id <> c.student_id LIMIT 1";
        (0..150).for_each(|_| invented.change());
        let row = loop {
            if let Some(row) = invented.sql.query_opt(draft, &[]).expect("an answer") {
                break row;
            }
            invented.change();
        };
        let (critique, note): (Uuid, Uuid) = (row.get(0), row.get(4));
        let words = "UPDATE note SET words = $2, updated_at = now() WHERE id = $1";
        invented
            .sql
            .execute(words, &[&note, &WORDS])
            .expect("words");
        let release = "UPDATE critique SET released_at = now() - interval '1 second' WHERE id = $1";
        invented
            .sql
            .execute(release, &[&critique])
            .expect("released");
        let documents = invented
            .sql
            .query_one("SELECT count(*) FROM archive_document", &[])
            .expect("a number")
            .get(0);
        let person = |id: Uuid| {
            invented
                .people
                .iter()
                .find(|p| p.person == id)
                .expect("somebody")
                .clone()
        };
        Story {
            people: invented.people.clone(),
            mentor: person(row.get(2)),
            student: person(row.get(3)),
            note,
            documents,
        }
    })
}

/// Asks until the words are found; a new program has to build its index first.
async fn found(client: &Client, words: &str) -> Value {
    let begun = Instant::now();
    loop {
        let answer = ask(client, &[("q", words)]).await;
        if answer.status == 200 && answer.json()["total"] == 1 {
            return answer.json();
        }
        assert!(
            begun.elapsed() < Duration::from_secs(20),
            "not found: {answer}"
        );
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
}

#[test]
fn a_note_is_found_by_those_it_is_for_and_nobody_else() {
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let app = runtime.block_on(TestApp::start());
    let story = story(&app.database);
    for asking in [&story.mentor, &story.student] {
        let client = sign_in(&app, asking);
        let page = runtime.block_on(found(&client, "lanterne"));
        let hit = &page["items"][0];
        assert_eq!(
            (&hit["sort"], &hit["id"]),
            (&"note".into(), &story.note.to_string().into())
        );
        assert_eq!(hit["note_id"], hit["id"]);
        assert_eq!(hit["span"], serde_json::json!({ "start": 3, "end": 9 }));
        assert_eq!(hit["student"]["id"], story.student.person.to_string());
        let pieces = hit["fragments"].as_array().expect("pieces");
        let text: String = pieces
            .iter()
            .filter_map(|piece| piece["text"].as_str())
            .collect();
        assert_eq!(text, WORDS, "plain text, nothing added");
        let marked: Vec<&str> = pieces
            .iter()
            .filter(|piece| piece["hit"] == true)
            .filter_map(|piece| piece["text"].as_str())
            .collect();
        assert_eq!(marked, ["lanterne"]);
    }
    for asking in &story.people {
        let client = sign_in(&app, asking);
        let answer = runtime.block_on(ask(&client, &[("q", "lanterne")]));
        if asking.roles == ["office"] {
            answer.expect_problem(403, "not-allowed");
        } else {
            let is_for =
                asking.person == story.mentor.person || asking.person == story.student.person;
            assert_eq!(answer.expect(200)["total"], i32::from(is_for), "{asking:?}");
        }
    }
    runtime
        .block_on(ask(&app.anonymous(), &[]))
        .expect_problem(401, "sign-in-required");
}

#[test]
fn odd_questions_have_sensible_answers() {
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let app = runtime.block_on(TestApp::start());
    let story = story(&app.database);
    let client = sign_in(&app, &story.mentor);
    let all = runtime.block_on(async {
        found(&client, "lanterne").await;
        ask(&client, &[]).await.expect(200)["total"].clone()
    });
    assert!(
        all.as_i64()
            .is_some_and(|all| all > 1 && all <= story.documents),
        "{all}"
    );
    let found = |text: &str| runtime.block_on(ask(&client, &[("q", text)]));
    for text in [
        "",
        " ",
        "*",
        "\"",
        "\u{0}",
        "?!()[]{}:^~\\",
        "\u{202E}",
        "--",
        "\"\"\"",
        "' OR 1=1",
    ] {
        let answer = found(text);
        let wanted = if text.contains("OR") {
            &Value::from(0)
        } else {
            &all
        };
        assert_eq!(&answer.expect(200)["total"], wanted, "{text:?}");
    }
    for text in [
        "\u{1F525}",
        "\u{5E9}\u{5DC}\u{5D5}\u{5DD}",
        "\"lanterne sways",
        "LANTERNE",
        "lant*",
        "\"sways late\"",
        "lanterne \u{202E}hips",
    ] {
        assert_eq!(found(text).expect(200)["total"], 1, "{text:?}");
    }
    for text in ["lanterne sways early", "\"late sways\"", "anterne"] {
        assert_eq!(found(text).expect(200)["total"], 0, "{text:?}");
    }
    for (name, value) in [
        ("q", "x".repeat(10_000)),
        (
            "q",
            "a b ".repeat(40).to_string() + &(0..40).map(|n| format!("w{n} ")).collect::<String>(),
        ),
        ("part", "wing".into()),
        ("principle", "x".into()),
        ("kind", "FIX".into()),
        ("student", "me".into()),
        ("from", "yesterday".into()),
        ("cursor", "zzz".into()),
    ] {
        let problem = runtime
            .block_on(ask(&client, &[(name, &value)]))
            .expect_problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["field"], name);
        assert!(problem["errors"][0]["remedy"].is_string(), "{problem}");
    }
}

#[test]
fn pages_follow_each_other_to_the_end() {
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let app = runtime.block_on(TestApp::start());
    let story = story(&app.database);
    let client = sign_in(&app, &story.mentor);
    runtime.block_on(async {
        found(&client, "lanterne").await;
        let total = ask(&client, &[]).await.expect(200)["total"]
            .as_u64()
            .expect("a number");
        let (mut seen, mut cursor) = (Vec::new(), String::new());
        loop {
            let page = ask(&client, &[("limit", "3"), ("cursor", &cursor)])
                .await
                .expect(200);
            let items = page["items"].as_array().expect("hits");
            assert!(items.len() <= 3);
            seen.extend(items.iter().map(|hit| {
                (
                    hit["at"].as_str().unwrap_or_default().to_owned(),
                    hit["sort"].to_string(),
                    hit["id"].to_string(),
                )
            }));
            match page["next_cursor"].as_str() {
                Some(next) => next.clone_into(&mut cursor),
                None => break,
            }
        }
        assert_eq!(seen.len() as u64, total);
        let times: Vec<_> = seen
            .iter()
            .map(|(at, ..)| at.parse::<chrono::DateTime<chrono::Utc>>().expect("a time"))
            .collect();
        assert!(times.is_sorted_by(|a, b| a >= b), "newest first");
        seen.sort();
        seen.dedup();
        assert_eq!(seen.len() as u64, total, "none twice");
        let other = ask(&client, &[("q", "hand"), ("cursor", &cursor)]).await;
        other.expect_problem(422, "invalid-input");
    });
}
