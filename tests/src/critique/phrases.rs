//! The mentor's own earlier wordings, offered while typing.

use serde_json::json;

use super::{Yard, noted, open, send, text};

#[actix_web::test]
async fn a_mentor_is_offered_what_they_have_said() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    for words in [
        "The wrist jumps over one frame.",
        "Watch the wrist.",
        "The wrist jumps over one frame.",
        "Give it 50% more, a_b.",
    ] {
        noted(&y.mara, &critique, words).await;
    }
    // Another mentor's words about another student.
    let bo = y.t.person(&y.school, "Bo", &["student"]);
    let others = y.t.enrolment(&y.course, &bo, &y.otto, 16);
    let new = json!({ "enrolment_id": others.id, "title": "Box lift", "first_frame": 1 });
    let shot = text(&bo.post("/api/v1/shots", &new).await.expect(201)["id"]);
    let submission = send(&y.t, &bo, &shot).await;
    let his = open(&y.otto, &submission).await;
    noted(&y.otto, &his, "The wrist is Otto's.").await;

    let offered = async |who: &tests::harness::people::Person, q: &str| {
        let found = who.get(&format!("/api/v1/phrases?q={q}")).await.expect(200);
        found["phrases"].clone()
    };
    assert_eq!(
        offered(&y.mara, "the%20WRIST").await,
        json!(["The wrist jumps over one frame.", "Watch the wrist."]),
        "what begins so comes first"
    );
    assert_eq!(
        offered(&y.mara, "wrist").await,
        json!(["The wrist jumps over one frame.", "Watch the wrist."]),
        "then what was said more often"
    );
    assert_eq!(
        offered(&y.otto, "wrist").await,
        json!(["The wrist is Otto's."])
    );
    // No pattern: a percent sign and a line are themselves.
    assert_eq!(
        offered(&y.mara, "50%25").await,
        json!(["Give it 50% more, a_b."])
    );
    for nothing in ["%25wrist", "a%25b", "_", "%5C"] {
        let wanted = if nothing == "_" {
            json!(["Give it 50% more, a_b."])
        } else {
            json!([])
        };
        assert_eq!(offered(&y.mara, nothing).await, wanted, "{nothing}");
    }
    assert_eq!(offered(&y.mara, "%20").await, json!([]));
    for n in 0..9 {
        noted(&y.mara, &critique, &format!("Hips {n}.")).await;
    }
    assert_eq!(
        offered(&y.mara, "hips")
            .await
            .as_array()
            .expect("phrases")
            .len(),
        6,
        "a few"
    );
    y.nia
        .get("/api/v1/phrases?q=wrist")
        .await
        .expect_problem(403, "not-allowed");
}
