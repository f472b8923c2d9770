//! What a critique may hold, and how what is too much or makes no sense is refused: the field, the limit, nothing half written.

use serde_json::{Value, json};
use tests::harness::client::Answer;

use super::{
    FRAMES, Yard, but, fields, id, note, noted, put_note, put_stroke, put_summary, put_trace,
    stroke, text, trace,
};

/// A refusal that names that field with that reason.
#[track_caller]
fn refused(answer: &Answer, field: &str, reason: &str) {
    let problem = answer.expect_problem(422, "invalid-input");
    let errors = problem["errors"].as_array().expect("errors");
    let named = errors.iter().any(|error| {
        error["field"].as_str().is_some_and(|f| f == field)
            && error["reason"].as_str().is_some_and(|r| r.contains(reason))
    });
    assert!(named, "{field}: {reason}: {answer}");
}

#[actix_web::test]
async fn a_note_within_the_limits_is_kept_to_the_letter() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let tree: Value = y.mara.get("/api/v1/vocabulary").await.expect(200)["parts"].clone();
    // Every part of the tree with every side it has.
    for part in tree.as_array().expect("parts") {
        let sides = if part["sided"] == true {
            vec![json!(null), json!("left"), json!("right"), json!("both")]
        } else {
            vec![json!(null)]
        };
        let parts: Vec<Value> = sides
            .into_iter()
            .map(|side| json!({ "part": part["name"], "side": side }))
            .collect();
        let written = put_note(
            &y.mara,
            &critique,
            &id(),
            &but(note("Here."), json!({ "parts": parts })),
        )
        .await
        .expect(200);
        assert_eq!(written["parts"], json!(parts));
    }
    // 8,000 characters, not bytes; controls, joiners, right to left, combining marks and what looks like code stay as they are.
    let longest = "火".repeat(8_000);
    let odd = "e\u{301} \u{202e}abc\u{202c} 👩🏽‍🎨 \u{200b} <b>&amp;</b> '; DROP TABLE note; -- $1 %s \\ \t\r\n\u{7f}\u{feff}";
    for words in [longest.as_str(), odd, ""] {
        let note_id = id();
        let written = put_note(&y.mara, &critique, &note_id, &note(words))
            .await
            .expect(200);
        assert_eq!(written["words"], words);
        let page = y.page(&y.mara, &critique).await;
        let kept = page["notes"]
            .as_array()
            .expect("notes")
            .iter()
            .find(|n| n["id"] == note_id.as_str())
            .cloned();
        assert_eq!(kept, Some(written));
    }
    let edges = but(
        note("Edges."),
        json!({ "span": { "start": 0, "end": FRAMES - 1 }, "region": { "x": 0.0, "y": 0.0, "w": 1.0, "h": 1.0 }, "ask": { "what": "offset", "amount": -3.0 } }),
    );
    let written = put_note(&y.mara, &critique, &id(), &edges)
        .await
        .expect(200);
    assert_eq!(
        (&written["span"], &written["ask"]),
        (&edges["span"], &edges["ask"])
    );
}

#[actix_web::test]
async fn a_note_that_makes_no_sense_is_refused_by_field() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let kept = noted(&y.mara, &critique, "The wrist jumps.").await;
    let put = async |fields: Value| {
        put_note(&y.mara, &critique, &id(), &but(note("Wrong."), fields)).await
    };
    let outside = format!("within the {FRAMES} frames");
    for span in [
        json!({ "start": 0, "end": FRAMES }),
        json!({ "start": 6, "end": 5 }),
        json!({ "start": -1, "end": 5 }),
        json!({ "start": 24, "end": 24 }),
    ] {
        refused(&put(json!({ "span": span })).await, "span", &outside);
    }
    for region in [
        json!({ "x": 0.5, "y": 0.5, "w": 0.6, "h": 0.1 }),
        json!({ "x": -0.1, "y": 0.5, "w": 0.2, "h": 0.1 }),
        json!({ "x": 0.1, "y": 0.5, "w": 0.0, "h": 0.1 }),
        json!({ "x": 0.1, "y": 0.5, "w": 0.1, "h": -0.1 }),
        json!({ "x": 1e300, "y": 0.5, "w": 0.1, "h": 0.1 }),
    ] {
        refused(
            &put(json!({ "region": region })).await,
            "region",
            "within the picture",
        );
    }
    for ask in [
        json!({ "what": "add-frames", "amount": 0.5 }),
        json!({ "what": "hold", "amount": 0.0 }),
        json!({ "what": "scale", "amount": 0.0 }),
        json!({ "what": "offset", "amount": 4000.0 }),
    ] {
        refused(
            &put(json!({ "ask": ask })).await,
            "ask.amount",
            "whole frames",
        );
    }
    let parts = |part: &str, side: Value| json!({ "parts": [{ "part": "wrist", "side": "left" }, { "part": part, "side": side }] });
    refused(
        &put(parts("spine", json!("left"))).await,
        "parts[1]",
        "spine has no left and right",
    );
    refused(
        &put(parts("wing", json!(null))).await,
        "parts[1]",
        "no part called \"wing\"",
    );
    let many: Vec<Value> = (0..13)
        .map(|_| json!({ "part": "wrist", "side": "left" }))
        .collect();
    refused(&put(json!({ "parts": many })).await, "parts", "at most 12");
    refused(
        &put(json!({ "principles": vec!["arcs"; 13] })).await,
        "principles",
        "at most 12",
    );
    refused(
        &put(json!({ "words": "x".repeat(8_001) })).await,
        "words",
        "at most 8000",
    );
    refused(
        &put(json!({ "version": -1 })).await,
        "version",
        "between 0 and 1000000",
    );
    // Not of the shape at all; the problem says where.
    for fields in [
        json!({ "kind": "praise" }),
        json!({ "urgency": 3 }),
        json!({ "principles": ["wobble"] }),
        json!({ "parts": [{ "part": "wrist", "side": "middle" }] }),
        json!({ "span": { "start": 1.5, "end": 5 } }),
        json!({ "span": { "start": 99_999_999_999_i64, "end": 5 } }),
        json!({ "region": { "x": 0.1, "y": 0.1, "w": 0.1 } }),
        json!({ "concern_id": "no id" }),
        json!({ "colour": "red" }),
        json!({ "words": null }),
    ] {
        let problem = put(fields).await.expect_problem(422, "invalid-input");
        let field = problem["errors"][0]["field"].as_str().expect("a place");
        assert!(field.starts_with("line "), "{problem}");
    }
    // RFC 8259 allows the escape; no table can hold the character.
    refused(&put(json!({ "words": "a\u{0}b" })).await, "words", "U+0000");
    refused(
        &put(parts("wri\u{0}st", json!(null))).await,
        "parts[1].part",
        "U+0000",
    );
    let path = format!("/api/v1/critiques/{critique}/notes/{}", id());
    for body in [
        "",
        "null",
        "[]",
        "{",
        "{\"words\": \"\\ud800\"}",
        "{\"words\": \"\u{0}\"}",
    ] {
        let answer = y
            .mara
            .request(reqwest::Method::PUT, &path)
            .body("application/json", body)
            .send()
            .await;
        answer.expect_problem(422, "invalid-input");
    }
    let path = format!("/api/v1/critiques/{critique}/notes/not-an-id");
    let answer = y.mara.put(&path, &note("Where?")).await;
    assert_eq!(answer.status, 404, "{answer}");
    assert_eq!(
        y.page(&y.mara, &critique).await["notes"],
        json!([kept]),
        "nothing half written"
    );
}

#[actix_web::test]
async fn a_stroke_has_its_limits() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let put =
        async |fields: Value| put_stroke(&y.mara, &critique, &but(stroke(&id()), fields)).await;
    let points = |n: usize| json!({ "points": vec![[0.123_456_789_012_345, 0.123_456_789_012_345, 0.5]; n] });
    put(points(5_000)).await.expect(200);
    refused(&put(points(5_001)).await, "points", "1 to 5000");
    refused(&put(points(0)).await, "points", "1 to 5000");
    for point in [[-0.01, 0.5, 0.5], [0.5, 1.01, 0.5], [0.5, 0.5, 1.5]] {
        refused(&put(json!({ "points": [point] })).await, "points", "0 to 1");
    }
    for frames in [
        json!({ "frame": 6, "hold_to": 5 }),
        json!({ "frame": 0, "hold_to": FRAMES }),
        json!({ "frame": FRAMES, "hold_to": FRAMES }),
    ] {
        refused(&put(frames).await, "frame", &format!("{FRAMES} frames"));
    }
    for color in ["#AA0000", "#aa00zz", "aa00000", "red", "#aa00001"] {
        let answer = put(json!({ "color": color })).await;
        assert_eq!(
            fields(&answer.expect_problem(422, "invalid-input")),
            ["color"],
            "{color}"
        );
    }
    for size in [0.0, 0.6, -1.0] {
        refused(
            &put(json!({ "size": size })).await,
            "size",
            "between 0.0001 and 0.5",
        );
    }
    // A note of another critique, or of none.
    let other = noted(&y.mara, &y.draft().await, "Elsewhere.").await;
    for note_id in [other["id"].clone(), json!(id())] {
        refused(
            &put(json!({ "note_id": note_id })).await,
            "note_id",
            "no note of this critique",
        );
    }
    // 512 KiB are the most a request may carry.
    let huge = format!(
        "{{\"points\": [{}]}}",
        "[0.123456789012345678, 0.123456789012345678, 0.5],".repeat(12_000)
    );
    let path = format!("/api/v1/critiques/{critique}/strokes/{}", id());
    let answer = y
        .mara
        .request(reqwest::Method::PUT, &path)
        .body("application/json", huge)
        .send()
        .await;
    let problem = answer.expect_problem(413, "too-large");
    assert!(
        problem["detail"]
            .as_str()
            .is_some_and(|detail| detail.contains("512 KiB")),
        "{problem}"
    );
    assert_eq!(y.one("SELECT count(*)::text FROM stroke"), "1");
}

#[actix_web::test]
async fn dots_are_one_a_frame_and_in_order() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let put = async |fields: Value| put_trace(&y.mara, &critique, &but(trace(&id()), fields)).await;
    let dots = |frames: &[i32]| json!({ "dots": frames.iter().map(|frame| json!({ "frame": frame, "x": 0.5, "y": 0.5 })).collect::<Vec<_>>() });
    let all: Vec<i32> = (0..FRAMES).collect();
    put(dots(&all)).await.expect(200);
    put(dots(&[])).await.expect(200);
    put(but(dots(&[3]), json!({ "part": null })))
        .await
        .expect(200);
    for wrong in [&[5, 4][..], &[4, 4]] {
        refused(
            &put(dots(wrong)).await,
            "dots",
            "in the order of their frames",
        );
    }
    for wrong in [&[0, FRAMES][..], &[-1, 3]] {
        refused(
            &put(dots(wrong)).await,
            "frame",
            &format!("{FRAMES} frames"),
        );
    }
    let many: Vec<i32> = (0..3_601).collect();
    refused(&put(dots(&many)).await, "dots", "at most 3600");
    refused(
        &put(json!({ "dots": [{ "frame": 3, "x": 1.5, "y": 0.5 }] })).await,
        "dots",
        "within the picture",
    );
    refused(
        &put(json!({ "part": { "part": "neck", "side": "left" } })).await,
        "part",
        "no left and right",
    );
    refused(
        &put(json!({ "color": "#RRGGBB" })).await,
        "color",
        "#rrggbb",
    );
    assert_eq!(y.one("SELECT count(*)::text FROM trace"), "3");
}

/// So many that nobody draws or writes them by hand; what is there already can still be changed.
#[actix_web::test]
async fn a_critique_holds_so_many_pieces() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let (drawn, dotted) = (stroke(&id()), trace(&id()));
    put_stroke(&y.mara, &critique, &drawn).await.expect(200);
    put_trace(&y.mara, &critique, &dotted).await.expect(200);
    let written = noted(&y.mara, &critique, "The wrist jumps.").await;
    for fill in [
        "INSERT INTO stroke SELECT gen_random_uuid(), school_id, critique_id, note_id, frame, hold_to, color, size, pen, points, now() FROM stroke, generate_series(1, 1999)",
        "INSERT INTO trace SELECT gen_random_uuid(), school_id, critique_id, part, color, dots, now(), now() FROM trace, generate_series(1, 199)",
        "INSERT INTO note SELECT gen_random_uuid(), school_id, critique_id, concern_id, revision_id, shot_id, student_id, kind, urgency, principles, parts,
           span_start, span_end, region, words, ask, 1, now(), now() FROM note, generate_series(1, 499)",
    ] {
        y.as_owner(fill).expect(fill);
    }
    for (answer, limit) in [
        (
            put_stroke(&y.mara, &critique, &stroke(&id())).await,
            "2000 strokes",
        ),
        (
            put_trace(&y.mara, &critique, &trace(&id())).await,
            "200 paths",
        ),
        (
            put_note(&y.mara, &critique, &id(), &note("One more.")).await,
            "500 notes",
        ),
    ] {
        let problem = answer.expect_problem(413, "too-large");
        assert!(
            problem["detail"]
                .as_str()
                .is_some_and(|detail| detail.contains(limit)),
            "{problem}"
        );
    }
    put_stroke(
        &y.mara,
        &critique,
        &but(drawn, json!({ "color": "#000000" })),
    )
    .await
    .expect(200);
    put_trace(
        &y.mara,
        &critique,
        &but(dotted, json!({ "color": "#000000" })),
    )
    .await
    .expect(200);
    let change = but(note("The wrist jumps twice."), json!({ "version": 1 }));
    put_note(&y.mara, &critique, &text(&written["id"]), &change)
        .await
        .expect(200);
}

#[actix_web::test]
async fn a_summary_has_its_limit() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let longest = "𝄞".repeat(8_000);
    put_summary(&y.mara, &critique, 1, &longest)
        .await
        .expect(200);
    refused(
        &put_summary(&y.mara, &critique, 2, &"x".repeat(8_001)).await,
        "summary",
        "at most 8000",
    );
    refused(
        &put_summary(&y.mara, &critique, 2, "\u{0}").await,
        "summary",
        "U+0000",
    );
    assert_eq!(y.page(&y.mara, &critique).await["summary"], longest);
}
