//! Opening a submission, after which it stays sent.

use futures_util::future::join;
use serde_json::json;

use super::{Yard, open};

#[actix_web::test]
async fn what_was_opened_stays_sent() {
    let y = Yard::new().await;
    let (withdrawn, opened) = (y.send().await, y.send().await);
    let withdraw = async |submission: &str| {
        let path = format!("/api/v1/submissions/{submission}/withdraw");
        y.nia.post(&path, &json!({})).await
    };
    assert_eq!(withdraw(&withdrawn).await.expect(200)["quota"]["left"], 15);
    let critique = open(&y.mara, &opened).await;
    withdraw(&opened)
        .await
        .expect_problem(409, "already-opened");
    let shot = y.nia.get(&format!("/api/v1/shots/{}", y.shot)).await;
    let sent = &shot.expect(200)["revisions"][1]["submission"];
    assert_eq!(
        (&sent["withdrawn_at"], &sent["quota"]["left"]),
        (&json!(null), &json!(15))
    );
    assert_eq!(open(&y.mara, &opened).await, critique, "opened once");
    let gone = format!("/api/v1/submissions/{withdrawn}/open");
    y.mara
        .post(&gone, &json!({}))
        .await
        .expect_problem(409, "conflict");
}

/// The database lets one of the two through, whoever comes first.
#[actix_web::test]
async fn of_opening_and_withdrawing_at_once_one_wins() {
    let y = Yard::new().await;
    let mut outcomes = [0, 0];
    for round in 0..12 {
        let submission = y.send().await;
        let (open, withdraw) = (
            format!("/api/v1/submissions/{submission}/open"),
            format!("/api/v1/submissions/{submission}/withdraw"),
        );
        let body = json!({});
        let (opened, withdrawn) = if round % 2 == 0 {
            join(y.mara.post(&open, &body), y.nia.post(&withdraw, &body)).await
        } else {
            let (withdrawn, opened) =
                join(y.nia.post(&withdraw, &body), y.mara.post(&open, &body)).await;
            (opened, withdrawn)
        };
        assert_eq!(
            [opened.status, withdrawn.status].map(|status| status == 200),
            [opened.status == 200, opened.status != 200],
            "{opened}\n{withdrawn}"
        );
        outcomes[usize::from(opened.status == 200)] += 1;
        let sums =
            "SELECT (remaining = (SELECT sum(amount) FROM quota_entry))::text FROM enrolment";
        assert_eq!(y.one(sums), "true");
        if withdrawn.status != 200 {
            // So that the next round has a submission to spend.
            let entries = format!("/api/v1/enrolments/{}/quota-entries", y.enrolment.id);
            let grant = json!({ "amount": 1, "reason": "another round" });
            y.office.post(&entries, &grant).await.expect(201);
        }
    }
    assert_eq!(outcomes.iter().sum::<i32>(), 12);
}

/// What is set once stays set, also for whoever writes SQL under the program's role.
#[actix_web::test]
async fn nobody_closes_what_was_opened() {
    let y = Yard::new().await;
    let submission = y.send().await;
    open(&y.mara, &submission).await;
    for (who, roles) in [(&y.nia, "student"), (&y.mara, "mentor")] {
        for change in [
            "opened_at = NULL",
            "opened_at = NULL, withdrawn_at = now()",
            "withdrawn_at = now()",
        ] {
            let sql = format!("UPDATE submission SET {change} WHERE id = '{submission}'");
            let refused = y.as_person(who, roles, &sql);
            assert!(refused.is_err(), "{roles}: {change}: {refused:?}");
        }
    }
}
