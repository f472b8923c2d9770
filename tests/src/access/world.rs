//! Two schools with everything in them that somebody could be too curious about. Every text in a chain of shot,
//! submission and critique carries a secret word, so that a leak shows wherever it happens.

use std::fs;
use std::time::Duration;

use chrono::{DateTime, Utc};
use tests::harness::client::Client;
use tests::harness::cluster::{aside, connect};
use tests::harness::people::{Enrolment, Person};
use tests::harness::{TestApp, now};
use uuid::Uuid;

/// What is expected of a role stands in this order.
pub const ROLES: [&str; 9] = [
    "anonymous",
    "student",
    "other student",
    "mentor",
    "other mentor",
    "office",
    "far student",
    "far mentor",
    "far office",
];

/// How far a submission has come.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Come {
    /// Sent, not opened.
    Waiting,
    /// Opened; its critique is a draft.
    Drafted,
    /// Its critique is released.
    Released,
}

/// A shot, its one revision and what was said about it.
#[derive(Clone, Copy)]
pub struct Chain {
    pub shot: Uuid,
    pub footage: Uuid,
    pub submission: Uuid,
    pub critique: Uuid,
    pub concern: Uuid,
    pub note: Uuid,
    pub stroke: Uuid,
    pub trace: Uuid,
}

/// Where a secret word stands, and the only roles that may ever read it.
pub struct Secret {
    pub word: String,
    pub known_to: &'static [&'static str],
}

/// Everything.
pub struct World {
    pub app: TestApp,
    pub people: Vec<(&'static str, Client)>,
    pub student: Person,
    pub mentor: Person,
    pub other_student: Person,
    pub other_mentor: Person,
    pub far_mentor: Person,
    /// In the course, never sent anything: for changes.
    pub newcomer: Person,
    pub course: Uuid,
    pub assignment: Uuid,
    pub enrolment: Uuid,
    pub upload: String,
    pub upload_to_end: String,
    pub unsent: Uuid,
    pub released: Chain,
    pub drafted: Chain,
    pub ending: Chain,
    pub waiting: Chain,
    pub opening: Chain,
    pub others: Chain,
    /// The student's, released by the other mentor, who had them before.
    pub formerly: Chain,
    pub far: Chain,
    pub secrets: Vec<Secret>,
}

impl World {
    pub async fn build() -> World {
        // What is released leaves an hour later; no test waits for that.
        let app = TestApp::start_with(|config| config.take_back = Duration::from_secs(3600)).await;
        let (near, far) = (app.school("near"), app.school("far"));
        let student = app.person(&near, "Stu", &["student"]);
        let other_student = app.person(&near, "Other Stu", &["student"]);
        let third_student = app.person(&near, "Third Stu", &["student"]);
        let newcomer = app.person(&near, "New Stu", &["student"]);
        let mentor = app.person(&near, "Men", &["mentor"]);
        let other_mentor = app.person(&near, "Other Men", &["mentor"]);
        let office = app.person(&near, "Off", &["office"]);
        let far_student = app.person(&far, "Far Stu", &["student"]);
        let far_mentor = app.person(&far, "Far Men", &["mentor"]);
        let far_office = app.person(&far, "Far Off", &["office"]);

        let course = app.course(&near, "Walks", 10);
        let far_course = app.course(&far, "Far walks", 10);
        let own = app.enrolment(&course, &student, &mentor, 10);
        let other = app.enrolment(&course, &other_student, &mentor, 10);
        let third = app.enrolment(&course, &third_student, &other_mentor, 10);
        app.enrolment(&course, &newcomer, &mentor, 10);
        let away = app.enrolment(&far_course, &far_student, &far_mentor, 10);

        let mut secrets = Vec::new();
        let mut chain =
            |of: &Enrolment, who: &Person, come, known: [&'static [&'static str]; 2]| {
                let word = |what: &str| format!("{what}{}", Uuid::new_v4().simple());
                let (shown, said) = (word("shown"), word("said"));
                let made = write_chain(&app, of, who, come, &shown, &said);
                for (word, known_to) in [(shown, known[0]), (said, known[1])] {
                    if come != Come::Waiting || word.starts_with("shown") {
                        secrets.push(Secret { word, known_to });
                    }
                }
                made
            };
        let both: &[&str] = &["student", "mentor"];
        let and_office: &[&str] = &["student", "mentor", "office"];
        let released = chain(&own, &student, Come::Released, [and_office, both]);
        let drafted = chain(&own, &student, Come::Drafted, [and_office, &["mentor"]]);
        // What becomes of these in the course of the test may be told to the student.
        let ending = chain(&own, &student, Come::Drafted, [and_office, &["mentor"]]);
        let waiting = chain(&own, &student, Come::Waiting, [and_office, &[]]);
        let opening = chain(&own, &student, Come::Waiting, [and_office, &[]]);
        let others = chain(
            &other,
            &other_student,
            Come::Released,
            [
                &["other student", "mentor", "office"],
                &["other student", "mentor"],
            ],
        );
        let before = Enrolment {
            mentor_id: other_mentor.id,
            ..own.clone()
        };
        let formerly = chain(
            &before,
            &student,
            Come::Released,
            [
                &["student", "mentor", "office", "other mentor"],
                &["student", "mentor", "other mentor"],
            ],
        );
        chain(
            &third,
            &third_student,
            Come::Released,
            [&["other mentor", "office"], &["other mentor"]],
        );
        let far_chain = chain(
            &away,
            &far_student,
            Come::Released,
            [
                &["far student", "far mentor", "far office"],
                &["far student", "far mentor"],
            ],
        );

        let assignment = Uuid::now_v7();
        run(&app, |sql| {
            sql.execute(
                "INSERT INTO assignment (id, school_id, course_id, title, brief, created_at) VALUES ($1, $2, $3, 'Weight', 'Lift.', now())",
                &[&assignment, &near.id, &course.id],
            )
            .expect("an assignment");
            sql.execute(
                "UPDATE person SET joined_at = NULL WHERE id = $1",
                &[&newcomer.id],
            )
            .expect("somebody who has not joined");
        });
        let unsent = Uuid::now_v7();
        run(&app, |sql| {
            write_footage(sql, unsent, &student, "unsent.mp4")
        });
        let upload = begin_upload(&student).await;
        let upload_to_end = begin_upload(&student).await;
        let own_word = format!("said{}", Uuid::new_v4().simple());
        run(&app, |sql| {
            sql.execute(
                "INSERT INTO lexicon_word (id, school_id, held_in, phrase, meaning, added_by, added_at) VALUES ($1, $2, 'traits', $3, 'pop', $4, now())",
                &[&Uuid::now_v7(), &mentor.school.id, &own_word, &mentor.id],
            )
            .expect("a word");
        });
        secrets.push(Secret {
            word: own_word,
            known_to: &["mentor", "other mentor", "office"],
        });
        let people = ROLES
            .into_iter()
            .zip([
                app.anonymous(),
                student.client.clone(),
                other_student.client.clone(),
                mentor.client.clone(),
                other_mentor.client.clone(),
                office.client,
                far_student.client,
                far_mentor.client.clone(),
                far_office.client,
            ])
            .collect();
        World {
            enrolment: own.id,
            course: course.id,
            app,
            people,
            student,
            mentor,
            other_student,
            other_mentor,
            far_mentor,
            newcomer,
            assignment,
            upload,
            upload_to_end,
            unsent,
            released,
            drafted,
            ending,
            waiting,
            opening,
            others,
            formerly,
            far: far_chain,
            secrets,
        }
    }
}

/// Works as a superuser, past every policy.
fn run(app: &TestApp, work: impl FnOnce(&mut postgres::Client) + Send) {
    aside(|| work(&mut connect(&app.database.owner_url)));
}

async fn begin_upload(student: &Person) -> String {
    let answer = student
        .request(reqwest::Method::POST, "/api/v1/uploads")
        .header("tus-resumable", "1.0.0")
        .header("upload-length", "1000")
        .send()
        .await;
    assert_eq!(answer.status, 201, "{answer}");
    let location = answer.header("location").expect("a place");
    location.rsplit('/').next().expect("an id").to_owned()
}

fn write_footage(sql: &mut postgres::Client, id: Uuid, student: &Person, filename: &str) {
    sql.execute(
        "INSERT INTO footage (id, school_id, student_id, filename, source_key, source_bytes, probe, state, width, height, frames, fps_num, fps_den,
           time_base_num, time_base_den, frame_pts, last_duration, derived, recipe, created_at, ready_at)
         VALUES ($1, $2, $3, $4, 'none', 1, '{}', 'ready', 16, 16, 24, 24, 1, 1, 24,
           ARRAY(SELECT generate_series(0, 23)::bigint), 1, '{\"sound\": true}', 1, now(), now())",
        &[&id, &student.school.id, &student.id, &filename],
    )
    .expect("footage");
}

fn write_chain(
    app: &TestApp,
    enrolment: &Enrolment,
    student: &Person,
    come: Come,
    shown: &str,
    said: &str,
) -> Chain {
    let chain = Chain {
        shot: Uuid::now_v7(),
        footage: Uuid::now_v7(),
        submission: Uuid::now_v7(),
        critique: Uuid::now_v7(),
        concern: Uuid::now_v7(),
        note: Uuid::now_v7(),
        stroke: Uuid::now_v7(),
        trace: Uuid::now_v7(),
    };
    let revision = Uuid::now_v7();
    let school = student.school.id;
    let filename = format!("{shown}.mp4");
    run(app, |sql| {
        sql.execute(
            "INSERT INTO shot (id, school_id, enrolment_id, course_id, student_id, title, created_at) VALUES ($1, $2, $3, $4, $5, $6, now())",
            &[&chain.shot, &school, &enrolment.id, &enrolment.course_id, &student.id, &shown],
        )
        .expect("a shot");
        write_footage(sql, chain.footage, student, &filename);
        sql.execute(
            "INSERT INTO revision (id, school_id, shot_id, number, footage_id, stage, created_at) VALUES ($1, $2, $3, 1, $4, 'spline', now())",
            &[&revision, &school, &chain.shot, &chain.footage],
        )
        .expect("a revision");
        let opened_at: Option<DateTime<Utc>> = (come != Come::Waiting).then(now);
        // The mail and the job of the submission are not what this is about.
        sql.batch_execute("SET session_replication_role = replica")
            .expect("no triggers");
        sql.execute(
            "INSERT INTO submission (id, school_id, enrolment_id, student_id, shot_id, revision_id, idem_key, request_hash, words, sent_at, promised_on, opened_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, '', $8, now(), current_date + 7, $9)",
            &[&chain.submission, &school, &enrolment.id, &student.id, &chain.shot, &revision, &chain.submission.to_string(), &shown, &opened_at],
        )
        .expect("a submission");
        sql.batch_execute("SET session_replication_role = origin")
            .expect("triggers");
        sql.execute(
            "INSERT INTO quota_entry (id, school_id, enrolment_id, kind, amount, submission_id, actor_id, created_at) VALUES ($1, $2, $3, 'spend', -1, $4, $5, now())",
            &[&Uuid::now_v7(), &school, &enrolment.id, &chain.submission, &student.id],
        )
        .expect("a spend");
        if come != Come::Waiting {
            write_critique(sql, &chain, revision, enrolment, school, said);
        }
        if come == Come::Released {
            sql.execute(
                "UPDATE critique SET released_at = now() - interval '1 hour' WHERE id = $1",
                &[&chain.critique],
            )
            .expect("a release");
        }
    });
    write_files(app, chain.footage, shown);
    chain
}

fn write_critique(
    sql: &mut postgres::Client,
    chain: &Chain,
    revision: Uuid,
    enrolment: &Enrolment,
    school: Uuid,
    said: &str,
) {
    let parts = serde_json::json!([]);
    sql.execute(
        "INSERT INTO critique (id, school_id, enrolment_id, submission_id, revision_id, shot_id, student_id, mentor_id, summary, created_at)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, now())",
        &[&chain.critique, &school, &enrolment.id, &chain.submission, &revision, &chain.shot, &enrolment.student_id, &enrolment.mentor_id, &said],
    )
    .expect("a critique");
    sql.execute(
        "INSERT INTO concern (id, school_id, shot_id, student_id, critique_id, created_at) VALUES ($1, $2, $3, $4, $5, now())",
        &[&chain.concern, &school, &chain.shot, &enrolment.student_id, &chain.critique],
    )
    .expect("a concern");
    sql.execute(
        "INSERT INTO note (id, school_id, critique_id, concern_id, revision_id, shot_id, student_id, kind, urgency, principles, parts, span_start,
           span_end, words, created_at, updated_at) VALUES ($1, $2, $3, $4, $5, $6, $7, 'fix', 'must', '{spacing}', $8, 3, 9, $9, now(), now())",
        &[&chain.note, &school, &chain.critique, &chain.concern, &revision, &chain.shot, &enrolment.student_id, &parts, &said],
    )
    .expect("a note");
    sql.execute(
        "INSERT INTO stroke (id, school_id, critique_id, frame, hold_to, color, size, pen, points, created_at)
         VALUES ($1, $2, $3, 3, 3, '#aa0000', 0.01, false, '[[0.1, 0.1, 0.5], [0.2, 0.2, 0.5]]', now())",
        &[&chain.stroke, &school, &chain.critique],
    )
    .expect("a stroke");
    sql.execute(
        "INSERT INTO trace (id, school_id, critique_id, color, dots, created_at, updated_at)
         VALUES ($1, $2, $3, '#aa0000', '[{\"frame\": 3, \"x\": 0.5, \"y\": 0.5}]', now(), now())",
        &[&chain.trace, &school, &chain.critique],
    )
    .expect("a trace");
}

/// The derived files where the program looks for them; their bytes are the secret.
fn write_files(app: &TestApp, footage: Uuid, secret: &str) {
    use app::footage::{Item, key};
    for item in [Item::Copy, Item::Strip, Item::Poster, Item::Sound] {
        let path = app
            .var
            .join("footage")
            .join(key(footage.into(), item).to_string());
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        fs::write(path, secret).expect("a file");
    }
}
