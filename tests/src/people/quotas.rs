//! Granting, taking back, and telling how a quota stands.

use mail_parser::MessageParser;
use serde_json::json;
use tests::harness::TestApp;

use super::mails_to;

#[actix_web::test]
async fn the_office_grants_and_takes_back_what_is_left() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let (office, mara) = (
        t.person(&school, "Orla", &["office"]),
        t.person(&school, "Mara", &["mentor"]),
    );
    let (nia, bo) = (
        t.person(&school, "Nia", &["student"]),
        t.person(&school, "Bo", &["student"]),
    );
    let course = t.course(&school, "Body mechanics", 16);
    let enrolment = t.enrolment(&course, &nia, &mara, 3);
    let path = format!("/api/v1/enrolments/{}/quota-entries", enrolment.id);
    let enter = async |amount: i32, reason: &str| {
        office
            .post(&path, &json!({ "amount": amount, "reason": reason }))
            .await
    };
    assert_eq!(enter(2, "was ill").await.expect(201)["quota"]["left"], 5);
    let quota = enter(-5, "left the course").await.expect(201)["quota"].clone();
    assert_eq!(
        (&quota["granted"], &quota["left"], &quota["pegs"]),
        (&json!(0), &json!(0), &json!([]))
    );
    enter(-1, "once more")
        .await
        .expect_problem(409, "quota-spent");
    enter(0, "nothing")
        .await
        .expect_problem(422, "invalid-input");
    let problem = enter(1, " ").await.expect_problem(422, "invalid-input");
    assert_eq!(problem["errors"][0]["field"], "reason");
    for person in [&nia, &mara] {
        person
            .post(&path, &json!({ "amount": 1, "reason": "please" }))
            .await
            .expect_problem(403, "not-allowed");
        let ledger = person.get(&path).await.expect(200);
        let amounts: Vec<_> = ledger["items"]
            .as_array()
            .unwrap()
            .iter()
            .map(|e| e["amount"].as_i64().unwrap())
            .collect();
        assert_eq!(amounts, [-5, 2, 3]);
    }
    let ledger = office.get(&format!("{path}?limit=1")).await.expect(200);
    assert_eq!(
        (&ledger["items"][0]["reason"], &ledger["items"][0]["by"]),
        (&json!("left the course"), &json!("Orla"))
    );
    let cursor = ledger["next_cursor"].as_str().unwrap();
    let next = office
        .get(&format!("{path}?limit=1&cursor={cursor}"))
        .await
        .expect(200);
    assert_eq!(
        (&next["items"][0]["kind"], &next["items"][0]["reason"]),
        (&json!("grant"), &json!("was ill"))
    );
    bo.get(&path).await.expect_problem(404, "not-found");
}

/// The database's own rule decides: whatever the order, no more goes than there is.
#[actix_web::test]
async fn racing_to_take_back_never_takes_more_than_is_left() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let (office, mara) = (
        t.person(&school, "Orla", &["office"]),
        t.person(&school, "Mara", &["mentor"]),
    );
    let nia = t.person(&school, "Nia", &["student"]);
    let enrolment = t.enrolment(&t.course(&school, "Body mechanics", 16), &nia, &mara, 3);
    let path = format!("/api/v1/enrolments/{}/quota-entries", enrolment.id);
    let body = json!({ "amount": -1, "reason": "left" });
    let tries = (0..10).map(|_| office.post(&path, &body));
    let answers = futures_util::future::join_all(tries).await;
    let count = |status: u16| {
        answers
            .iter()
            .filter(|answer| answer.status == status)
            .count()
    };
    assert_eq!((count(201), count(409)), (3, 7));
}

#[actix_web::test]
async fn students_are_mailed_how_their_quota_stands_once_a_day() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let (office, mara) = (
        t.person(&school, "Orla", &["office"]),
        t.person(&school, "Mara", &["mentor"]),
    );
    let (nia, bo) = (
        t.person(&school, "Nía", &["student"]),
        t.person(&school, "Bo", &["student"]),
    );
    let course = t.course(&school, "Körper & Gewicht", 16);
    let enrolment = t.enrolment(&course, &nia, &mara, 7);
    t.enrolment(&course, &bo, &mara, 1);
    let mail = async |ids: serde_json::Value| {
        office
            .post(
                "/api/v1/enrolments/quota-mails",
                &json!({ "enrolment_ids": ids }),
            )
            .await
    };
    assert_eq!(mail(json!([enrolment.id])).await.expect(202)["mailed"], 1);
    assert_eq!(
        mail(json!(null)).await.expect(202)["mailed"],
        1,
        "the other one"
    );
    assert_eq!(mail(json!(null)).await.expect(202)["mailed"], 0);
    let path = format!("/api/v1/enrolments/{}/quota-entries", enrolment.id);
    office
        .post(&path, &json!({ "amount": 1, "reason": "was ill" }))
        .await
        .expect(201);
    assert_eq!(
        mail(json!(null)).await.expect(202)["mailed"],
        1,
        "it stands otherwise now"
    );
    let mails = mails_to(&t, &nia.email, 2).await;
    let texts: Vec<String> = mails
        .iter()
        .map(|mail| {
            MessageParser::default()
                .parse(mail)
                .unwrap()
                .body_text(0)
                .unwrap()
                .into_owned()
        })
        .collect();
    assert!(
        texts.iter().any(|text| text.contains("0 sent, 7 left")),
        "{texts:?}"
    );
    assert!(
        texts.iter().any(|text| text.contains("0 sent, 8 left")),
        "{texts:?}"
    );
    let body = json!({ "enrolment_ids": null });
    mara.post("/api/v1/enrolments/quota-mails", &body)
        .await
        .expect_problem(403, "not-allowed");
}
