//! The critique from the outside: written piece by piece, released, never rewritten, carried onto the next revision.

mod answers;
mod former;
mod hidden;
mod limits;
mod opening;
mod own_words;
mod phrases;
mod release;
mod saving;
mod standings;
mod suggestions;
mod told;

use app::config::Config;
use reqwest::Method;
use serde_json::{Value, json};
use tests::harness::client::{Answer, Client};
use tests::harness::cluster::{aside, connect};
use tests::harness::people::{Course, Enrolment, Person, School};
use tests::harness::{TestApp, now};
use uuid::Uuid;

/// Frames of every clip here.
const FRAMES: i32 = 24;

/// A student with a shot, their mentor, another mentor and an office.
struct Yard {
    t: TestApp,
    school: School,
    course: Course,
    office: Person,
    mara: Person,
    otto: Person,
    nia: Person,
    enrolment: Enrolment,
    shot: String,
}

impl Yard {
    /// A critique that is released is out at once.
    async fn new() -> Self {
        Self::with(|_| {}).await
    }

    async fn with(change: impl FnOnce(&mut Config)) -> Self {
        let t = TestApp::start_with(change).await;
        let school = t.school("yard");
        let office = t.person(&school, "Orla", &["office"]);
        let mara = t.person(&school, "Mara", &["mentor"]);
        let otto = t.person(&school, "Otto", &["mentor"]);
        let nia = t.person(&school, "Nia", &["student"]);
        let course = t.course(&school, "Body mechanics", 16);
        let enrolment = t.enrolment(&course, &nia, &mara, 16);
        let new =
            json!({ "enrolment_id": enrolment.id, "title": "Lantern jump", "first_frame": 101 });
        let shot = text(&nia.post("/api/v1/shots", &new).await.expect(201)["id"]);
        Self {
            t,
            school,
            course,
            office,
            mara,
            otto,
            nia,
            enrolment,
            shot,
        }
    }

    /// Sends another revision of the shot; gives the submission.
    async fn send(&self) -> String {
        send(&self.t, &self.nia, &self.shot).await
    }

    /// Sends another revision and opens it; gives the critique, a draft.
    async fn draft(&self) -> String {
        let submission = self.send().await;
        open(&self.mara, &submission).await
    }

    async fn release(&self, critique: &str) {
        let path = format!("/api/v1/critiques/{critique}/release");
        self.mara.post(&path, &json!({})).await.expect(200);
    }

    /// The page as that person reads it.
    async fn page(&self, who: &Client, critique: &str) -> Value {
        who.get(&format!("/api/v1/critiques/{critique}"))
            .await
            .expect(200)
    }

    /// Runs SQL as a superuser, past the policies; the triggers hold for a superuser too.
    fn as_owner(&self, sql: &str) -> Result<u64, String> {
        self.t.database.as_owner(|owner| {
            let done = owner.execute(sql, &[]);
            done.map_err(|error| why(&error))
        })
    }

    /// Runs SQL as the program does it for a request of that person.
    fn as_person(&self, person: &Person, roles: &str, sql: &str) -> Result<u64, String> {
        aside(|| {
            let mut program = connect(&self.t.database.app_url);
            let mut transaction = program.transaction().expect("a transaction");
            let scope = "SELECT set_config('app.school', $1, true), set_config('app.person', $2, true), set_config('app.roles', $3, true)";
            let (school, id) = (person.school.id.to_string(), person.id.to_string());
            transaction
                .execute(scope, &[&school, &id, &roles])
                .expect("a scope");
            let done = transaction.execute(sql, &[]).map_err(|error| why(&error))?;
            transaction.commit().map_err(|error| why(&error))?;
            Ok(done)
        })
    }

    /// The first column of the one row, as text.
    fn one(&self, sql: &str) -> String {
        self.t.database.as_owner(|owner| {
            let row = owner.query_one(sql, &[]);
            row.unwrap_or_else(|e| panic!("{sql}: {e:?}")).get(0)
        })
    }

    /// The mails that tell of a critique.
    fn announcements(&self) -> Vec<Vec<u8>> {
        let mails = self.t.post().into_iter();
        mails.filter(|mail| is_announcement(mail)).collect()
    }
}

fn is_announcement(mail: &[u8]) -> bool {
    let mail = mail_parser::MessageParser::default().parse(mail);
    mail.and_then(|mail| Some(mail.message_id()?.starts_with("critique.")))
        .unwrap_or_default()
}

/// What the database answered.
fn why(error: &postgres::Error) -> String {
    error
        .as_db_error()
        .map_or_else(|| error.to_string(), |answer| answer.message().to_owned())
}

fn text(value: &Value) -> String {
    value.as_str().expect("a text").to_owned()
}

/// Footage as preparation leaves it, its job done, written past the policies: preparing is not what this is about.
fn footage(t: &TestApp, student: &Person) -> Uuid {
    let id = Uuid::now_v7();
    let payload = json!({ "kind": "prepare", "footage": id });
    aside(|| {
        let mut owner = connect(&t.database.owner_url);
        owner
            .execute(
                "INSERT INTO footage (id, school_id, student_id, filename, source_key, source_bytes, probe, state, progress, width, height,
                   frames, fps_num, fps_den, time_base_num, time_base_den, frame_pts, last_duration, derived, recipe, created_at, ready_at)
                 VALUES ($1, $2, $3, 'clip.mp4', 'none', 1, '{}', 'ready', 1, 320, 180, $4, 24, 1, 1, 24,
                   ARRAY(SELECT generate_series(0, $4 - 1)::bigint), 1, '{}', 1, $5, $5)",
                &[&id, &student.school.id, &student.id, &FRAMES, &now()],
            )
            .expect("footage");
        owner
            .execute(
                "INSERT INTO job (school_id, person_id, kind, key, payload, state, run_at, max_attempts)
                 VALUES ($1, $2, 'prepare', $3, $4, 'done', $5, 1)",
                &[&student.school.id, &student.id, &id.to_string(), &payload, &now()],
            )
            .expect("a job");
    });
    id
}

async fn send(t: &TestApp, student: &Person, shot: &str) -> String {
    let body = json!({ "shot_id": shot, "footage_id": footage(t, student), "stage": "spline", "words": "The hand feels late." });
    let sent = student
        .request(Method::POST, "/api/v1/submissions")
        .header("idempotency-key", &Uuid::new_v4().to_string())
        .json(&body)
        .send()
        .await
        .expect(201);
    text(&sent["id"])
}

async fn open(mentor: &Client, submission: &str) -> String {
    let path = format!("/api/v1/submissions/{submission}/open");
    text(&mentor.post(&path, &json!({})).await.expect(200)["critique_id"])
}

fn id() -> String {
    Uuid::now_v7().to_string()
}

/// A new note as it is written.
fn note(words: &str) -> Value {
    json!({ "version": 0, "kind": "fix", "urgency": "should", "principles": ["spacing"], "parts": [{ "part": "wrist", "side": "left" }],
        "span": { "start": 4, "end": 6 }, "region": null, "words": words, "ask": null, "concern_id": null })
}

/// The same value with some of its fields otherwise.
fn but(mut value: Value, fields: Value) -> Value {
    for (name, field) in fields.as_object().expect("fields") {
        value[name] = field.clone();
    }
    value
}

async fn put_note(who: &Client, critique: &str, note_id: &str, note: &Value) -> Answer {
    who.put(
        &format!("/api/v1/critiques/{critique}/notes/{note_id}"),
        note,
    )
    .await
}

/// Writes a new note; gives it.
async fn noted(who: &Client, critique: &str, words: &str) -> Value {
    put_note(who, critique, &id(), &note(words))
        .await
        .expect(200)
}

async fn judge(
    who: &Client,
    critique: &str,
    concern: &str,
    version: i32,
    verdict: Value,
) -> Answer {
    let path = format!("/api/v1/critiques/{critique}/verdicts/{concern}");
    let body = json!({ "version": version, "verdict": verdict });
    who.put(&path, &body).await
}

fn stroke(id: &str) -> Value {
    json!({ "id": id, "frame": 4, "hold_to": 6, "note_id": null, "color": "#aa3311", "size": 0.01, "pen": true,
        "points": [[0.1, 0.2, 0.5], [0.3, 0.4, 0.75]] })
}

async fn put_stroke(who: &Client, critique: &str, stroke: &Value) -> Answer {
    let id = stroke["id"].as_str().expect("an id");
    who.put(
        &format!("/api/v1/critiques/{critique}/strokes/{id}"),
        stroke,
    )
    .await
}

fn trace(id: &str) -> Value {
    json!({ "id": id, "part": { "part": "wrist", "side": "left" }, "color": "#1133aa",
        "dots": [{ "frame": 4, "x": 0.1, "y": 0.2 }, { "frame": 5, "x": 0.4, "y": 0.2 }] })
}

async fn put_trace(who: &Client, critique: &str, trace: &Value) -> Answer {
    let id = trace["id"].as_str().expect("an id");
    who.put(&format!("/api/v1/critiques/{critique}/traces/{id}"), trace)
        .await
}

async fn put_summary(who: &Client, critique: &str, version: i32, summary: &str) -> Answer {
    let path = format!("/api/v1/critiques/{critique}/summary");
    who.put(&path, &json!({ "version": version, "summary": summary }))
        .await
}

fn fields(problem: &Value) -> Vec<&str> {
    let errors = problem["errors"].as_array().expect("errors");
    errors
        .iter()
        .map(|error| error["field"].as_str().expect("a field"))
        .collect()
}
