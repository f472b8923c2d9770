//! The road from end to end, as its people walk it: enrolled, invited, sent, critiqued, answered, revised, judged, remembered.

use serde_json::{Value, json};
use tests::harness::client::Client;
use tests::harness::{TestApp, wait_for};
use uuid::Uuid;

use crate::clips::moving;

/// The link of the newest mail to that address.
async fn link_in_mail(t: &TestApp, address: &str) -> String {
    wait_for("a mail with a link", async || {
        let mails = t.post();
        let parsed = mails
            .iter()
            .rev()
            .filter_map(|bytes| mail_parser::MessageParser::default().parse(bytes));
        parsed
            .filter(|mail| mail.to().and_then(|to| to.first()?.address()) == Some(address))
            .find_map(|mail| {
                Some(
                    mail.body_text(0)?
                        .split("/link/")
                        .nth(1)?
                        .split_whitespace()
                        .next()?
                        .to_owned(),
                )
            })
    })
    .await
}

async fn said_in_mail(t: &TestApp, words: &str) {
    wait_for(words, async || {
        t.post()
            .iter()
            .filter_map(|bytes| mail_parser::MessageParser::default().parse(bytes))
            .any(|mail| mail.body_text(0).is_some_and(|text| text.contains(words)))
            .then_some(())
    })
    .await;
}

/// Uploads by tus in two requests: the first is cut half way, the second goes on from what HEAD says.
async fn upload(student: &Client, bytes: &[u8]) -> String {
    let created = student
        .request(reqwest::Method::POST, "/api/v1/uploads")
        .header("tus-resumable", "1.0.0")
        .header("upload-length", &bytes.len().to_string())
        .header("upload-metadata", "filename Y2xpcC5tcDQ=")
        .send()
        .await;
    created.expect(201);
    let place = created.header("location").expect("a location").to_owned();
    for _ in 0..2 {
        let looked = student
            .request(reqwest::Method::HEAD, &place)
            .header("tus-resumable", "1.0.0")
            .send()
            .await;
        let offset: usize = looked
            .header("upload-offset")
            .expect("an offset")
            .parse()
            .expect("a number");
        let until = if offset == 0 {
            bytes.len() / 2
        } else {
            bytes.len()
        };
        student
            .request(reqwest::Method::PATCH, &place)
            .header("tus-resumable", "1.0.0")
            .header("upload-offset", &offset.to_string())
            .body(
                "application/offset+octet-stream",
                bytes[offset..until].to_vec(),
            )
            .send()
            .await
            .expect(204);
    }
    let accepted = wait_for("the upload to be looked at", async || {
        let upload = student.get(&place).await.expect(200);
        assert_ne!(upload["state"], "refused", "{upload}");
        upload["footage_id"].as_str().map(str::to_owned)
    })
    .await;
    wait_for("the footage to be ready", async || {
        let footage = student
            .get(&format!("/api/v1/footage/{accepted}"))
            .await
            .expect(200);
        assert_ne!(footage["state"], "failed", "{footage}");
        (footage["state"] == "ready").then_some(())
    })
    .await;
    accepted
}

async fn send(student: &Client, shot: &str, footage: &str, words: &str) -> Value {
    student
        .request(reqwest::Method::POST, "/api/v1/submissions")
        .header("idempotency-key", &Uuid::new_v4().to_string())
        .json(&json!({ "shot_id": shot, "footage_id": footage, "stage": "spline", "words": words }))
        .send()
        .await
        .expect(201)
}

async fn open(mentor: &Client, submission: &Value) -> String {
    let opened = mentor
        .post(
            &format!(
                "/api/v1/submissions/{}/open",
                submission["id"].as_str().expect("an id")
            ),
            &json!({}),
        )
        .await
        .expect(200);
    opened["critique_id"]
        .as_str()
        .expect("a critique")
        .to_owned()
}

async fn note(mentor: &Client, critique: &str, kind: &str, words: &str, span: (i32, i32)) -> Value {
    let body = json!({ "version": 0, "kind": kind, "urgency": "should", "principles": ["spacing"], "parts": [{ "part": "wrist", "side": "left" }],
        "span": { "start": span.0, "end": span.1 }, "region": null, "words": words, "ask": null, "concern_id": null });
    mentor
        .put(
            &format!("/api/v1/critiques/{critique}/notes/{}", Uuid::new_v4()),
            &body,
        )
        .await
        .expect(200)
}

async fn judge(mentor: &Client, critique: &str, note: &Value, verdict: &str) {
    let concern = note["concern_id"].as_str().expect("a concern");
    let judged = mentor
        .put(
            &format!("/api/v1/critiques/{critique}/verdicts/{concern}"),
            &json!({ "version": 0, "verdict": verdict }),
        )
        .await
        .expect(200);
    assert_eq!(judged["verdict"]["verdict"], verdict);
}

#[tokio::test]
async fn the_road_from_end_to_end() {
    let t = TestApp::start().await;
    let school = t.school("walk");
    let office = t.person(&school, "Olga Office", &["office"]);
    let mentor = t.person(&school, "Mira Mentor", &["mentor"]);
    let other = t.person(&school, "Otto Other", &["student"]);
    let course = t.course(&school, "Bodies in motion", 16);
    t.enrolment(&course, &other, &mentor, 16);

    // The office enrols; the student takes the invitation.
    let enrolment = office
        .post("/api/v1/enrolments", &json!({ "course_id": course.id, "mentor_id": mentor.id,
            "starts_on": "2020-01-01", "student": { "name": "Sól Student", "email": "sol@walk.example" } }))
        .await
        .expect(201);
    let link = link_in_mail(&t, "sol@walk.example").await;
    let joined = t
        .anonymous()
        .post(
            &format!("/api/v1/access-links/{link}"),
            &json!({ "password": "a long enough phrase" }),
        )
        .await;
    joined.expect(201);
    let student = t.anonymous().with_cookie(joined.cookie());

    // A clip arrives in two pieces, is looked at, prepared and sent.
    let shot = student
        .post(
            "/api/v1/shots",
            &json!({ "enrolment_id": enrolment["id"], "title": "Lantern", "first_frame": 101 }),
        )
        .await
        .expect(201);
    let shot = shot["id"].as_str().expect("an id").to_owned();
    let footage = upload(&student, &moving(24)).await;
    let r1 = send(&student, &shot, &footage, "The hand feels late.").await;
    assert_eq!(r1["quota"]["left"], 15);
    said_in_mail(&t, "1 of 16 sent, 15 left, critique promised by ").await;

    // The mentor writes four notes; the student sees nothing of the draft.
    let c1 = open(&mentor, &r1).await;
    let wrist = note(
        &mentor,
        &c1,
        "fix",
        "The wrist vaults over one frame.",
        (4, 6),
    )
    .await;
    let foot = note(
        &mentor,
        &c1,
        "fix",
        "The heel creeps while it carries.",
        (8, 14),
    )
    .await;
    let settle = note(
        &mentor,
        &c1,
        "consider",
        "Settle two frames sooner.",
        (16, 20),
    )
    .await;
    note(&mentor, &c1, "keep", "Leave the landing.", (20, 23)).await;
    student
        .get(&format!("/api/v1/critiques/{c1}"))
        .await
        .expect_problem(404, "not-found");
    mentor
        .post(&format!("/api/v1/critiques/{c1}/release"), &json!({}))
        .await
        .expect(200);
    said_in_mail(
        &t,
        "Your critique of Lantern, r1, is ready to read: 4 notes.",
    )
    .await;

    // The student reads and answers, then sends r2 and r3.
    let page = student
        .get(&format!("/api/v1/critiques/{c1}"))
        .await
        .expect(200);
    assert_eq!(page["notes"].as_array().map(Vec::len), Some(4));
    let answer = json!({ "kind": "leaving", "words": "because the lantern pulls it" });
    student
        .put(
            &format!(
                "/api/v1/notes/{}/answer",
                foot["id"].as_str().expect("an id")
            ),
            &answer,
        )
        .await
        .expect(200);
    let footage = upload(&student, &moving(30)).await;
    let r2 = send(&student, &shot, &footage, "Reworked.").await;
    let c2 = open(&mentor, &r2).await;
    judge(&mentor, &c2, &wrist, "cleared").await;
    judge(&mentor, &c2, &foot, "still").await;
    judge(&mentor, &c2, &settle, "cleared").await;
    mentor
        .post(&format!("/api/v1/critiques/{c2}/release"), &json!({}))
        .await
        .expect(200);
    let footage = upload(&student, &moving(30)).await;
    let r3 = send(&student, &shot, &footage, "Again.").await;
    let c3 = open(&mentor, &r3).await;
    let carried = mentor
        .get(&format!("/api/v1/critiques/{c3}"))
        .await
        .expect(200);
    let carried: Vec<&Value> = carried["carried"]
        .as_array()
        .expect("carried")
        .iter()
        .map(|c| &c["standing_before"])
        .collect();
    assert_eq!(carried.len(), 4, "{carried:?}");
    judge(&mentor, &c3, &wrist, "still").await;
    judge(&mentor, &c3, &foot, "still").await;
    mentor
        .post(&format!("/api/v1/critiques/{c3}/release"), &json!({}))
        .await
        .expect(200);

    // My refrain shows exactly that.
    let refrain = student
        .get(&format!("/api/v1/shots/{shot}/refrain"))
        .await
        .expect(200);
    let standings = |of: &Value| -> (Vec<Value>, Value) {
        let rows = refrain["groups"]
            .as_array()
            .expect("groups")
            .iter()
            .flat_map(|group| group["rows"].as_array().expect("rows"));
        let row = rows
            .into_iter()
            .find(|row| row["concern"]["id"] == of["concern_id"])
            .expect("a row");
        (
            row["cells"]
                .as_array()
                .expect("cells")
                .iter()
                .map(|cell| cell["standing"].clone())
                .collect(),
            row["came_back_after"].clone(),
        )
    };
    assert_eq!(
        standings(&wrist),
        (
            vec![json!("noted"), json!("cleared"), json!("back")],
            json!(1)
        )
    );
    assert_eq!(
        standings(&foot),
        (
            vec![json!("noted"), json!("noted"), json!("noted")],
            Value::Null
        )
    );
    assert_eq!(
        standings(&settle),
        (
            vec![json!("noted"), json!("cleared"), json!("cleared")],
            Value::Null
        )
    );

    // The archive finds a note's words for both, and nothing of it for another student.
    for reader in [&student, &mentor.client] {
        wait_for("the note to be found", async || {
            let hits = reader.get("/api/v1/archive?q=vaults").await.expect(200);
            (hits["items"].as_array().map(Vec::len) == Some(1)).then_some(())
        })
        .await;
    }
    assert_eq!(
        other.get("/api/v1/archive?q=vaults").await.expect(200)["items"],
        json!([])
    );
    for path in [
        format!("/api/v1/critiques/{c1}"),
        format!("/api/v1/shots/{shot}"),
        format!("/api/v1/shots/{shot}/refrain"),
        format!("/api/v1/footage/{footage}"),
    ] {
        other.get(&path).await.expect_problem(404, "not-found");
    }
}
