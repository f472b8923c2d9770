//! A mentor who had the student before: what they told stays theirs to read and to search, and nothing that came later.

use std::time::Duration;

use actix_web::rt::time::sleep;
use futures_util::future::{join, join_all};
use serde_json::{Value, json};
use tests::harness::client::{Answer, Client};
use tests::harness::people::Person;
use tests::harness::wait_for;

use super::{Yard, noted, open, put_summary, text};

/// Nia's first critique is out and half answered, her second a draft, when she goes from Mara to Otto.
struct Moved {
    y: Yard,
    told: String,
    draft: String,
    notes: [String; 2],
    footage: [String; 2],
}

impl Moved {
    async fn new() -> Self {
        let y = Yard::new().await;
        let told = y.draft().await;
        let notes = [
            text(&noted(&y.mara, &told, "Quixotic wrist.").await["id"]),
            text(&noted(&y.mara, &told, "Quixotic heel.").await["id"]),
        ];
        put_summary(&y.mara, &told, 1, "Nearly.").await.expect(200);
        y.release(&told).await;
        answer(&y.nia, &notes[0], "Early zephyr.").await;
        let draft = y.draft().await;
        noted(&y.mara, &draft, "Quixotic draft.").await;
        let footage = [
            text(&y.page(&y.mara, &told).await["footage"]["id"]),
            text(&y.page(&y.mara, &draft).await["footage"]["id"]),
        ];
        move_to(&y, &y.otto).await;
        Self {
            y,
            told,
            draft,
            notes,
            footage,
        }
    }
}

async fn move_to(y: &Yard, mentor: &Person) {
    let path = format!("/api/v1/enrolments/{}", y.enrolment.id);
    y.office
        .patch(&path, &json!({ "mentor_id": mentor.id }))
        .await
        .expect(200);
}

async fn answer(who: &Client, note: &str, words: &str) {
    let given = json!({ "kind": "done", "words": words });
    who.put(&format!("/api/v1/notes/{note}/answer"), &given)
        .await
        .expect(200);
}

/// What the archive finds for somebody, once it finds that much.
async fn found(who: &Client, q: &str, n: usize) -> Vec<Value> {
    wait_for(&format!("{n} hits of {q}"), async || {
        let hits = who.get(&format!("/api/v1/archive?q={q}")).await.expect(200)["items"].clone();
        hits.as_array().filter(|hits| hits.len() == n).cloned()
    })
    .await
}

#[actix_web::test]
async fn what_they_told_stays_theirs_to_read() {
    let m = Moved::new().await;
    let (y, mara) = (&m.y, &m.y.mara);
    let page = y.page(mara, &m.told).await;
    assert_eq!(
        (&page["state"], &page["may_edit"], &page["summary"]),
        (&json!("released"), &json!(false), &json!("Nearly."))
    );
    assert_eq!(
        (&page["student"]["name"], &page["mentor"]["name"]),
        (&json!("Nia"), &json!("Mara"))
    );
    assert_eq!(
        (&page["shot"]["title"], &page["shot"]["course"]["name"]),
        (&json!("Lantern jump"), &json!("Body mechanics"))
    );
    let notes = page["notes"].as_array().expect("notes");
    assert_eq!(notes.len(), 2);
    assert_eq!(
        notes
            .iter()
            .map(|n| n["answer"]["words"].clone())
            .collect::<Vec<_>>(),
        [json!("Early zephyr."), json!(null)]
    );
    mara.get(&format!("/api/v1/footage/{}", m.footage[0]))
        .await
        .expect(200);
    found(mara, "quixotic", 2).await;
    found(mara, "zephyr", 1).await;
    let phrases = mara.get("/api/v1/phrases?q=quixotic").await.expect(200);
    assert_eq!(
        phrases["phrases"].as_array().map(Vec::len),
        Some(2),
        "her own words, without the draft that went along: {phrases}"
    );
    // The new mentor reads it as well.
    assert_eq!(y.page(&y.otto, &m.told).await["may_edit"], json!(false));
}

#[actix_web::test]
async fn it_is_read_and_not_written() {
    let m = Moved::new().await;
    let (y, told) = (&m.y, &m.told);
    for who in [&y.mara, &y.otto] {
        let amend = who
            .post(
                &format!("/api/v1/critiques/{told}/amendments"),
                &json!({ "note_id": null, "words": "One more thing." }),
            )
            .await;
        amend.expect_problem(403, "not-allowed");
        put_summary(who, told, 2, "Rewritten.")
            .await
            .expect_problem(403, "not-allowed");
        super::put_note(who, told, &super::id(), &super::note("Late."))
            .await
            .expect_problem(403, "not-allowed");
        who.post(&format!("/api/v1/critiques/{told}/take-back"), &json!({}))
            .await
            .expect_problem(403, "not-allowed");
        // Nor by the program's role in their scope.
        let amend = format!(
            "INSERT INTO amendment SELECT gen_random_uuid(), c.school_id, c.id, NULL, app_person(), 'One more thing.', now() FROM critique c WHERE c.id = '{told}'"
        );
        let done = y.as_person(who, "mentor", &amend);
        assert!(done.is_err(), "{done:?}");
    }
    let again = format!(
        "INSERT INTO critique SELECT gen_random_uuid(), school_id, enrolment_id, submission_id, revision_id, shot_id, student_id, app_person(), '', 1, now(), NULL
           FROM critique WHERE id = '{told}' ON CONFLICT DO NOTHING"
    );
    let done = y.as_person(&y.mara, "mentor", &again);
    assert!(done.is_err(), "{done:?}");
    assert_eq!(y.page(&y.nia, told).await["amendments"], json!([]));
}

#[actix_web::test]
async fn nothing_that_came_later_is_theirs() {
    let m = Moved::new().await;
    let (y, mara) = (&m.y, &m.y.mara);
    let missing = async |path: String| {
        mara.get(&path).await.expect_problem(404, "not-found");
    };
    answer(&y.nia, &m.notes[0], "Later zephyr.").await;
    answer(&y.nia, &m.notes[1], "Later zephyr too.").await;
    noted(&y.otto, &m.draft, "Quixotic later.").await;
    y.otto
        .post(
            &format!("/api/v1/critiques/{}/release", m.draft),
            &json!({}),
        )
        .await
        .expect(200);
    let third = y.send().await;
    let third = open(&y.otto, &third).await;
    found(&y.otto, "quixotic", 4).await;
    found(&y.otto, "zephyr", 2).await;

    found(mara, "quixotic", 2).await;
    found(mara, "zephyr", 0).await;
    let page = y.page(mara, &m.told).await;
    assert!(
        page["notes"]
            .as_array()
            .expect("notes")
            .iter()
            .all(|note| note["answer"].is_null()),
        "answers given to Otto: {page}"
    );
    let shown = page.to_string();
    for secret in [&m.draft, &third, &m.footage[1]] {
        assert!(!shown.contains(secret.as_str()), "{secret} in {shown}");
    }
    missing(format!("/api/v1/critiques/{}", m.draft)).await;
    missing(format!("/api/v1/critiques/{third}")).await;
    missing(format!("/api/v1/footage/{}", m.footage[1])).await;
    missing(format!("/api/v1/shots/{}", y.shot)).await;
    missing(format!("/api/v1/shots/{}/refrain", y.shot)).await;
    missing(format!("/api/v1/enrolments/{}", y.enrolment.id)).await;
    missing(format!(
        "/api/v1/enrolments/{}/quota-entries",
        y.enrolment.id
    ))
    .await;
    let about = format!("student={}", y.nia.id);
    for list in [
        "/api/v1/shots",
        "/api/v1/refrain",
        "/api/v1/enrolments",
        "/api/v1/persons",
        "/api/v1/desk",
    ] {
        let listed = mara.get(&format!("{list}?{about}")).await.expect(200);
        assert_eq!(listed["items"], json!([]), "{list}");
    }
    // The same of the database itself.
    for (table, seen) in [
        ("critique", 1),
        ("note", 2),
        ("answer", 0),
        ("shot", 1),
        ("revision", 1),
        ("submission", 1),
        ("footage", 1),
        ("enrolment", 0),
        ("quota_entry", 0),
    ] {
        let done = y.as_person(mara, "mentor", &format!("SELECT FROM {table}"));
        assert_eq!(done, Ok(seen), "{table}");
    }
}

#[actix_web::test]
async fn back_with_them_she_is_theirs_again() {
    let m = Moved::new().await;
    let (y, mara) = (&m.y, &m.y.mara);
    answer(&y.nia, &m.notes[1], "Later zephyr.").await;
    move_to(y, mara).await;
    let page = y.page(mara, &m.told).await;
    assert_eq!(
        (&page["may_edit"], &page["notes"][1]["answer"]["words"]),
        (&json!(true), &json!("Later zephyr."))
    );
    found(mara, "zephyr", 2).await;
    let amended = mara
        .post(
            &format!("/api/v1/critiques/{}/amendments", m.told),
            &json!({ "note_id": null, "words": "One more thing." }),
        )
        .await;
    amended.expect(201);
    y.page(mara, &m.draft).await;
    y.otto
        .get(&format!("/api/v1/critiques/{}", m.told))
        .await
        .expect_problem(404, "not-found");
}

/// Either the whole move comes first or the whole change does: nobody is answered with a fault.
#[actix_web::test]
async fn what_is_written_during_a_move_is_kept_or_refused() {
    let y = Yard::new().await;
    let told = y.draft().await;
    let asked = noted(&y.mara, &told, "The wrist jumps.").await;
    y.release(&told).await;
    let draft = y.draft().await;
    let concern = text(&asked["concern_id"]);
    let mut kept = 0;
    for round in 0..12 {
        let (from, to) = if round % 2 == 0 {
            (&y.mara, &y.otto)
        } else {
            (&y.otto, &y.mara)
        };
        let writes = async |n: u64| {
            let mut given = Vec::new();
            for k in 0..4 {
                sleep(Duration::from_millis(n)).await;
                let words = format!("Round {round}, {n} {k}.");
                given.push(super::put_note(from, &draft, &super::id(), &super::note(&words)).await);
                given.push(from.get(&format!("/api/v1/critiques/{draft}")).await);
                let page = given.last().map_or(Value::Null, Answer::json);
                let version = page["carried"][0]["verdict"]["version"]
                    .as_i64()
                    .unwrap_or(0);
                given.push(
                    super::judge(from, &draft, &concern, version as i32, json!("eased")).await,
                );
            }
            given
        };
        let moving = async {
            sleep(Duration::from_millis(6)).await;
            move_to(&y, to).await;
        };
        let (given, ()) = join(join_all((0..6).map(writes)), moving).await;
        for answer in given.iter().flatten() {
            assert!(
                [200, 403, 404, 409].contains(&answer.status),
                "{} {}",
                answer.status,
                answer.text()
            );
            kept += usize::from(answer.status == 200 && answer.asked.contains("/notes/"));
        }
    }
    let page = y.page(&y.mara, &draft).await;
    assert!(kept > 0);
    assert_eq!(page["notes"].as_array().map(Vec::len), Some(kept));
}
