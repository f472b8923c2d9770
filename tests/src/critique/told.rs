//! What the student was told is never rewritten: not by the API, not by SQL under the program's role, not by a superuser.

use serde_json::{Value, json};
use tests::harness::client::Answer;

use super::{
    Yard, but, id, judge, note, noted, put_note, put_stroke, put_summary, put_trace, stroke, text,
    trace,
};

/// A released critique with one of everything, and a draft of the same shot beside it.
struct Told {
    y: Yard,
    critique: String,
    draft: String,
    earlier: String,
    note: Value,
    stroke: Value,
    trace: Value,
}

impl Told {
    async fn new() -> Self {
        let y = Yard::new().await;
        let first = y.draft().await;
        let earlier = text(&noted(&y.mara, &first, "The heel creeps.").await["concern_id"]);
        y.release(&first).await;
        let critique = y.draft().await;
        let (drawn, dotted) = (stroke(&id()), trace(&id()));
        let note = noted(&y.mara, &critique, "The wrist jumps.").await;
        put_stroke(&y.mara, &critique, &drawn).await.expect(200);
        put_trace(&y.mara, &critique, &dotted).await.expect(200);
        put_summary(&y.mara, &critique, 1, "Nearly.")
            .await
            .expect(200);
        judge(&y.mara, &critique, &earlier, 0, json!("eased"))
            .await
            .expect(200);
        y.release(&critique).await;
        let draft = y.draft().await;
        Self {
            y,
            critique,
            draft,
            earlier,
            note,
            stroke: drawn,
            trace: dotted,
        }
    }

    async fn as_read(&self) -> Value {
        self.y.page(&self.y.nia, &self.critique).await
    }
}

#[actix_web::test]
async fn no_request_rewrites_it() {
    let told = Told::new().await;
    let before = told.as_read().await;
    let (mara, critique) = (&told.y.mara, told.critique.as_str());
    let note_id = text(&told.note["id"]);
    let of = |what: &str, id: &Value| format!("/api/v1/critiques/{critique}/{what}/{}", text(id));
    let changed = but(note("Other words."), json!({ "version": 1 }));
    let attempts: [Answer; 12] = [
        put_note(mara, critique, &note_id, &changed).await,
        put_note(mara, critique, &note_id, &note("The wrist jumps.")).await,
        put_note(mara, critique, &id(), &note("And another.")).await,
        mara.delete(&format!("{}?version=1", of("notes", &told.note["id"])))
            .await,
        judge(mara, critique, &told.earlier, 1, json!("cleared")).await,
        judge(mara, critique, &told.earlier, 1, json!(null)).await,
        put_stroke(
            mara,
            critique,
            &but(told.stroke.clone(), json!({ "color": "#000000" })),
        )
        .await,
        put_stroke(mara, critique, &stroke(&id())).await,
        mara.delete(&of("strokes", &told.stroke["id"])).await,
        put_trace(
            mara,
            critique,
            &but(told.trace.clone(), json!({ "dots": [] })),
        )
        .await,
        mara.delete(&of("traces", &told.trace["id"])).await,
        put_summary(mara, critique, 2, "Rewritten.").await,
    ];
    for attempt in &attempts {
        attempt.expect_problem(409, "already-released");
    }
    // From the draft beside it neither.
    put_note(mara, &told.draft, &note_id, &changed)
        .await
        .expect_problem(409, "duplicate");
    put_stroke(mara, &told.draft, &told.stroke)
        .await
        .expect_problem(409, "duplicate");
    assert_eq!(told.as_read().await, before);
}

/// Every way of SQL that a fault of the program could take, in the scope of the author.
#[actix_web::test]
async fn no_statement_rewrites_it() {
    let told = Told::new().await;
    let before = told.as_read().await;
    let (critique, draft, y) = (&told.critique, &told.draft, &told.y);
    let mut statements: Vec<String> = vec![
        format!("UPDATE critique SET summary = 'Rewritten.' WHERE id = '{critique}'"),
        format!("UPDATE critique SET version = version + 1 WHERE id = '{critique}'"),
        format!("UPDATE critique SET released_at = NULL WHERE id = '{critique}'"),
        format!("UPDATE critique SET released_at = now() + interval '1 hour' WHERE id = '{critique}'"),
        format!("DELETE FROM critique WHERE id = '{critique}'"),
        format!("UPDATE concern SET critique_id = '{draft}' WHERE critique_id = '{critique}'"),
        format!("DELETE FROM concern WHERE critique_id = '{critique}'"),
        format!("UPDATE note SET words = 'Rewritten.' WHERE critique_id = '{critique}'"),
        format!("UPDATE note SET span_start = 0, version = 9 WHERE critique_id = '{critique}'"),
        format!("UPDATE verdict SET judged = 'cleared' WHERE critique_id = '{critique}'"),
        format!("UPDATE stroke SET color = '#000000' WHERE critique_id = '{critique}'"),
        format!("UPDATE trace SET dots = '[]' WHERE critique_id = '{critique}'"),
        format!(
            "INSERT INTO verdict SELECT '{critique}', n.concern_id, n.school_id, n.shot_id, 'cleared', 1, now() FROM note n WHERE n.critique_id = '{critique}'"
        ),
        format!(
            "INSERT INTO stroke SELECT gen_random_uuid(), school_id, critique_id, NULL, 0, 0, color, size, pen, points, now() FROM stroke WHERE critique_id = '{critique}'"
        ),
        format!("INSERT INTO trace SELECT gen_random_uuid(), school_id, critique_id, part, color, dots, now(), now() FROM trace WHERE critique_id = '{critique}'"),
        format!(
            "INSERT INTO note SELECT gen_random_uuid(), school_id, critique_id, concern_id, revision_id, shot_id, student_id, kind, urgency, principles, parts,
               span_start, span_end, region, 'Slipped in.', ask, 1, now(), now() FROM note WHERE critique_id = '{critique}'"
        ),
    ];
    for part in ["note", "verdict", "stroke", "trace"] {
        statements.push(format!(
            "DELETE FROM {part} WHERE critique_id = '{critique}'"
        ));
        // Carried off into a draft, where it could be changed.
        statements.push(format!(
            "UPDATE {part} SET critique_id = '{draft}' WHERE critique_id = '{critique}'"
        ));
        statements.push(format!("TRUNCATE {part} CASCADE"));
    }
    for statement in &statements {
        for roles in ["mentor", "mentor,office,student"] {
            let done = y.as_person(&y.mara, roles, statement);
            assert!(
                matches!(done, Err(_) | Ok(0)),
                "the program's role may: {statement}: {done:?}"
            );
        }
        let done = y.as_owner(statement);
        assert!(
            done.is_err(),
            "nothing but the policies forbids: {statement}: {done:?}"
        );
    }
    assert_eq!(told.as_read().await, before);
}

/// While it is on its way it can be taken back, and nothing else.
#[actix_web::test]
async fn what_is_leaving_stands_too() {
    let y = Yard::with(|config| config.take_back = std::time::Duration::from_secs(600)).await;
    let critique = y.draft().await;
    noted(&y.mara, &critique, "The wrist jumps.").await;
    y.release(&critique).await;
    for statement in [
        format!("UPDATE critique SET summary = 'Quickly.' WHERE id = '{critique}'"),
        format!(
            "UPDATE critique SET released_at = released_at - interval '1 hour' WHERE id = '{critique}'"
        ),
        format!("UPDATE note SET words = 'Quickly.' WHERE critique_id = '{critique}'"),
    ] {
        let done = y.as_person(&y.mara, "mentor", &statement);
        assert!(done.is_err(), "{statement}: {done:?}");
    }
    y.mara
        .post(
            &format!("/api/v1/critiques/{critique}/take-back"),
            &json!({}),
        )
        .await
        .expect(200);
    let amended = json!({ "note_id": null, "words": "And breathe." });
    let path = format!("/api/v1/critiques/{critique}/amendments");
    y.mara
        .post(&path, &amended)
        .await
        .expect_problem(409, "not-released");
}

#[actix_web::test]
async fn what_is_added_has_its_date_and_leaves_the_rest_as_it_was() {
    let told = Told::new().await;
    let (y, critique) = (&told.y, &told.critique);
    let before = told.as_read().await;
    let path = format!("/api/v1/critiques/{critique}/amendments");
    let amend = async |note_id: Value, words: &str| {
        y.mara
            .post(&path, &json!({ "note_id": note_id, "words": words }))
            .await
    };
    let begun = chrono::Utc::now();
    let about_note = amend(told.note["id"].clone(), " I meant the left one. ")
        .await
        .expect(201);
    let about_all = amend(json!(null), "Look at r1 again, ½ the size.")
        .await
        .expect(201);
    for (added, note_id, words) in [
        (&about_note, &told.note["id"], "I meant the left one."),
        (&about_all, &json!(null), "Look at r1 again, ½ the size."),
    ] {
        assert_eq!(
            (&added["note_id"], &added["words"], &added["by"]),
            (note_id, &json!(words), &json!("Mara"))
        );
        let at: chrono::DateTime<chrono::Utc> = added["at"]
            .as_str()
            .expect("a date")
            .parse()
            .expect("RFC 3339");
        assert!(
            at >= begun - chrono::TimeDelta::milliseconds(1) && at <= chrono::Utc::now(),
            "{at}"
        );
    }
    let after = told.as_read().await;
    assert_eq!(
        after["amendments"],
        json!([about_note, about_all]),
        "oldest first"
    );
    let mut original = after.clone();
    original["amendments"] = json!([]);
    assert_eq!(original, before, "the original is unchanged");

    for words in ["", "  \n"] {
        let problem = amend(json!(null), words)
            .await
            .expect_problem(422, "invalid-input");
        assert_eq!(super::fields(&problem), ["words"]);
    }
    let long = "x".repeat(8001);
    amend(json!(null), &long)
        .await
        .expect_problem(422, "invalid-input");
    let elsewhere = noted(&y.mara, &told.draft, "Not told yet.").await;
    let problem = amend(elsewhere["id"].clone(), "Of that too.")
        .await
        .expect_problem(422, "invalid-input");
    assert_eq!(super::fields(&problem), ["note_id"]);
    y.mara
        .post(
            &format!("/api/v1/critiques/{}/amendments", told.draft),
            &json!({ "note_id": null, "words": "Early." }),
        )
        .await
        .expect_problem(409, "not-released");
    let by_student = y
        .nia
        .post(&path, &json!({ "note_id": null, "words": "No." }))
        .await;
    by_student.expect_problem(403, "not-allowed");
    for statement in [
        "UPDATE amendment SET words = 'Never said.'",
        "UPDATE amendment SET created_at = now() - interval '1 year'",
        "DELETE FROM amendment",
        "TRUNCATE amendment",
    ] {
        let done = y.as_person(&y.mara, "mentor", statement);
        assert!(done.is_err(), "{statement}: {done:?}");
        assert!(y.as_owner(statement).is_err(), "{statement}");
    }
    assert_eq!(told.as_read().await, after);
}
