//! What the student answers to a note.

use serde_json::json;

use super::{Yard, noted, text};

#[actix_web::test]
async fn a_note_is_answered_in_three_ways() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let mut ids = vec![];
    for words in [
        "The wrist jumps.",
        "The heel creeps.",
        "Settle sooner.",
        "Leave the landing.",
    ] {
        ids.push(text(&noted(&y.mara, &critique, words).await["id"]));
    }
    y.release(&critique).await;
    let answer = async |note: &str, kind: &str, words: &str| {
        y.nia
            .put(
                &format!("/api/v1/notes/{note}/answer"),
                &json!({ "kind": kind, "words": words }),
            )
            .await
    };
    for (note, kind, words) in [
        (&ids[0], "will-do", ""),
        (&ids[1], "done", " Moved two frames. "),
        (&ids[2], "leaving", "because the lantern pulls it – 火"),
    ] {
        let given = answer(note, kind, words).await.expect(200);
        assert_eq!(
            (&given["kind"], &given["words"]),
            (&json!(kind), &json!(words.trim()))
        );
    }
    for reader in [&y.nia, &y.mara] {
        let page = y.page(reader, &critique).await;
        let kinds: Vec<_> = page["notes"]
            .as_array()
            .expect("notes")
            .iter()
            .map(|note| note["answer"]["kind"].clone())
            .collect();
        assert_eq!(
            kinds,
            [
                json!("will-do"),
                json!("done"),
                json!("leaving"),
                json!(null)
            ]
        );
        assert_eq!(
            page["notes"][2]["answer"]["words"],
            "because the lantern pulls it – 火"
        );
    }
    let changed = answer(&ids[0], "done", "").await.expect(200);
    assert_eq!(changed["kind"], "done");
    assert_eq!(
        y.one("SELECT count(*)::text FROM answer"),
        "3",
        "changed, not added"
    );
    assert_eq!(
        y.page(&y.mara, &critique).await["notes"][0]["version"],
        1,
        "the note itself stands"
    );
}

#[actix_web::test]
async fn leaving_something_needs_a_reason() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let note = text(&noted(&y.mara, &critique, "The wrist jumps.").await["id"]);
    y.release(&critique).await;
    let path = format!("/api/v1/notes/{note}/answer");
    for words in ["", " \n\t"] {
        let problem = y
            .nia
            .put(&path, &json!({ "kind": "leaving", "words": words }))
            .await
            .expect_problem(422, "invalid-input");
        assert_eq!(super::fields(&problem), ["words"]);
        assert!(problem["errors"][0]["remedy"].is_string(), "{problem}");
    }
    let long = json!({ "kind": "done", "words": "x".repeat(4001) });
    let problem = y
        .nia
        .put(&path, &long)
        .await
        .expect_problem(422, "invalid-input");
    assert_eq!(
        (super::fields(&problem), &problem["errors"][0]["reason"]),
        (vec!["words"], &json!("must be at most 4000 long"))
    );
    y.nia
        .put(&path, &json!({ "kind": "maybe", "words": "" }))
        .await
        .expect_problem(422, "invalid-input");
    y.nia
        .put(&path, &json!({ "kind": "done" }))
        .await
        .expect_problem(422, "invalid-input");
    assert_eq!(y.one("SELECT count(*)::text FROM answer"), "0");
    // Nobody answers for her.
    let done = json!({ "kind": "done", "words": "" });
    let bo = y.t.person(&y.school, "Bo", &["student"]);
    y.t.enrolment(&y.course, &bo, &y.mara, 16);
    bo.put(&path, &done).await.expect_problem(404, "not-found");
    y.mara
        .put(&path, &done)
        .await
        .expect_problem(403, "not-allowed");
    y.otto
        .put(&path, &done)
        .await
        .expect_problem(404, "not-found");
    y.nia
        .put(&format!("/api/v1/notes/{}/answer", super::id()), &done)
        .await
        .expect_problem(404, "not-found");
    assert_eq!(y.one("SELECT count(*)::text FROM answer"), "0");
}
