//! What is suggested while a note is typed, and what is kept of it.

use serde_json::{Value, json};
use tests::harness::client::{Answer, Client};

use super::{Yard, but, fields, id, judge, note, noted, put_note, text};

/// A note as it is typed, nothing set by hand.
fn typed(words: &str) -> Value {
    json!({ "words": words, "span": { "start": 4, "end": 6 }, "kind": null, "urgency": null, "principles": [], "parts": [] })
}

async fn ask(who: &Client, critique: &str, typed: &Value) -> Answer {
    who.post(&format!("/api/v1/critiques/{critique}/suggestions"), typed)
        .await
}

async fn suggested(who: &Client, critique: &str, words: &str) -> Value {
    ask(who, critique, &typed(words)).await.expect(200)
}

fn earlier(suggestions: &Value) -> &[Value] {
    suggestions["earlier"].as_array().expect("a list")
}

async fn keep(who: &Client, critique: &str, note: &str, shown: Value) -> Answer {
    let path = format!("/api/v1/critiques/{critique}/notes/{note}/suggestions");
    let body = json!({ "lexicon": "2", "weights": "2", "shown": shown });
    who.put(&path, &body).await
}

/// The counts of that field as the person reads them: offered, taken, changed, refused.
async fn counts(who: &Client, field: &str) -> [i64; 4] {
    let taken = who.get("/api/v1/suggestions").await.expect(200);
    let row = taken["fields"].as_array().expect("fields").iter();
    let row = row.into_iter().find(|row| row["field"] == field);
    let row = row.expect("a row of that field");
    ["offered", "taken", "changed", "refused"].map(|name| row[name].as_i64().expect("a number"))
}

#[actix_web::test]
async fn what_the_words_say_is_suggested() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let words = "The left wrist pops over one frame, give it two more frames. This one first, it is a must.";
    let found = suggested(&y.mara, &critique, words).await;
    let principles = found["principles"].as_array().expect("a list");
    assert!(
        principles.iter().any(|p| p["principle"] == "spacing"),
        "{found}"
    );
    for scored in principles {
        assert!(scored["score"].as_f64().is_some_and(|score| score >= 0.5));
    }
    assert_eq!(
        found["parts"][0]["part"],
        json!({ "part": "wrist", "side": "left" })
    );
    assert_eq!(found["ask"], json!({ "what": "add-frames", "amount": 2.0 }));
    assert_eq!(found["kind"]["kind"], "fix");
    assert_eq!(found["urgency"], "must");
    assert_eq!(earlier(&found), &[] as &[Value], "nothing came before r1");

    // What the mentor has set is theirs.
    let set = but(
        typed(words),
        json!({ "kind": "consider", "urgency": "should" }),
    );
    let found = ask(&y.mara, &critique, &set).await.expect(200);
    assert_eq!(
        (&found["kind"], &found["urgency"]),
        (&Value::Null, &Value::Null)
    );

    let silent = suggested(&y.mara, &critique, "").await;
    assert_eq!(
        (&silent["kind"], &silent["principles"]),
        (&Value::Null, &json!([]))
    );
}

#[actix_web::test]
async fn the_earlier_concern_is_offered_and_taken_ties_the_note_to_it() {
    let y = Yard::new().await;
    let first = y.draft().await;
    let written = noted(&y.mara, &first, "The left wrist pops over one frame.").await;
    let other = but(
        note("The camera is too low for the landing."),
        json!({ "principles": ["staging"], "parts": [{ "part": "camera", "side": null }], "span": { "start": 18, "end": 22 } }),
    );
    put_note(&y.mara, &first, &id(), &other).await.expect(200);
    y.release(&first).await;

    let second = y.draft().await;
    let found = suggested(&y.mara, &second, "Left wrist still jumps here.").await;
    let [seems] = earlier(&found) else {
        panic!("one concern: {found}")
    };
    assert_eq!(seems["concern_id"], written["concern_id"]);
    assert_eq!(seems["note_id"], written["id"]);
    assert_eq!(
        (&seems["revision"], &seems["relation"]),
        (&json!(1), &json!("still"))
    );
    assert_eq!(seems["words"], "The left wrist pops over one frame.");
    assert_eq!(seems["mapped"], json!({ "start": 4, "end": 6 }));
    assert!(seems["score"].as_f64().is_some_and(|score| score >= 0.5));
    let reasons = seems["reasons"].as_array().expect("reasons");
    assert!(
        reasons.contains(&json!("overlapping frames")),
        "{reasons:?}"
    );

    // Taken, and kept however often it and the note are sent.
    let at = id();
    let tied = but(
        note("Left wrist still jumps here."),
        json!({ "concern_id": seems["concern_id"] }),
    );
    let saved = put_note(&y.mara, &second, &at, &tied).await.expect(200);
    assert_eq!(saved["concern_id"], written["concern_id"]);
    let shown = json!([{ "what": { "field": "concern", "value": seems["concern_id"], "before": null }, "score": seems["score"] }]);
    for _ in 0..3 {
        keep(&y.mara, &second, &at, shown.clone()).await.expect(204);
    }
    let again = but(
        tied,
        json!({ "version": saved["version"], "words": "Left wrist still jumps, here and after." }),
    );
    put_note(&y.mara, &second, &at, &again).await.expect(200);
    keep(&y.mara, &second, &at, shown).await.expect(204);
    assert_eq!(
        counts(&y.mara, "concern").await,
        [0; 4],
        "a draft decides nothing"
    );
    y.release(&second).await;
    assert_eq!(counts(&y.mara, "concern").await, [1, 1, 0, 0]);

    // Cleared, it comes back; set aside, it is not spoken of again.
    let third = y.draft().await;
    let concern = text(&written["concern_id"]);
    judge(&y.mara, &third, &concern, 0, json!("cleared"))
        .await
        .expect(200);
    y.release(&third).await;
    let fourth = y.draft().await;
    let found = suggested(&y.mara, &fourth, "Left wrist jumps here again.").await;
    assert_eq!(earlier(&found)[0]["relation"], "back");
    judge(&y.mara, &fourth, &concern, 0, json!("set-aside"))
        .await
        .expect(200);
    y.release(&fourth).await;
    let fifth = y.draft().await;
    let found = suggested(&y.mara, &fifth, "Left wrist jumps here again.").await;
    assert_eq!(earlier(&found), &[] as &[Value]);
}

#[actix_web::test]
async fn a_reversal_is_said_with_both_asks_and_stops_nothing() {
    let y = Yard::new().await;
    let first = y.draft().await;
    let asks = json!({ "principles": ["posing"], "parts": [{ "part": "arm", "side": "left" }], "ask": { "what": "scale", "amount": 2.0 } });
    let bigger = but(
        note("The left arm swing is too small, push it bigger."),
        asks,
    );
    let bigger = put_note(&y.mara, &first, &id(), &bigger).await.expect(200);
    y.release(&first).await;

    let second = y.draft().await;
    let words = "The left arm swing is too big now, make it smaller.";
    let found = suggested(&y.mara, &second, words).await;
    let reversed = &earlier(&found)[0];
    assert_eq!(reversed["relation"], "reversal", "{found}");
    assert_eq!(reversed["concern_id"], bigger["concern_id"]);
    assert_eq!(
        reversed["opposed"],
        json!({ "earlier": "bigger", "now": "smaller" })
    );
    assert_eq!(reversed["ask"], json!({ "what": "scale", "amount": 2.0 }));
    assert_eq!(
        reversed["words"],
        "The left arm swing is too small, push it bigger."
    );

    let saved = noted(&y.mara, &second, words).await;
    assert_ne!(
        saved["concern_id"], bigger["concern_id"],
        "saved as a matter of its own"
    );
    let at = text(&saved["id"]);
    let shown =
        json!([{ "what": { "field": "reversal", "value": bigger["concern_id"] }, "score": 0.8 }]);
    keep(&y.mara, &second, &at, shown).await.expect(204);
    judge(
        &y.mara,
        &second,
        &text(&bigger["concern_id"]),
        0,
        json!("set-aside"),
    )
    .await
    .expect(200);
    y.release(&second).await;
    assert_eq!(counts(&y.mara, "reversal").await, [1, 1, 0, 0]);
}

#[actix_web::test]
async fn what_became_of_each_is_read_off_the_released_note() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let (left, at) = (json!({ "part": "wrist", "side": "left" }), id());
    let said = but(
        note("Softer."),
        json!({ "kind": "consider", "principles": ["spacing", "arcs"], "parts": [left], "ask": { "what": "hold", "amount": 8.0 } }),
    );
    put_note(&y.mara, &critique, &at, &said).await.expect(200);
    let shown = json!([
        // Two of three taken; nothing stands in the third's place.
        { "what": { "field": "principle", "value": "spacing", "before": [] }, "score": 0.9 },
        { "what": { "field": "principle", "value": "arcs", "before": ["spacing"] }, "score": 0.6 },
        { "what": { "field": "principle", "value": "timing", "before": ["spacing"] }, "score": 0.5 },
        // The left wrist in the place of the right one.
        { "what": { "field": "part", "value": { "part": "wrist", "side": "right" }, "before": [] }, "score": 1.0 },
        // Something else than was proposed, and than stood there.
        { "what": { "field": "kind", "value": "keep", "before": "fix" }, "score": 0.7 },
        // As it stood.
        { "what": { "field": "urgency", "value": "must", "before": "should" }, "score": null },
        // As it was proposed.
        { "what": { "field": "ask", "value": { "what": "hold", "amount": 8 }, "before": null }, "score": null },
    ]);
    keep(&y.mara, &critique, &at, shown).await.expect(204);
    y.release(&critique).await;
    for (field, wanted) in [
        ("principle", [3, 2, 0, 1]),
        ("part", [1, 0, 1, 0]),
        ("kind", [1, 0, 1, 0]),
        ("urgency", [1, 0, 0, 1]),
        ("ask", [1, 1, 0, 0]),
        ("concern", [0; 4]),
    ] {
        assert_eq!(counts(&y.mara, field).await, wanted, "{field}");
    }
    let taken = y.mara.get("/api/v1/suggestions").await.expect(200);
    let principle = &taken["fields"][0];
    // scipy 1.17.1: beta(3, 2), mean .6, ppf(.05) .2486046, ppf(.95) .9023886.
    let share = &principle["share"];
    for (name, wanted) in [("mean", 0.6), ("low", 0.248_604_6), ("high", 0.902_388_6)] {
        let found = share[name].as_f64().expect("a number");
        assert!((found - wanted).abs() < 1e-6, "{name}: {found}");
    }
    assert_eq!(principle["few"], true, "three are few");

    // Nobody else sees them, not even in the database; nobody changes them.
    assert_eq!(counts(&y.otto, "principle").await, [0; 4]);
    let count = "SELECT 1 FROM suggestion";
    assert_eq!(y.as_person(&y.mara, "mentor", count), Ok(7));
    for (person, role) in [
        (&y.otto, "mentor"),
        (&y.nia, "student"),
        (&y.office, "office"),
    ] {
        assert_eq!(y.as_person(person, role, count), Ok(0), "{role}");
    }
    for change in ["UPDATE suggestion SET score = 1", "DELETE FROM suggestion"] {
        y.as_person(&y.mara, "mentor", change)
            .expect_err("append-only");
        y.as_owner(change).expect_err("append-only");
    }
}

#[actix_web::test]
async fn a_note_that_is_gone_counts_for_nothing() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let shown =
        || json!([{ "what": { "field": "kind", "value": "keep", "before": "fix" }, "score": 0.7 }]);
    let written = noted(&y.mara, &critique, "The wrist pops.").await;
    let at = text(&written["id"]);
    keep(&y.mara, &critique, &at, shown()).await.expect(204);
    let path = format!("/api/v1/critiques/{critique}/notes/{at}?version=1");
    y.mara.delete(&path).await.expect(204);
    keep(&y.mara, &critique, &at, shown()).await.expect(204);
    noted(&y.mara, &critique, "The heel creeps.").await;
    y.release(&critique).await;
    assert_eq!(counts(&y.mara, "kind").await, [0; 4]);
    let late = keep(&y.mara, &critique, &at, shown()).await.expect(409);
    assert_eq!(late["code"], "already-released");
    ask(&y.mara, &critique, &typed("pops")).await.expect(409);
}

#[actix_web::test]
async fn another_mentor_and_the_student_are_told_nothing() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let at = text(&noted(&y.mara, &critique, "The wrist pops.").await["id"]);
    let shown =
        json!([{ "what": { "field": "kind", "value": "keep", "before": "fix" }, "score": 0.7 }]);
    for who in [&y.otto, &y.nia, &y.office] {
        ask(who, &critique, &typed("The wrist pops."))
            .await
            .expect(404);
        keep(who, &critique, &at, shown.clone()).await.expect(404);
    }
}

#[actix_web::test]
async fn bad_input_is_told_by_field_with_a_remedy() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let wing =
        json!({ "span": { "start": 4, "end": 24 }, "parts": [{ "part": "wing", "side": null }] });
    let refused = ask(&y.mara, &critique, &but(typed("pops"), wing))
        .await
        .expect(422);
    assert_eq!(fields(&refused), ["parts[0]", "span"]);
    for error in refused["errors"].as_array().expect("errors") {
        assert!(
            error["remedy"]
                .as_str()
                .is_some_and(|remedy| !remedy.is_empty()),
            "{error}"
        );
    }
    let long = but(typed(""), json!({ "words": "é".repeat(8001) }));
    let refused = ask(&y.mara, &critique, &long).await.expect(422);
    assert_eq!(fields(&refused), ["words"]);
    ask(
        &y.mara,
        &critique,
        &but(typed("pops"), json!({ "wordz": 1 })),
    )
    .await
    .expect(422);
    suggested(&y.mara, &critique, &"é".repeat(8000)).await;

    let at = text(&noted(&y.mara, &critique, "The wrist pops.").await["id"]);
    for (shown, field) in [
        (json!([]), "shown"),
        (
            json!([{ "what": { "field": "part", "value": { "part": "wing", "side": null }, "before": [] }, "score": 1.0 }]),
            "shown[0].what.value",
        ),
        (
            json!([{ "what": { "field": "kind", "value": "keep", "before": "fix" }, "score": 1.5 }]),
            "shown[0].score",
        ),
        (
            json!([{ "what": { "field": "ask", "value": { "what": "hold", "amount": 0.5 }, "before": null }, "score": null }]),
            "shown[0].what.value.amount",
        ),
    ] {
        let refused = keep(&y.mara, &critique, &at, shown).await.expect(422);
        assert_eq!(fields(&refused), [field]);
    }
    for shown in [
        json!([{ "what": { "field": "mood", "value": "keep", "before": "fix" }, "score": 1.0 }]),
        json!([{ "what": { "field": "kind", "value": "spacing", "before": "fix" }, "score": 1.0 }]),
    ] {
        keep(&y.mara, &critique, &at, shown).await.expect(422);
    }
}
