//! Every change is saved as it is made, under a version; of two windows the older one is told, and nothing is lost.

use futures_util::future::join_all;
use serde_json::{Value, json};

use super::{
    Yard, but, id, judge, note, noted, put_note, put_stroke, put_summary, put_trace, stroke, text,
    trace,
};

#[actix_web::test]
async fn every_piece_is_there_after_a_reload() {
    let y = Yard::new().await;
    let first = y.draft().await;
    let carried = noted(&y.mara, &first, "The wrist vaults over one frame.").await;
    y.release(&first).await;
    let critique = y.draft().await;
    let note_id = id();
    let written = put_note(&y.mara, &critique, &note_id, &note("Hold")).await;
    assert_eq!(written.expect(200)["version"], 1);
    let whole = but(
        note("Hold the look three frames longer. ✏️ Ünïcode, 𝄞."),
        json!({ "version": 1, "kind": "consider", "urgency": "if-time", "principles": ["timing", "acting"], "span": { "start": 0, "end": 23 },
            "parts": [{ "part": "eyes", "side": "both" }, { "part": "head", "side": null }],
            "region": { "x": 0.25, "y": 0.125, "w": 0.5, "h": 0.25 }, "ask": { "what": "add-frames", "amount": 3.0 } }),
    );
    let changed = put_note(&y.mara, &critique, &note_id, &whole)
        .await
        .expect(200);
    assert_eq!(changed["version"], 2);
    let (drawn, dotted) = (stroke(&id()), trace(&id()));
    put_stroke(&y.mara, &critique, &drawn).await.expect(200);
    put_trace(&y.mara, &critique, &dotted).await.expect(200);
    assert_eq!(
        put_summary(&y.mara, &critique, 1, "Nearly.")
            .await
            .expect(200)["version"],
        2
    );
    let concern = text(&carried["concern_id"]);
    judge(&y.mara, &critique, &concern, 0, json!("eased"))
        .await
        .expect(200);

    let page = y.page(&y.mara, &critique).await;
    let kept = &page["notes"][0];
    for field in [
        "kind",
        "urgency",
        "principles",
        "span",
        "parts",
        "region",
        "words",
        "ask",
    ] {
        assert_eq!(kept[field], whole[field], "{field}");
    }
    assert_eq!(
        (&page["strokes"], &page["traces"]),
        (&json!([drawn]), &json!([dotted]))
    );
    assert_eq!(
        (&page["summary"], &page["version"]),
        (&json!("Nearly."), &json!(2))
    );
    assert_eq!(
        page["carried"][0]["verdict"],
        json!({ "verdict": "eased", "version": 1 })
    );
    assert_eq!(page["state"], "draft");
}

#[actix_web::test]
async fn the_older_of_two_windows_is_told_what_stands_there() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let first = noted(&y.mara, &critique, "The wrist jumps.").await;
    let note_id = text(&first["id"]);
    let version = |version: i32, words: &str| but(note(words), json!({ "version": version }));
    let here = version(1, "The wrist jumps over one frame.");
    let newer = put_note(&y.mara, &critique, &note_id, &here)
        .await
        .expect(200);
    // The other window still shows the first version.
    let there = version(1, "The hand jumps.");
    let stale = put_note(&y.mara, &critique, &note_id, &there).await;
    let problem = stale.expect_problem(409, "stale");
    assert_eq!(problem["current"], newer, "the row as it is");
    assert_eq!(y.page(&y.mara, &critique).await["notes"], json!([newer]));
    let chosen = version(2, "The wrist jumps over one frame, the hand with it.");
    let kept = put_note(&y.mara, &critique, &note_id, &chosen)
        .await
        .expect(200);
    assert_eq!(kept["version"], 3);
    // A version that has never been is no better than an old one.
    let ahead = put_note(&y.mara, &critique, &note_id, &version(9, "Later.")).await;
    assert_eq!(ahead.expect_problem(409, "stale")["current"], kept);

    let path = format!("/api/v1/critiques/{critique}/notes/{note_id}");
    let stale = y.mara.delete(&format!("{path}?version=2")).await;
    assert_eq!(stale.expect_problem(409, "stale")["current"], kept);
    y.mara
        .delete(&format!("{path}?version=3"))
        .await
        .expect(204);
    y.mara
        .delete(&format!("{path}?version=3"))
        .await
        .expect(204);
    let late = put_note(&y.mara, &critique, &note_id, &version(3, "Once more.")).await;
    let problem = late.expect_problem(409, "stale");
    assert!(problem["current"].is_null(), "it was removed: {problem}");

    put_summary(&y.mara, &critique, 1, "Good work.")
        .await
        .expect(200);
    let stale = put_summary(&y.mara, &critique, 1, "Bad work.").await;
    let current = stale.expect_problem(409, "stale")["current"].clone();
    assert_eq!(current, json!({ "version": 2, "summary": "Good work." }));
}

#[actix_web::test]
async fn a_verdict_given_in_another_window_is_told() {
    let y = Yard::new().await;
    let first = y.draft().await;
    let concern = text(&noted(&y.mara, &first, "The heel creeps.").await["concern_id"]);
    y.release(&first).await;
    let critique = y.draft().await;
    let give = async |version: i32, verdict: Value| {
        judge(&y.mara, &critique, &concern, version, verdict).await
    };
    give(0, json!("eased")).await.expect(200);
    let again = give(0, json!("eased")).await.expect(200);
    assert_eq!(
        again["verdict"],
        json!({ "verdict": "eased", "version": 1 }),
        "the same twice"
    );
    let stale = give(0, json!("cleared")).await.expect_problem(409, "stale");
    assert_eq!(
        stale["current"],
        json!({ "verdict": "eased", "version": 1 })
    );
    assert_eq!(
        give(1, json!("cleared")).await.expect(200)["verdict"]["version"],
        2
    );
    let stale = give(1, json!(null)).await.expect_problem(409, "stale");
    assert_eq!(stale["current"]["verdict"], "cleared");
    let taken = give(2, json!(null)).await.expect(200);
    assert_eq!(
        (&taken["verdict"], &taken["standing"]),
        (&json!(null), &json!("unmentioned"))
    );
    let gone = give(2, json!("still")).await.expect_problem(409, "stale");
    assert!(gone["current"].is_null(), "{gone}");
}

/// After a cut line the page sends again what it does not know to have arrived.
#[actix_web::test]
async fn the_same_change_sent_twice_makes_one_note() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let (note_id, new) = (id(), note("The wrist jumps."));
    let sends = (0..8).map(|_| put_note(&y.mara, &critique, &note_id, &new));
    let answers = join_all(sends).await;
    for answer in &answers {
        let written = answer.expect(200);
        assert_eq!(written["version"], 1, "{answer}");
        assert_eq!(written["id"], note_id.as_str());
    }
    let change = but(
        note("The wrist jumps over one frame."),
        json!({ "version": 1 }),
    );
    let once = put_note(&y.mara, &critique, &note_id, &change)
        .await
        .expect(200);
    let twice = put_note(&y.mara, &critique, &note_id, &change)
        .await
        .expect(200);
    assert_eq!((&once, &once["version"]), (&twice, &json!(2)));
    let (drawn, dotted) = (stroke(&id()), trace(&id()));
    for _ in 0..2 {
        put_stroke(&y.mara, &critique, &drawn).await.expect(200);
        put_trace(&y.mara, &critique, &dotted).await.expect(200);
        put_summary(&y.mara, &critique, 1, "Good.")
            .await
            .expect(200);
    }
    let page = y.page(&y.mara, &critique).await;
    let count = |what: &str| page[what].as_array().expect("a list").len();
    assert_eq!(["notes", "strokes", "traces"].map(count), [1, 1, 1]);
    assert_eq!(y.one("SELECT count(*)::text FROM concern"), "1");
}

#[actix_web::test]
async fn of_two_changes_to_one_version_at_once_one_wins() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let note_id = text(&noted(&y.mara, &critique, "The wrist jumps.").await["id"]);
    let changes: Vec<Value> = (0..6)
        .map(|n| but(note(&format!("Wording {n}.")), json!({ "version": 1 })))
        .collect();
    let sends = changes
        .iter()
        .map(|change| put_note(&y.mara, &critique, &note_id, change));
    let answers = join_all(sends).await;
    let won: Vec<Value> = answers
        .iter()
        .filter(|a| a.status == 200)
        .map(|a| a.json())
        .collect();
    assert_eq!(
        won.len(),
        1,
        "{}",
        answers.iter().map(ToString::to_string).collect::<String>()
    );
    for lost in answers.iter().filter(|a| a.status != 200) {
        assert_eq!(lost.expect_problem(409, "stale")["current"], won[0]);
    }
    assert_eq!(y.page(&y.mara, &critique).await["notes"], json!(won));
}

#[actix_web::test]
async fn an_id_belongs_to_one_critique() {
    let y = Yard::new().await;
    let (first, second) = (y.draft().await, y.draft().await);
    let (note_id, drawn, dotted) = (id(), stroke(&id()), trace(&id()));
    put_note(&y.mara, &first, &note_id, &note("Here."))
        .await
        .expect(200);
    put_stroke(&y.mara, &first, &drawn).await.expect(200);
    put_trace(&y.mara, &first, &dotted).await.expect(200);
    put_note(&y.mara, &second, &note_id, &note("There."))
        .await
        .expect_problem(409, "duplicate");
    let moved = but(drawn.clone(), json!({ "frame": 0 }));
    put_stroke(&y.mara, &second, &moved)
        .await
        .expect_problem(409, "duplicate");
    let emptied = but(dotted.clone(), json!({ "dots": [] }));
    put_trace(&y.mara, &second, &emptied)
        .await
        .expect_problem(409, "duplicate");
    for (what, id) in [("strokes", &drawn["id"]), ("traces", &dotted["id"])] {
        let path = format!("/api/v1/critiques/{second}/{what}/{}", text(id));
        y.mara.delete(&path).await.expect(204);
    }
    let away = format!("/api/v1/critiques/{second}/notes/{note_id}?version=1");
    y.mara.delete(&away).await.expect(204);
    let page = y.page(&y.mara, &first).await;
    assert_eq!(page["notes"][0]["words"], "Here.");
    assert_eq!(
        (&page["strokes"], &page["traces"]),
        (&json!([drawn]), &json!([dotted]))
    );
}

/// A note removed takes its strokes along; a concern nobody names any more is none.
#[actix_web::test]
async fn a_removed_note_leaves_nothing_behind() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let written = noted(&y.mara, &critique, "The wrist jumps.").await;
    let drawn = but(stroke(&id()), json!({ "note_id": written["id"] }));
    put_stroke(&y.mara, &critique, &drawn).await.expect(200);
    let path = format!(
        "/api/v1/critiques/{critique}/notes/{}",
        text(&written["id"])
    );
    y.mara
        .delete(&format!("{path}?version=1"))
        .await
        .expect(204);
    let page = y.page(&y.mara, &critique).await;
    assert_eq!((&page["notes"], &page["strokes"]), (&json!([]), &json!([])));
    assert_eq!(y.one("SELECT count(*)::text FROM concern"), "0");
}
