//! Enrolments, which make the roster, and their quotas.

mod create;
mod enrol;
mod enter_quota;
mod get;
mod import;
mod ledger;
mod list;
mod mail_quotas;
mod move_to;
mod preview;
mod roster_file;
mod roster_plan;
pub mod types;

use chrono::{DateTime, NaiveDate, Utc};
use domain::{Actor, EnrolmentId, Facts, ProblemCode, Role};
use store::{Conn, StoreError, StoreResult, enrolments, quota};
use utoipa_actix_web::service_config::ServiceConfig;

use super::problem::Problem;
use types::{Enrolment, Named};

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(list::list_enrolments)
        .service(create::create_enrolment)
        .service(preview::preview_roster)
        .service(import::import_roster)
        .service(mail_quotas::mail_quotas)
        .service(get::get_enrolment)
        .service(move_to::move_enrolment)
        .service(ledger::list_quota_entries)
        .service(enter_quota::enter_quota);
}

/// What the permission rule has to know of an enrolment.
fn facts(actor: &Actor, row: &enrolments::Enrolment) -> Facts {
    Facts::between(actor.school, row.student_id, row.mentor_id)
}

/// Rows with their quotas, as this person is told of them.
async fn views(
    conn: &mut Conn,
    actor: &Actor,
    rows: Vec<enrolments::Enrolment>,
) -> StoreResult<Vec<Enrolment>> {
    let ids: Vec<EnrolmentId> = rows.iter().map(|row| row.id).collect();
    let mut quotas = quota::of(conn, &ids).await?;
    let view = |row: enrolments::Enrolment| {
        let sees_critiques = row.student_id == actor.person || row.mentor_id == actor.person;
        Enrolment {
            id: row.id,
            quota: quotas.remove(&row.id).unwrap_or_default(),
            student: Named::new(row.student_id.0, row.student_name),
            mentor: Named::new(row.mentor_id.0, row.mentor_name),
            course: Named::new(row.course_id.0, row.course_name),
            starts_on: row.starts_on,
            last_sent_at: row.last_sent_at,
            shots: row.shots,
            open_concerns: sees_critiques.then_some(row.open_concerns),
            joined: row.joined,
        }
    };
    Ok(rows.into_iter().map(view).collect())
}

/// One enrolment, as this person is told of it.
async fn view(conn: &mut Conn, actor: &Actor, id: EnrolmentId) -> Result<Enrolment, Problem> {
    let row = enrolments::get(conn, id)
        .await?
        .ok_or_else(Problem::not_found)?;
    let mut views = views(conn, actor, vec![row]).await?;
    views.pop().ok_or_else(Problem::not_found)
}

/// What the database's refusal of an enrolment means.
fn explain(error: StoreError) -> Problem {
    if error.is_refused_by(enrolments::ONCE_IN_A_COURSE) {
        return Problem::new(ProblemCode::Duplicate)
            .detail("This student is in this course already.")
            .field(
                "student_id",
                "is in this course already",
                "Grant more submissions there instead.",
            );
    }
    super::persons::explain(error)
}

/// Checks that somebody is a mentor of the school.
async fn must_be_mentor(
    conn: &mut Conn,
    id: domain::PersonId,
) -> Result<store::people::Person, Problem> {
    let person = store::people::get(conn, id).await?;
    person
        .filter(|person| person.roles.contains(&Role::Mentor))
        .ok_or_else(|| {
            Problem::invalid(
                "mentor_id",
                "is not a mentor of this school",
                "Choose one of the mentors.",
            )
        })
}

/// The day at the school.
fn today(now: DateTime<Utc>, time_zone: &str) -> NaiveDate {
    match time_zone.parse::<chrono_tz::Tz>() {
        Ok(zone) => now.with_timezone(&zone).date_naive(),
        Err(_) => now.date_naive(),
    }
}
