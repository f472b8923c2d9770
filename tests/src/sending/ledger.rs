//! The ledger against a model that knows nothing of it but the rules: granted, sent, given back, never below nought.

use std::collections::BTreeMap;

use futures_util::future::join_all;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use reqwest::Method;
use serde_json::json;
use tests::harness::client::Answer;
use tests::harness::cluster::{aside, connect};

use super::{Yard, key, repeats, send, text};

/// One thing somebody does.
#[derive(Clone, Debug)]
enum Act {
    Send { footage: String, key: String },
    Withdraw(String),
    Open(String),
    Enter(i64),
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Stands {
    Waiting,
    Opened,
    Withdrawn,
}

#[derive(Default, Debug)]
struct Model {
    granted: i64,
    sent: BTreeMap<String, Stands>,
}

impl Model {
    fn count(&self, stands: Stands) -> i64 {
        self.sent.values().filter(|s| **s == stands).count() as i64
    }

    fn left(&self) -> i64 {
        self.granted - self.count(Stands::Waiting) - self.count(Stands::Opened)
    }

    /// Takes a round's answers in: what was accepted is applied, what was refused must have been refusable at some moment of the round.
    fn take_in(&mut self, acts: &[Act], answers: &[Answer]) {
        let before = self.left();
        let mut taken = 0;
        let was: BTreeMap<_, _> = self.sent.clone();
        for (act, answer) in acts.iter().zip(answers) {
            match (act, answer.status) {
                (Act::Send { .. }, 201) => {
                    taken += 1;
                    self.sent
                        .insert(text(&answer.json()["id"]), Stands::Waiting);
                }
                (Act::Withdraw(id), 200) => {
                    assert_eq!(
                        self.sent.insert(id.clone(), Stands::Withdrawn),
                        Some(Stands::Waiting),
                        "{answer}"
                    );
                }
                (Act::Open(id), 200) => {
                    assert_ne!(
                        self.sent.insert(id.clone(), Stands::Opened),
                        Some(Stands::Withdrawn),
                        "{answer}"
                    );
                }
                (Act::Enter(amount), 201) => {
                    taken += (-amount).max(0);
                    self.granted += amount;
                }
                (_, 409) => {}
                _ => panic!("{act:?}: {answer}"),
            }
        }
        for (act, answer) in acts
            .iter()
            .zip(answers)
            .filter(|(_, answer)| answer.status == 409)
        {
            let may_be = match act {
                Act::Send { .. } => before - taken < 1,
                Act::Enter(amount) => before - taken + amount < 0,
                // Refused only if the other came first, earlier or in this round.
                Act::Withdraw(id) => was[id] != Stands::Waiting || self.sent[id] != Stands::Waiting,
                Act::Open(id) => self.sent[id] == Stands::Withdrawn,
            };
            assert!(
                may_be,
                "{act:?} was refused without need, {before} left, {taken} taken: {answer}"
            );
        }
        assert!(self.left() >= 0, "more went than there was: {self:?}");
    }
}

#[actix_web::test]
async fn random_interleavings_agree_with_the_model() {
    for seed in 0..repeats(3) as u64 {
        interleave(seed).await;
    }
}

async fn interleave(seed: u64) {
    let mut random = StdRng::seed_from_u64(seed);
    let yard = Yard::without_workers(3).await;
    let shot = yard.shot().await;
    let mut footage = yard.ready_footage(100);
    let mut model = Model {
        granted: 3,
        ..Model::default()
    };
    for _ in 0..20 {
        let known: Vec<String> = model.sent.keys().cloned().collect();
        let mut acts = vec![];
        for _ in 0..random.random_range(1..=5) {
            let some =
                (!known.is_empty()).then(|| known[random.random_range(0..known.len())].clone());
            acts.push(match (random.random_range(0..8), some) {
                (0, Some(id)) => Act::Withdraw(id),
                (1, Some(id)) => Act::Open(id),
                (2, _) => Act::Enter(random.random_range(1..=2)),
                (3, _) => Act::Enter(random.random_range(-2..=-1)),
                _ => Act::Send {
                    footage: footage.pop().unwrap().to_string(),
                    key: key(),
                },
            });
        }
        let answers = join_all(acts.iter().map(|act| perform(&yard, &shot, act))).await;
        model.take_in(&acts, &answers);
        let quota = yard.quota().await;
        let (waiting, opened, back) = (
            model.count(Stands::Waiting),
            model.count(Stands::Opened),
            model.count(Stands::Withdrawn),
        );
        let expected = [
            model.granted,
            waiting + opened + back,
            back,
            model.left(),
            waiting + opened,
        ];
        let names = ["granted", "sent", "returned", "left", "waiting"];
        assert_eq!(
            names.map(|name| quota[name].as_i64().unwrap()),
            expected,
            "seed {seed}, {acts:?}: {quota}"
        );
    }
    let (kept, sum): (i64, i64) = aside(|| {
        let sql = "SELECT remaining::bigint, (SELECT sum(amount) FROM quota_entry q WHERE q.enrolment_id = e.id) FROM enrolment e";
        let row = connect(&yard.t.database.owner_url)
            .query_one(sql, &[])
            .unwrap();
        (row.get(0), row.get(1))
    });
    assert_eq!((kept, sum), (model.left(), model.left()), "seed {seed}");
}

async fn perform(yard: &Yard, shot: &str, act: &Act) -> Answer {
    let nothing = json!({});
    match act {
        Act::Send { footage, key } => send(&yard.nia, shot, footage, key).await,
        Act::Withdraw(id) => {
            yard.nia
                .post(&format!("/api/v1/submissions/{id}/withdraw"), &nothing)
                .await
        }
        Act::Open(id) => {
            yard.mara
                .post(&format!("/api/v1/submissions/{id}/open"), &nothing)
                .await
        }
        Act::Enter(amount) => {
            let path = format!("/api/v1/enrolments/{}/quota-entries", yard.enrolment.id);
            let entry = json!({ "amount": amount, "reason": "as agreed" });
            yard.office
                .request(Method::POST, &path)
                .json(&entry)
                .send()
                .await
        }
    }
}

/// Append-only by the database itself, for the tables' owner too.
#[actix_web::test]
async fn a_line_of_the_ledger_stays() {
    let yard = Yard::without_workers(3).await;
    aside(|| {
        let mut owner = connect(&yard.t.database.ddl_url);
        for sql in [
            "UPDATE quota_entry SET amount = 9",
            "DELETE FROM quota_entry",
            "TRUNCATE quota_entry",
        ] {
            assert!(owner.batch_execute(sql).is_err(), "{sql}");
        }
    });
    assert_eq!(yard.quota().await["left"], 3);
}
