//! A school's own words are understood while its mentors type, and no other school's are.

use serde_json::{Value, json};
use tests::harness::client::Client;

use super::{Yard, open, send, text};

async fn principles(mentor: &Client, critique: &str) -> Vec<String> {
    let typed = json!({ "words": "bambi mode on the left side", "span": { "start": 4, "end": 6 }, "kind": null, "urgency": null, "principles": [], "parts": [] });
    let path = format!("/api/v1/critiques/{critique}/suggestions");
    let found: Value = mentor.post(&path, &typed).await.expect(200);
    let all = found["principles"].as_array().expect("a list").iter();
    all.map(|p| text(&p["principle"])).collect()
}

#[actix_web::test]
async fn suggestions_speak_the_schools_words() {
    let y = Yard::new().await;
    let critique = y.draft().await;
    let far = y.t.school("far");
    let mentor = y.t.person(&far, "Men", &["mentor"]);
    let student = y.t.person(&far, "Stu", &["student"]);
    let course = y.t.course(&far, "Body mechanics", 16);
    let enrolment = y.t.enrolment(&course, &student, &mentor, 4);
    let new = json!({ "enrolment_id": enrolment.id, "title": "Box", "first_frame": 1 });
    let shot = text(&student.post("/api/v1/shots", &new).await.expect(201)["id"]);
    let away = open(&mentor, &send(&y.t, &student, &shot).await).await;
    for (who, critique) in [(&y.mara, &critique), (&mentor, &away)] {
        assert!(!principles(who, critique).await.contains(&"contact".into()));
    }
    let word = json!({ "table": "traits", "phrase": "bambi mode", "meaning": "foot-slide" });
    y.otto
        .post("/api/v1/lexicon/words", &word)
        .await
        .expect(201);
    assert!(
        principles(&y.mara, &critique)
            .await
            .contains(&"contact".into())
    );
    assert!(!principles(&mentor, &away).await.contains(&"contact".into()));
}
