//! Uploads, preparation, footage and sending, from the outside.

mod buckets;
mod files;
mod killed_worker;
mod ledger;
mod preparing;
mod reference_client;
mod sends;
mod tus;

use app::config::Config;
use reqwest::Method;
use serde_json::{Value, json};
use tests::harness::client::{Answer, Client, Request};
use tests::harness::cluster::{aside, connect};
use tests::harness::people::{Course, Enrolment, Person, School};
use tests::harness::{TestApp, now, wait_for};
use uuid::Uuid;

use crate::clips::clip;

/// How often the tests that race or cut are repeated: a few times, or as often as `REFRAIN_TEST_REPEATS` says.
fn repeats(few: usize) -> usize {
    let given = std::env::var("REFRAIN_TEST_REPEATS");
    given.map_or(few, |text| text.parse().expect("a number"))
}

/// A school with one student, their mentor and an office.
struct Yard {
    t: TestApp,
    school: School,
    course: Course,
    office: Person,
    mara: Person,
    nia: Person,
    enrolment: Enrolment,
}

impl Yard {
    async fn with(granted: i32, change: impl FnOnce(&mut Config)) -> Self {
        let t = TestApp::start_with(change).await;
        let school = t.school("yard");
        let office = t.person(&school, "Orla", &["office"]);
        let mara = t.person(&school, "Mara", &["mentor"]);
        let nia = t.person(&school, "Nia", &["student"]);
        let course = t.course(&school, "Body mechanics", 16);
        let enrolment = t.enrolment(&course, &nia, &mara, granted);
        Self {
            t,
            school,
            course,
            office,
            mara,
            nia,
            enrolment,
        }
    }

    /// Nothing works in the background, so that only requests change what stands in the database.
    async fn without_workers(granted: i32) -> Self {
        Self::with(granted, |config| config.jobs.workers = 0).await
    }

    async fn shot(&self) -> String {
        let new = json!({ "enrolment_id": self.enrolment.id, "title": "Lantern jump", "first_frame": 101 });
        let shot = self.nia.post("/api/v1/shots", &new).await.expect(201);
        text(&shot["id"])
    }

    /// Rows of footage as preparation leaves them, written past the policies, where a test is about something else.
    fn ready_footage(&self, n: usize) -> Vec<Uuid> {
        aside(|| {
            let mut owner = connect(&self.t.database.owner_url);
            let insert = owner.prepare(
                "INSERT INTO footage (id, school_id, student_id, filename, source_key, source_bytes, probe, state, progress, width, height,
                   frames, fps_num, fps_den, time_base_num, time_base_den, frame_pts, last_duration, derived, recipe, created_at, ready_at)
                 VALUES ($1, $2, $3, 'clip.mp4', 'none', 1, '{}', 'ready', 1, 320, 180, 2, 24, 1, 1, 24, '{0,1}', 1, '{}', 1, $4, $4)",
            );
            let insert = insert.expect("a statement");
            let mut ids = vec![];
            for _ in 0..n {
                let id = Uuid::now_v7();
                let values: [&(dyn postgres::types::ToSql + Sync); 4] =
                    [&id, &self.school.id, &self.nia.id, &now()];
                owner.execute(&insert, &values).expect("a row");
                ids.push(id);
            }
            ids
        })
    }

    async fn quota(&self) -> Value {
        let path = format!("/api/v1/enrolments?student={}", self.nia.id);
        self.nia.get(&path).await.expect(200)["items"][0]["quota"].clone()
    }
}

fn text(value: &Value) -> String {
    value.as_str().expect("a text").to_owned()
}

async fn send(who: &Client, shot: &str, footage: &str, key: &str) -> Answer {
    let body = json!({ "shot_id": shot, "footage_id": footage, "stage": "blocking", "words": "Is the landing heavy enough?" });
    who.request(Method::POST, "/api/v1/submissions")
        .header("idempotency-key", key)
        .json(&body)
        .send()
        .await
}

fn key() -> String {
    Uuid::new_v4().to_string()
}

/// A request that speaks tus.
fn tus(who: &Client, method: Method, path: &str) -> Request {
    who.request(method, path).header("tus-resumable", "1.0.0")
}

/// Announces a file; gives the path of its upload.
async fn announce(who: &Client, length: usize) -> String {
    let answer = tus(who, Method::POST, "/api/v1/uploads")
        .header("upload-length", &length.to_string())
        .header("upload-metadata", "filename Y2xpcC5tcDQ=")
        .send()
        .await;
    assert_eq!(answer.status, 201, "{answer}");
    answer.header("location").expect("a location").to_owned()
}

fn piece(who: &Client, path: &str, offset: usize, bytes: &[u8]) -> Request {
    tus(who, Method::PATCH, path)
        .header("upload-offset", &offset.to_string())
        .body("application/offset+octet-stream", bytes.to_vec())
}

/// Uploads a file in one piece; gives the upload once it was looked at.
async fn upload(who: &Client, bytes: &[u8]) -> Value {
    let path = announce(who, bytes.len()).await;
    if !bytes.is_empty() {
        let answer = piece(who, &path, 0, bytes).send().await;
        assert_eq!(answer.status, 204, "{answer}");
    }
    wait_for("the look at the file", async || {
        let upload = who.get(&path).await.expect(200);
        (upload["state"] == "accepted" || upload["state"] == "refused").then_some(upload)
    })
    .await
}

/// Uploads a clip that is accepted; gives its footage's id.
async fn footage_of(who: &Client, bytes: &[u8]) -> String {
    let upload = upload(who, bytes).await;
    assert_eq!(upload["state"], "accepted", "{upload}");
    text(&upload["footage_id"])
}

/// The footage once it is in that state.
async fn footage_in(who: &Client, id: &str, state: &str) -> Value {
    wait_for(&format!("footage that is {state}"), async || {
        let footage = who.get(&format!("/api/v1/footage/{id}")).await.expect(200);
        (footage["state"] == state).then_some(footage)
    })
    .await
}

/// One second that moves, at 24 frames a second, with sound.
fn short_clip() -> Vec<u8> {
    let words = "-f lavfi -i testsrc2=s=320x180:r=24:d=1 -f lavfi -i sine=d=1 -c:v libx264 -preset ultrafast -c:a aac";
    clip("mp4", &words.split(' ').collect::<Vec<_>>())
}

/// Eight seconds of noise, which take long to prepare.
fn slow_clip() -> Vec<u8> {
    let words =
        "-f lavfi -i color=gray:s=960x540:r=24:d=8 -vf noise=alls=50:allf=t -c:v mjpeg -q:v 24";
    clip("mov", &words.split(' ').collect::<Vec<_>>())
}
