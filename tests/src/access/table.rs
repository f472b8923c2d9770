//! Who may do what. The columns:
//! anonymous, student, other student, mentor, other mentor, office, and student, mentor and office of another school.
//! 404 where already the existence is nobody's business, 403 where the role alone decides.

use serde_json::{Value, json};
use uuid::Uuid;

use super::world::World;

/// One request, and what each role gets.
pub struct Row {
    pub operation: &'static str,
    pub path: String,
    pub headers: Vec<(&'static str, &'static str)>,
    pub body: Option<(&'static str, String)>,
    pub expected: [u16; 9],
}

/// Everybody who is signed in.
const SIGNED_IN: &str = "401  200 200  200 200  200  200 200 200";

fn row(operation: &'static str, ids: &[&dyn ToString], expected: &str) -> Row {
    let (_, template) = operation.split_once(' ').expect("a path");
    let mut ids = ids.iter();
    let path = template
        .split('/')
        .map(|part| {
            if part.starts_with('{') {
                ids.next().expect("an id").to_string()
            } else {
                part.to_owned()
            }
        })
        .collect::<Vec<_>>()
        .join("/");
    let expected: Vec<u16> = expected
        .split_whitespace()
        .map(|status| status.parse().expect("a status"))
        .collect();
    Row {
        operation,
        path,
        headers: Vec::new(),
        body: None,
        expected: expected.try_into().expect("a status for each role"),
    }
}

impl Row {
    fn with(mut self, body: &Value) -> Self {
        self.body = Some(("application/json", body.to_string()));
        self
    }

    fn ask(mut self, query: &str) -> Self {
        self.path = format!("{}?{query}", self.path);
        self
    }

    fn header(mut self, name: &'static str, value: &'static str) -> Self {
        self.headers.push((name, value));
        self
    }

    fn raw(mut self, media_type: &'static str, body: &str) -> Self {
        self.body = Some((media_type, body.to_owned()));
        self
    }
}

/// The whole matrix; what changes the world stands below what reads it.
pub fn rows(w: &World) -> Vec<Row> {
    let mut rows = everybodys(w);
    rows.extend(reading(w));
    rows.extend(critiquing(w));
    rows.extend(sending(w));
    rows.extend(running_the_school(w));
    rows.extend(own_words());
    rows.extend(leaving());
    rows
}

fn everybodys(w: &World) -> Vec<Row> {
    let nobody =
        json!({ "school": "near", "email": "nobody@near.example", "password": "not the one" });
    let reset = json!({ "school": "near", "email": "ROLE@near.example" });
    let public = "200  200 200  200 200  200  200 200 200";
    let refused = "401  401 401  401 401  401  401 401 401";
    let accepted = "202  202 202  202 202  202  202 202 202";
    let spent = "410  410 410  410 410  410  410 410 410";
    let done = "204  204 204  204 204  204  204 204 204";
    vec![
        row("GET /vocabulary", &[], public),
        row("GET /schools/{slug}", &[&"near"], public),
        row("OPTIONS /uploads", &[], done),
        row("POST /sessions", &[], refused).with(&nobody),
        row("POST /password-resets", &[], accepted).with(&reset),
        row("GET /access-links/{token}", &[&"unknown"], spent),
        row("POST /access-links/{token}", &[&"unknown"], spent)
            .with(&json!({ "password": "walk before you run" })),
        row("GET /me", &[], SIGNED_IN),
        row("PUT /me/preferences", &[], SIGNED_IN).with(&json!({})),
        row("PATCH /me", &[], SIGNED_IN).with(&json!({})),
        row("GET /courses", &[], SIGNED_IN),
        row("GET /enrolments", &[], SIGNED_IN),
        row("GET /enrolments", &[], SIGNED_IN).ask(&format!("student={}", w.student.id)),
    ]
}

#[rustfmt::skip]
fn reading(w: &World) -> Vec<Row> {
    let about = format!("student={}", w.student.id);
    let (r, d, o, f) = (&w.released, &w.drafted, &w.others, &w.far);
    vec![
        row("GET /persons",                         &[],             "401  403 403  200 200  200  403 200 200"),
        row("GET /enrolments/{id}",                 &[&w.enrolment], "401  200 404  200 404  200  404 404 404"),
        row("GET /enrolments/{id}/quota-entries",   &[&w.enrolment], "401  200 404  200 404  200  404 404 404"),
        row("GET /shots",                           &[],             SIGNED_IN),
        row("GET /shots",                           &[],             SIGNED_IN).ask(&about),
        row("GET /shots/{id}",                      &[&r.shot],      "401  200 404  200 404  200  404 404 404"),
        row("GET /shots/{id}",                      &[&d.shot],      "401  200 404  200 404  200  404 404 404"),
        row("GET /shots/{id}",                      &[&o.shot],      "401  404 200  200 404  200  404 404 404"),
        row("GET /shots/{id}",                      &[&f.shot],      "401  404 404  404 404  404  200 200 200"),
        row("GET /footage/{id}",                    &[&r.footage],   "401  200 404  200 404  404  404 404 404"),
        row("GET /footage/{id}",                    &[&w.unsent],    "401  200 404  404 404  404  404 404 404"),
        row("GET /footage/{id}",                    &[&f.footage],   "401  404 404  404 404  404  200 200 404"),
        row("GET /footage/{id}/copy",               &[&r.footage],   "401  200 404  200 404  404  404 404 404"),
        row("GET /footage/{id}/strip",              &[&r.footage],   "401  200 404  200 404  404  404 404 404"),
        row("GET /footage/{id}/poster",             &[&r.footage],   "401  200 404  200 404  404  404 404 404"),
        row("GET /footage/{id}/sound",              &[&r.footage],   "401  200 404  200 404  404  404 404 404"),
        row("GET /desk",                            &[],             "401  403 403  200 200  403  403 200 403"),
        row("GET /critiques/{id}",                  &[&r.critique],  "401  200 404  200 404  404  404 404 404"),
        row("GET /critiques/{id}",                  &[&d.critique],  "401  404 404  200 404  404  404 404 404"),
        row("GET /critiques/{id}",                  &[&w.ending.critique], "401  404 404  200 404  404  404 404 404"),
        row("GET /critiques/{id}",                  &[&o.critique],  "401  404 200  200 404  404  404 404 404"),
        row("GET /critiques/{id}",                  &[&f.critique],  "401  404 404  404 404  404  200 200 404"),
        // Released by the other mentor while they had the student: that one critique stays theirs to read, nothing around it.
        row("GET /critiques/{id}",                  &[&w.formerly.critique], "401  200 404  200 200  404  404 404 404"),
        row("GET /footage/{id}",                    &[&w.formerly.footage],  "401  200 404  200 200  404  404 404 404"),
        row("GET /footage/{id}/copy",               &[&w.formerly.footage],  "401  200 404  200 200  404  404 404 404"),
        row("GET /shots/{id}",                      &[&w.formerly.shot],     "401  200 404  200 404  200  404 404 404"),
        row("GET /shots/{id}/refrain",              &[&w.formerly.shot],     "401  200 404  200 404  404  404 404 404"),
        row("GET /suggestions",                     &[],             "401  403 403  200 200  403  403 200 403"),
        row("GET /phrases",                         &[],             "401  403 403  200 200  403  403 200 403").ask("q=said"),
        row("GET /refrain",                         &[],             "401  200 200  422 422  403  200 422 403"),
        row("GET /refrain",                         &[],             "401  200 200  200 200  403  200 200 403").ask(&about),
        row("GET /shots/{id}/refrain",              &[&r.shot],      "401  200 404  200 404  404  404 404 404"),
        row("GET /refrain/habits",                  &[],             "401  200 200  422 422  403  200 422 403"),
        row("GET /refrain/habits",                  &[],             "401  200 200  200 200  403  200 200 403").ask(&about),
        row("GET /shots/{id}/plan",                 &[&r.shot],      "401  200 404  200 404  404  404 404 404"),
        row("GET /shots/{id}/plan",                 &[&d.shot],      "401  200 404  200 404  404  404 404 404"),
        row("GET /shots/{id}/plan",                 &[&w.formerly.shot],     "401  200 404  200 404  404  404 404 404"),
        row("GET /archive",                         &[],             "401  200 200  200 200  403  200 200 403"),
    ]
}

#[rustfmt::skip]
fn critiquing(w: &World) -> Vec<Row> {
    let (r, d, e) = (&w.released, &w.drafted, &w.ending);
    let authors = "401  404 404  200 404  404  404 404 404";
    let note = json!({ "version": 0, "kind": "fix", "urgency": "must", "principles": ["arcs"], "parts": [], "span": { "start": 1, "end": 4 },
        "region": null, "words": "Lower.", "ask": null, "concern_id": null });
    let stroke = json!({ "id": Uuid::now_v7(), "frame": 1, "hold_to": 1, "note_id": null, "color": "#112233", "size": 0.01, "pen": true,
        "points": [[0.1, 0.1, 0.5], [0.2, 0.2, 0.5]] });
    let trace = json!({ "id": Uuid::now_v7(), "part": null, "color": "#112233", "dots": [{ "frame": 1, "x": 0.1, "y": 0.2 }] });
    let words = json!({ "note_id": null, "words": "And breathe." });
    let answer = json!({ "kind": "will-do", "words": "Yes." });
    let typed = json!({ "words": "The wrist pops.", "span": { "start": 1, "end": 4 }, "kind": null, "urgency": null, "principles": [], "parts": [] });
    let shown = json!({ "lexicon": "2", "weights": "2", "shown": [{ "what": { "field": "kind", "value": "keep", "before": "fix" }, "score": 0.9 }] });
    vec![
        row("POST /critiques/{id}/suggestions",         &[&d.critique], authors).with(&typed),
        row("POST /critiques/{id}/suggestions",         &[&r.critique], "401  403 404  409 404  404  404 404 404").with(&typed),
        row("POST /critiques/{id}/suggestions",         &[&w.formerly.critique], "401  403 404  403 403  404  404 404 404").with(&typed),
        row("PUT /critiques/{id}/notes/{note_id}/suggestions", &[&d.critique, &d.note], "401  404 404  204 404  404  404 404 404").with(&shown),
        row("PUT /critiques/{id}/notes/{note_id}/suggestions", &[&r.critique, &r.note], "401  403 404  409 404  404  404 404 404").with(&shown),
        row("PUT /critiques/{id}/notes/{note_id}",      &[&d.critique, &Uuid::now_v7()], authors).with(&note),
        row("PUT /critiques/{id}/strokes/{stroke_id}",  &[&d.critique, &text(&stroke["id"])], authors).with(&stroke),
        row("PUT /critiques/{id}/traces/{trace_id}",    &[&d.critique, &text(&trace["id"])], authors).with(&trace),
        row("PUT /critiques/{id}/verdicts/{concern_id}", &[&d.critique, &w.drafted.concern], "401  404 404  404 404  404  404 404 404")
            .with(&json!({ "version": 0, "verdict": "eased" })),
        row("PUT /critiques/{id}/summary",              &[&e.critique], authors).with(&json!({ "version": 1, "summary": "Good." })),
        row("DELETE /critiques/{id}/strokes/{stroke_id}", &[&e.critique, &e.stroke], "401  404 404  204 404  404  404 404 404"),
        row("DELETE /critiques/{id}/traces/{trace_id}", &[&e.critique, &e.trace], "401  404 404  204 404  404  404 404 404"),
        row("DELETE /critiques/{id}/notes/{note_id}",   &[&e.critique, &e.note], "401  404 404  204 404  404  404 404 404").ask("version=1"),
        row("POST /critiques/{id}/release",             &[&e.critique], authors),
        // It is on its way, and not there yet.
        row("GET /critiques/{id}",                      &[&e.critique], authors),
        row("POST /critiques/{id}/take-back",           &[&e.critique], authors),
        row("POST /critiques/{id}/amendments",          &[&r.critique], "401  403 404  201 404  404  404 404 404").with(&words),
        row("POST /critiques/{id}/amendments",          &[&w.formerly.critique], "401  403 404  403 403  404  404 404 404").with(&words),
        row("PUT /critiques/{id}/summary",              &[&w.formerly.critique], "401  403 404  403 403  404  404 404 404")
            .with(&json!({ "version": 1, "summary": "Better." })),
        row("POST /critiques/{id}/take-back",           &[&w.formerly.critique], "401  403 404  403 403  404  404 404 404"),
        row("PUT /notes/{id}/answer",                   &[&w.formerly.note], "401  200 404  403 403  404  404 404 404").with(&answer),
        row("POST /submissions/{id}/open",              &[&w.formerly.submission], "401  403 404  200 404  404  404 404 404"),
        row("PUT /notes/{id}/answer",                   &[&r.note],     "401  200 404  403 404  404  404 404 404").with(&answer),
        row("PUT /notes/{id}/answer",                   &[&d.note],     "401  404 404  403 404  404  404 404 404").with(&answer),
        row("POST /submissions/{id}/open",              &[&w.opening.submission], "401  403 404  200 404  404  404 404 404"),
    ]
}

fn text(value: &Value) -> String {
    value.as_str().expect("text").to_owned()
}

#[rustfmt::skip]
fn sending(w: &World) -> Vec<Row> {
    let shot = json!({ "enrolment_id": w.enrolment, "title": "Box lift", "first_frame": 1 });
    let send = json!({ "shot_id": w.drafted.shot, "footage_id": w.drafted.footage, "stage": "spline", "words": "" });
    vec![
        // A shot that is not the asker's is named in the input: 422, as for one that does not exist.
        row("POST /shots",                    &[], "401  201 422  403 403  403  422 403 403").with(&shot),
        row("PATCH /shots/{id}",              &[&w.released.shot], "401  200 404  403 404  404  404 404 404").with(&json!({ "title": "Turn" })),
        // It was sent already: 422 here too, for a reason that others do not get to hear.
        row("POST /submissions",              &[], "401  422 422  403 403  403  422 403 403").with(&send)
            .header("idempotency-key", "3f1b7a52-0001"),
        row("POST /submissions/{id}/withdraw", &[&w.waiting.submission], "401  200 404  403 404  404  404 404 404"),
        row("POST /footage/{id}/prepare",     &[&w.released.footage], "401  409 404  403 404  404  404 404 404"),
        row("DELETE /footage/{id}",           &[&w.released.footage], "401  409 404  403 404  404  404 404 404"),
        row("DELETE /footage/{id}",           &[&w.unsent], "401  204 404  404 404  404  404 404 404"),
        row("POST /uploads",                  &[], "401  201 201  403 403  403  201 403 403")
            .header("tus-resumable", "1.0.0").header("upload-length", "10"),
        row("GET /uploads/{id}",              &[&w.upload], "401  200 404  403 403  403  404 403 403"),
        row("HEAD /uploads/{id}",             &[&w.upload], "401  200 404  403 403  403  404 403 403").header("tus-resumable", "1.0.0"),
        row("PATCH /uploads/{id}",            &[&w.upload], "401  204 404  403 403  403  404 403 403")
            .header("tus-resumable", "1.0.0").header("upload-offset", "0").raw("application/offset+octet-stream", "abc"),
        row("DELETE /uploads/{id}",           &[&w.upload_to_end], "401  204 404  403 403  403  404 403 403").header("tus-resumable", "1.0.0"),
    ]
}

#[rustfmt::skip]
fn running_the_school(w: &World) -> Vec<Row> {
    let roster = "name,email,course,mentor_email\nIda Example,ida@near.example,Walks,men@near.example\n";
    let person = json!({ "name": "Ada Example", "email": "ada@near.example", "roles": ["student"] });
    let course = json!({ "name": "Runs", "brief": "", "granted": 3, "promise_days": 7 });
    let assignment = json!({ "title": "Push", "brief": "A heavy thing." });
    let enrolment = json!({ "course_id": w.course, "mentor_id": w.mentor.id, "student": { "name": "Eva Example", "email": "eva@near.example" } });
    let created = "401  403 403  403 403  201  403 403 404";
    let changed = "401  403 403  403 403  200  403 403 404";
    vec![
        row("POST /persons",                        &[], "401  403 403  403 403  201  403 403 201").with(&person),
        row("PATCH /persons/{id}",                  &[&w.newcomer.id], changed).with(&json!({ "name": "New Name" })),
        row("POST /persons/{id}/invitations",       &[&w.newcomer.id], "401  403 403  403 403  202  403 403 404"),
        row("POST /courses",                        &[], "401  403 403  403 403  201  403 403 201").with(&course),
        row("PATCH /courses/{id}",                  &[&w.course], changed).with(&json!({ "brief": "Bring two." })),
        row("POST /courses/{id}/assignments",       &[&w.course], created).with(&assignment),
        row("PATCH /assignments/{id}",              &[&w.assignment], changed).with(&json!({ "title": "Pull" })),
        row("POST /enrolments",                     &[], "401  403 403  403 403  201  403 403 422").with(&enrolment),
        row("POST /enrolments/preview",             &[], "401  403 403  403 403  200  403 403 200").raw("text/csv", roster),
        row("POST /enrolments/import",              &[], "401  403 403  403 403  200  403 403 422").raw("text/csv", roster),
        row("POST /enrolments/{id}/quota-entries",  &[&w.enrolment], created).with(&json!({ "amount": 1, "reason": "A gift." })),
        // Elsewhere it chooses nobody.
        row("POST /enrolments/quota-mails",         &[], "401  403 403  403 403  202  403 403 202").with(&json!({ "enrolment_ids": [w.enrolment] })),
        row("PATCH /enrolments/{id}",               &[&w.enrolment], changed).with(&json!({ "mentor_id": w.other_mentor.id })),
    ]
}

#[rustfmt::skip]
fn own_words() -> Vec<Row> {
    let word = json!({ "table": "traits", "phrase": "zonkROLE", "meaning": "pop" });
    let keepers = "401  403 403  200 200  200  403 200 200";
    vec![
        row("GET /lexicon/tables",        &[], keepers),
        row("POST /lexicon/words",        &[], "401  403 403  201 201  201  403 201 201").with(&word),
        row("GET /lexicon/words",         &[], keepers),
        row("POST /lexicon/trials",       &[], keepers).with(&json!({ "text": "the hand zonks" })),
        row("DELETE /lexicon/words/{id}", &[&Uuid::now_v7()], "401  403 403  404 404  404  403 404 404"),
    ]
}

/// Ends the sessions, so it comes last. Afterwards nobody is anybody.
fn leaving() -> Vec<Row> {
    let left = "401  204 204  204 204  204  204 204 204";
    let nobody = "401  401 401  401 401  401  401 401 401";
    vec![
        row("DELETE /sessions/current", &[], left),
        row("DELETE /sessions", &[], nobody),
    ]
}
