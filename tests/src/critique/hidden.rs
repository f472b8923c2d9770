//! A draft is its author's alone until the moment it goes out.

use std::time::Duration;

use serde_json::{Value, json};
use tests::harness::wait_for;

use super::{
    Yard, but, id, judge, note, noted, put_note, put_stroke, put_summary, put_trace, stroke, text,
    trace,
};

/// Every reading operation of the API's description with the ids of this critique put in.
fn readings(ids: &[(&str, &str)]) -> Vec<String> {
    let description: Value =
        serde_json::from_str(&app::http::description().to_json().expect("a description"))
            .expect("JSON");
    let paths = description["paths"].as_object().expect("paths");
    let mut all = vec![];
    for path in paths
        .iter()
        .filter(|(_, item)| item.get("get").is_some())
        .map(|(path, _)| path)
    {
        for (_, id) in ids {
            let filled: Vec<&str> = path
                .split('/')
                .map(|part| if part.starts_with('{') { id } else { part })
                .collect();
            all.push(filled.join("/"));
        }
    }
    all.sort();
    all.dedup();
    all
}

#[actix_web::test]
async fn no_route_tells_the_student_of_a_draft() {
    let y = Yard::with(|config| config.take_back = Duration::from_millis(6_000)).await;
    let first = y.draft().await;
    let carried = noted(&y.mara, &first, "The heel creeps.").await;
    y.release(&first).await;
    wait_for("the first critique", async || {
        let read = y.nia.get(&format!("/api/v1/critiques/{first}")).await;
        (read.status == 200).then_some(())
    })
    .await;
    let submission = y.send().await;
    let critique = super::open(&y.mara, &submission).await;
    let (note_id, drawn, dotted) = (id(), stroke(&id()), trace(&id()));
    let secret = but(
        note("Xylophonic wrist."),
        json!({ "concern_id": carried["concern_id"] }),
    );
    put_note(&y.mara, &critique, &note_id, &secret)
        .await
        .expect(200);
    put_note(&y.mara, &critique, &id(), &note("Xylophonic heel."))
        .await
        .expect(200);
    put_stroke(&y.mara, &critique, &drawn).await.expect(200);
    put_trace(&y.mara, &critique, &dotted).await.expect(200);
    put_summary(&y.mara, &critique, 1, "Xylophonic all over.")
        .await
        .expect(200);
    let concern = text(&carried["concern_id"]);
    judge(&y.mara, &critique, &concern, 0, json!("cleared"))
        .await
        .expect(200);

    let footage = text(&y.page(&y.mara, &critique).await["footage"]["id"]);
    let revision = text(&y.page(&y.mara, &critique).await["revision"]["id"]);
    let enrolment = y.enrolment.id.to_string();
    let ids = [
        ("shot", y.shot.as_str()),
        ("critique", &critique),
        ("note", &note_id),
        ("submission", &submission),
        ("footage", &footage),
        ("revision", &revision),
        ("enrolment", &enrolment),
    ];
    let mut paths = readings(&ids);
    paths.extend([
        "/api/v1/archive?q=xylophonic".to_owned(),
        "/api/v1/archive".to_owned(),
        format!("/api/v1/shots?student={}", y.nia.id),
    ]);
    assert!(paths.len() > 60, "{paths:?}");
    let secrets = [
        critique.clone(),
        note_id.clone(),
        text(&drawn["id"]),
        text(&dotted["id"]),
        "Xylophonic".into(),
        "\"cleared\"".into(),
    ];
    let said = async |state: &str| {
        for path in &paths {
            let answer = y.nia.get(path).await;
            let body = answer.text();
            // A problem names the path that was asked; what stands in it is the asker's own.
            let body = if answer.status >= 400 {
                body.replace(path.split('?').next().unwrap_or_default(), "")
            } else {
                body
            };
            for secret in &secrets {
                // `cleared` is a word of the vocabulary too.
                let open = path.ends_with("/vocabulary") || path.contains("openapi");
                assert!(
                    open || !body.contains(secret.as_str()),
                    "{state}: {secret} in {answer}"
                );
            }
        }
        y.nia
            .get(&format!("/api/v1/critiques/{critique}"))
            .await
            .expect_problem(404, "not-found");
        let answer = json!({ "kind": "done", "words": "" });
        y.nia
            .put(&format!("/api/v1/notes/{note_id}/answer"), &answer)
            .await
            .expect_problem(404, "not-found");
    };
    said("draft").await;
    let path = format!("/api/v1/critiques/{critique}/release");
    let page = y.mara.post(&path, &json!({})).await.expect(200);
    assert_eq!(
        (&page["state"], &page["released_at"]),
        (&json!("releasing"), &json!(null))
    );
    let at = text(&page["release_at"]);
    let standing: String = y.one(&format!(
        "SELECT released_at::text FROM critique WHERE id = '{critique}'"
    ));
    assert_eq!(
        y.one(&format!(
            "SELECT ('{standing}'::timestamptz = '{at}'::timestamptz)::text"
        )),
        "true"
    );
    let read = y.nia.get(&format!("/api/v1/critiques/{critique}")).await;
    assert_eq!(read.status, 404, "on its way and not there yet: {read}");
    wait_for("the release", async || {
        let read = y.nia.get(&format!("/api/v1/critiques/{critique}")).await;
        let out: bool = y.one(&format!("SELECT (now() >= '{at}'::timestamptz)::text")) == "true";
        assert!(read.status == 404 || out, "before its time: {read}");
        (read.status == 200).then_some(())
    })
    .await;
    let page = y.page(&y.nia, &critique).await;
    assert_eq!(
        (&page["state"], &page["may_edit"]),
        (&json!("released"), &json!(false))
    );
    assert_eq!(
        (&page["strokes"], &page["traces"]),
        (&json!([drawn]), &json!([dotted]))
    );
    assert_eq!(page["summary"], "Xylophonic all over.");
}

#[actix_web::test]
async fn another_mentor_reads_and_writes_nothing_of_it() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let written = noted(&y.mara, &critique, "The wrist jumps.").await;
    let note_id = text(&written["id"]);
    for stranger in [&y.otto, &y.office] {
        let missing = async |answer: tests::harness::client::Answer| {
            answer.expect_problem(404, "not-found");
        };
        missing(stranger.get(&format!("/api/v1/critiques/{critique}")).await).await;
        missing(put_note(stranger, &critique, &id(), &note("Mine.")).await).await;
        missing(
            put_note(
                stranger,
                &critique,
                &note_id,
                &but(note("Mine."), json!({ "version": 1 })),
            )
            .await,
        )
        .await;
        missing(put_stroke(stranger, &critique, &stroke(&id())).await).await;
        missing(put_trace(stranger, &critique, &trace(&id())).await).await;
        missing(put_summary(stranger, &critique, 1, "Mine.").await).await;
        missing(
            stranger
                .delete(&format!(
                    "/api/v1/critiques/{critique}/notes/{note_id}?version=1"
                ))
                .await,
        )
        .await;
        for verb in ["release", "take-back"] {
            missing(
                stranger
                    .post(&format!("/api/v1/critiques/{critique}/{verb}"), &json!({}))
                    .await,
            )
            .await;
        }
    }
    assert_eq!(y.page(&y.mara, &critique).await["notes"], json!([written]));
}
