use actix_web::web::{Data, Json};
use actix_web::{HttpRequest, HttpResponse, post};
use chrono::{DateTime, Utc};
use domain::jobs::Payload;
use domain::{Action, Actor, Facts, FootageState, ProblemCode, permit};
use sha2::{Digest, Sha256};
use store::submissions::{self, NewSubmission as Row};
use store::{Conn, StoreError, courses, enrolments, footage, jobs, people, quota, schools, shots};
use uuid::Uuid;

use super::promise::{confirmation, promised_on, spoken, today};
use super::types::{NewSubmission, Submission, submission};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::mail::post as post_letter;
use crate::state::State;

/// Sends a revision: one transaction writes revision, submission, spend, confirmation and preparation. The same key again is the same
/// submission.
#[utoipa::path(tag = "submissions", params(("Idempotency-Key" = String, Header)), request_body = NewSubmission,
    responses((status = 201, body = Submission), (status = 200, body = Submission)))]
#[post("/submissions")]
pub(super) async fn send_submission(
    state: Data<State>,
    who: Who,
    request: HttpRequest,
    input: Valid<NewSubmission>,
) -> Answer {
    permit(&who.0, Action::Send, &Facts::of_school(who.0.school))?;
    let key = request
        .headers()
        .get("idempotency-key")
        .and_then(|key| key.to_str().ok())
        .filter(|key| (8..=200).contains(&key.len()));
    let key = key.ok_or_else(|| {
        Problem::invalid(
            "Idempotency-Key",
            "is missing, or not 8 to 200 characters long",
            "Send a new UUID for each act of sending.",
        )
    })?;
    let body = serde_json::to_vec(&input.0).map_err(|e| Problem::internal(&e))?;
    let asked = Asked {
        input: &input.0,
        key,
        hash: Sha256::digest(&body).to_vec(),
        now: state.clock.now(),
    };
    let (fresh, sent) = state
        .db
        .scoped(&who.0, async |conn| {
            send(conn, &state, &who.0, &asked).await
        })
        .await?;
    let mut answer = if fresh {
        HttpResponse::Created()
    } else {
        HttpResponse::Ok()
    };
    Ok(answer.json(Json(sent).into_inner()))
}

struct Asked<'a> {
    input: &'a NewSubmission,
    key: &'a str,
    hash: Vec<u8>,
    now: DateTime<Utc>,
}

async fn send(
    conn: &mut Conn,
    state: &State,
    actor: &Actor,
    asked: &Asked<'_>,
) -> Answer<(bool, Submission)> {
    let shot = shots::get(conn, asked.input.shot_id)
        .await?
        .filter(|shot| shot.student_id == actor.person)
        .ok_or_else(|| {
            Problem::invalid(
                "shot_id",
                "is no shot of yours",
                "Choose one of your shots, or begin one.",
            )
        })?;
    submissions::hold(conn, shot.enrolment_id).await?;
    if let Some(earlier) = submissions::by_key(conn, shot.enrolment_id, asked.key).await? {
        if earlier.request_hash != asked.hash {
            return Err(Problem::new(ProblemCode::KeyReused).detail(
                "This key sent something else before. Use a new key for a new submission.",
            ));
        }
        let quota = quota::of_one(conn, shot.enrolment_id).await?;
        return Ok((false, submission(earlier, quota, asked.now)));
    }
    // A preparation that fails, or is cancelled, meanwhile waits here, and then finds the submission.
    footage::hold(conn, asked.input.footage_id).await?;
    let found = footage::get(conn, asked.input.footage_id)
        .await?
        .filter(|found| found.student_id == actor.person);
    let found = found.ok_or_else(|| {
        Problem::invalid(
            "footage_id",
            "is no footage of yours",
            "Upload the file first.",
        )
    })?;
    if matches!(found.state, FootageState::Failed | FootageState::Cancelled) {
        return Err(Problem::new(ProblemCode::FootageRefused)
            .detail("This footage was not prepared. Upload the file again. Nothing is spent."));
    }
    let school = schools::own(conn).await?;
    let day = today(&school, asked.now);
    let enrolment = enrolments::get(conn, shot.enrolment_id)
        .await?
        .ok_or_else(Problem::not_found)?;
    if enrolment.starts_on > day {
        return Err(Problem::new(ProblemCode::NotStarted).detail(format!(
            "Your enrolment begins on {}. Nothing is spent.",
            spoken(enrolment.starts_on)
        )));
    }
    let course = courses::get(conn, shot.course_id)
        .await?
        .ok_or_else(Problem::not_found)?;
    if let Some(first) = asked
        .input
        .first_frame
        .filter(|first| *first != shot.first_frame)
    {
        if submissions::any_of_shot(conn, shot.id).await? {
            return Err(Problem::invalid(
                "first_frame",
                "is fixed once the shot was sent",
                "Leave it out.",
            ));
        }
        shots::change(conn, shot.id, &shot.title, first).await?;
    }
    let new = Row {
        id: Uuid::now_v7().into(),
        revision: Uuid::now_v7().into(),
        school: actor.school,
        enrolment: shot.enrolment_id,
        student: actor.person,
        shot: shot.id,
        footage: found.id,
        stage: asked.input.stage,
        words: asked.input.words.trim().to_owned(),
        idem_key: asked.key.to_owned(),
        request_hash: asked.hash.clone(),
        at: asked.now,
        promised_on: promised_on(day, course.words.promise_days),
    };
    submissions::send(conn, &new).await.map_err(explain)?;
    jobs::enqueue(
        conn,
        actor.school,
        actor.person,
        &Payload::Prepare { footage: found.id },
        asked.now,
    )
    .await?;
    let sent = submissions::get(conn, new.id)
        .await?
        .ok_or_else(Problem::not_found)?;
    let quota = quota::of_one(conn, shot.enrolment_id).await?;
    let student = people::get(conn, actor.person)
        .await?
        .ok_or_else(Problem::not_found)?;
    let letter = confirmation(
        student,
        &school,
        &shot,
        &sent,
        &quota,
        &state.public_url,
        asked.now,
    );
    post_letter(conn, state, actor.school, &letter).await?;
    Ok((true, submission(sent, quota, asked.now)))
}

fn explain(error: StoreError) -> Problem {
    if error.is_refused_by(quota::QUOTA_LEFT) {
        return Problem::new(ProblemCode::QuotaSpent).detail("All your submissions are sent. The school office can grant more. Your upload is kept for now.");
    }
    if error.is_refused_by(submissions::FOOTAGE_ONCE) {
        return Problem::invalid(
            "footage_id",
            "was sent before",
            "Upload the new revision first.",
        );
    }
    error.into()
}
