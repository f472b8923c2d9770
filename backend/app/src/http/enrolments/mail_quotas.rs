use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use chrono::NaiveDate;
use domain::{Action, Actor, EnrolmentId, Facts, Quota, permit};
use store::schools::{self, School};
use store::{Conn, StoreError, StoreResult, enrolments, outbox, quota};
use uuid::Uuid;

use super::types::{Mailed, QuotaMails};
use crate::http::input::Valid;
use crate::http::page::MAX_LIMIT;
use crate::http::problem::Answer;
use crate::http::who::Who;
use crate::mail::{self, Letter};
use crate::state::State;

const KIND: &str = "quota";

/// Mails students how their quota stands. The same standing is mailed once a day, so that asking again after a fault repeats nothing.
#[utoipa::path(tag = "enrolments", request_body = QuotaMails, responses((status = 202, body = Mailed)))]
#[post("/enrolments/quota-mails")]
pub(super) async fn mail_quotas(state: Data<State>, who: Who, input: Valid<QuotaMails>) -> Answer {
    permit(
        &who.0,
        Action::ManageCourses,
        &Facts::of_school(who.0.school),
    )?;
    let mut wanted = enrolments::Wanted {
        among: input.0.enrolment_ids,
        limit: MAX_LIMIT,
        ..enrolments::Wanted::default()
    };
    let mut mailed = 0;
    loop {
        let (written, last) = state
            .db
            .scoped::<_, StoreError, _>(&who.0, async |conn| {
                mail_some(conn, &state, &who.0, &wanted).await
            })
            .await?;
        mailed += written;
        match last {
            Some(last) => wanted.after = Some(last),
            None => break,
        }
    }
    Ok(HttpResponse::Accepted().json(Mailed { mailed }))
}

/// Mails those of one page; gives how many mails are new, and the place to go on from.
async fn mail_some(
    conn: &mut Conn,
    state: &State,
    actor: &Actor,
    wanted: &enrolments::Wanted,
) -> StoreResult<(usize, Option<(String, EnrolmentId)>)> {
    let school = schools::own(conn).await?;
    let day = super::today(state.clock.now(), &school.time_zone);
    let rows = enrolments::list(conn, wanted).await?;
    let ids: Vec<EnrolmentId> = rows.iter().map(|row| row.id).collect();
    let quotas = quota::of(conn, &ids).await?;
    let letters: Vec<Letter> = rows
        .iter()
        .filter_map(|row| Some(letter(state, &school, day, row, quotas.get(&row.id)?)))
        .collect();
    let about: Vec<Uuid> = letters.iter().map(|letter| letter.about).collect();
    let known = outbox::known(conn, KIND, &about).await?;
    let new: Vec<Letter> = letters
        .into_iter()
        .filter(|letter| !known.contains(&letter.about))
        .collect();
    mail::post_all(conn, state, actor.school, &new, state.clock.now()).await?;
    let written = new.len();
    let full = i64::try_from(rows.len()).is_ok_and(|n| n >= wanted.limit);
    let last = rows.last().filter(|_| full);
    Ok((written, last.map(|row| (row.sort_key.clone(), row.id))))
}

fn letter(
    state: &State,
    school: &School,
    day: NaiveDate,
    row: &enrolments::Enrolment,
    quota: &Quota,
) -> Letter {
    let standing = standing(quota);
    Letter {
        kind: KIND,
        about: Uuid::new_v5(&row.id.0, format!("{day} {standing}").as_bytes()),
        person: row.student_id,
        name: row.student_name.clone(),
        to: row.student_email.clone(),
        subject: format!("{}: {} left", row.course_name, submissions(quota.left)),
        paragraphs: vec![
            format!("Dear {},", row.student_name),
            format!(
                "this is how your submissions in {} at {} stand: {standing}.",
                row.course_name, school.name
            ),
            match quota.waiting {
                0 => "None of them waits for a critique.".into(),
                n => format!(
                    "{} still wait for a critique by {}.",
                    submissions(n),
                    row.mentor_name
                ),
            },
        ],
        link: Some((
            "See your shots".into(),
            format!("{}/shots", state.public_url),
        )),
        at: state.clock.now(),
    }
}

/// "10 sent, 1 returned to you, 7 left", without what is nought in between.
fn standing(quota: &Quota) -> String {
    let returned = match quota.returned {
        0 => String::new(),
        n => format!(", {n} returned to you"),
    };
    format!("{} sent{returned}, {} left", quota.sent, quota.left)
}

fn submissions(n: i64) -> String {
    match n {
        1 => "1 submission".into(),
        n => format!("{n} submissions"),
    }
}
