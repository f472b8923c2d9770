//! The act of sending: once for a key, never more than there are, taken back until it is opened.

use futures_util::future::join_all;
use mail_parser::MessageParser;
use serde_json::json;
use tests::harness::cluster::{aside, connect};
use tests::harness::wait_for;

use super::{Yard, footage_in, footage_of, key, repeats, send, short_clip, text};

#[actix_web::test]
async fn a_clip_is_sent_confirmed_and_opened() {
    let yard = Yard::with(16, |_| {}).await;
    let shot = yard.shot().await;
    let footage = footage_of(&yard.nia, &short_clip()).await;
    let sent = send(&yard.nia, &shot, &footage, &key()).await.expect(201);
    assert_eq!(
        (&sent["number"], &sent["state"]),
        (&json!(1), &json!("waiting"))
    );
    assert_eq!(
        (&sent["quota"]["sent"], &sent["quota"]["left"]),
        (&json!(1), &json!(15))
    );
    let mail = wait_for("the confirmation", async || yard.t.post().pop()).await;
    let words = MessageParser::default()
        .parse(&mail)
        .unwrap()
        .body_text(0)
        .unwrap()
        .into_owned();
    assert!(
        words.contains("1 of 16 sent, 15 left, critique promised by "),
        "{words}"
    );
    footage_in(&yard.mara, &footage, "ready").await;
    let path = format!("/api/v1/submissions/{}/open", text(&sent["id"]));
    let opened = yard.mara.post(&path, &json!({})).await.expect(200);
    let again = yard.mara.post(&path, &json!({})).await.expect(200);
    assert_eq!(opened, again);
    let withdraw = format!("/api/v1/submissions/{}/withdraw", text(&sent["id"]));
    yard.nia
        .post(&withdraw, &json!({}))
        .await
        .expect_problem(409, "already-opened");
    let shown = yard
        .nia
        .get(&format!("/api/v1/shots/{shot}"))
        .await
        .expect(200);
    assert_eq!(
        shown["revisions"][0]["submission"]["critique_id"],
        json!(null),
        "a draft is the mentor's own"
    );
}

#[actix_web::test]
async fn the_same_key_is_the_same_act() {
    let yard = Yard::without_workers(5).await;
    let (shot, key) = (yard.shot().await, key());
    let footage = yard.ready_footage(2);
    let (first, other) = (footage[0].to_string(), footage[1].to_string());
    let tries = join_all((0..8).map(|_| send(&yard.nia, &shot, &first, &key))).await;
    let count = |status: u16| {
        tries
            .iter()
            .filter(|answer| answer.status == status)
            .count()
    };
    assert_eq!((count(201), count(200)), (1, 7));
    let ids: Vec<_> = tries
        .iter()
        .map(|answer| answer.json()["id"].clone())
        .collect();
    assert!(ids.iter().all(|id| *id == ids[0]));
    send(&yard.nia, &shot, &other, &key)
        .await
        .expect_problem(422, "key-reused");
    assert_eq!(yard.quota().await["left"], 4);
    send(&yard.nia, &shot, &first, &super::key())
        .await
        .expect_problem(422, "invalid-input");
    assert_eq!(yard.quota().await["left"], 4, "footage is sent once");
}

#[actix_web::test]
async fn of_fifty_racing_for_the_last_one_exactly_one_wins() {
    let runs = repeats(3);
    let yard = Yard::without_workers(0).await;
    let shot = yard.shot().await;
    let grant = format!("/api/v1/enrolments/{}/quota-entries", yard.enrolment.id);
    for run in 1..=runs {
        let one = json!({ "amount": 1, "reason": "one more" });
        yard.office.post(&grant, &one).await.expect(201);
        let footage: Vec<String> = yard
            .ready_footage(50)
            .iter()
            .map(ToString::to_string)
            .collect();
        let keys: Vec<String> = (0..50).map(|_| key()).collect();
        let tries = footage
            .iter()
            .zip(&keys)
            .map(|(footage, key)| send(&yard.nia, &shot, footage, key));
        let answers = join_all(tries).await;
        let won = answers.iter().filter(|answer| answer.status == 201).count();
        let lost = answers.iter().filter(|answer| answer.status == 409);
        let lost = lost
            .inspect(|answer| drop(answer.expect_problem(409, "quota-spent")))
            .count();
        assert_eq!((won, lost), (1, 49), "run {run}");
        assert_eq!(yard.quota().await["left"], 0);
    }
    let shown = yard
        .nia
        .get(&format!("/api/v1/shots/{shot}"))
        .await
        .expect(200);
    let numbers: Vec<_> = shown["revisions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| r["number"].as_u64().unwrap())
        .collect();
    assert_eq!(numbers, (1..=runs as u64).collect::<Vec<_>>(), "no gap");
}

#[actix_web::test]
async fn withdrawing_gives_it_back_once() {
    let yard = Yard::without_workers(2).await;
    let shot = yard.shot().await;
    let footage = yard.ready_footage(1)[0].to_string();
    let sent = send(&yard.nia, &shot, &footage, &key()).await.expect(201);
    let path = format!("/api/v1/submissions/{}/withdraw", text(&sent["id"]));
    let nobody = yard.t.person(&yard.school, "Bo", &["student"]);
    nobody
        .post(&path, &json!({}))
        .await
        .expect_problem(404, "not-found");
    let back = yard.nia.post(&path, &json!({})).await.expect(200);
    assert_eq!(
        (&back["state"], &back["quota"]["left"]),
        (&json!("withdrawn"), &json!(2))
    );
    yard.nia
        .post(&path, &json!({}))
        .await
        .expect_problem(409, "conflict");
    let open = format!("/api/v1/submissions/{}/open", text(&sent["id"]));
    yard.mara
        .post(&open, &json!({}))
        .await
        .expect_problem(409, "conflict");
    assert_eq!(yard.quota().await["left"], 2);
}

/// Whichever comes first decides: never both withdrawn and opened.
#[actix_web::test]
async fn withdrawing_and_opening_at_once_do_one_of_both() {
    let yard = Yard::without_workers(20).await;
    let shot = yard.shot().await;
    for footage in yard.ready_footage(10) {
        let sent = send(&yard.nia, &shot, &footage.to_string(), &key())
            .await
            .expect(201);
        let path = |verb: &str| format!("/api/v1/submissions/{}/{verb}", text(&sent["id"]));
        let (withdraw, open, nothing) = (path("withdraw"), path("open"), json!({}));
        let (back, opened) = futures_util::join!(
            yard.nia.post(&withdraw, &nothing),
            yard.mara.post(&open, &nothing)
        );
        assert!(
            matches!((back.status, opened.status), (200, 409) | (409, 200)),
            "{back} {opened}"
        );
    }
}

/// What is cancelled is not sent, and what is sent is not cancelled.
#[actix_web::test]
async fn cancelling_and_sending_at_once_do_one_of_both() {
    let yard = Yard::without_workers(20).await;
    let shot = yard.shot().await;
    for footage in yard.ready_footage(10) {
        let (footage, key) = (footage.to_string(), key());
        let cancel = format!("/api/v1/footage/{footage}");
        let (sent, cancelled) = futures_util::join!(
            send(&yard.nia, &shot, &footage, &key),
            yard.nia.delete(&cancel)
        );
        assert!(
            matches!((sent.status, cancelled.status), (201, 409) | (422, 204)),
            "{sent} {cancelled}"
        );
    }
}

#[actix_web::test]
async fn what_cannot_be_sent_spends_nothing() {
    let yard = Yard::without_workers(2).await;
    let shot = yard.shot().await;
    let footage = yard.ready_footage(1)[0].to_string();
    let bo = yard.t.person(&yard.school, "Bo", &["student"]);
    yard.t.enrolment(&yard.course, &bo, &yard.mara, 3);
    send(&bo, &shot, &footage, &key())
        .await
        .expect_problem(422, "invalid-input");
    send(&yard.nia, &shot, &footage, "short")
        .await
        .expect_problem(422, "invalid-input");
    let sql = "UPDATE enrolment SET starts_on = '2999-01-01'";
    aside(|| {
        connect(&yard.t.database.owner_url)
            .batch_execute(sql)
            .unwrap()
    });
    send(&yard.nia, &shot, &footage, &key())
        .await
        .expect_problem(409, "not-started");
    assert_eq!(yard.quota().await["left"], 2);
}
