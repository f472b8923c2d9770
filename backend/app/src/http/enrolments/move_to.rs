use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, patch};
use domain::{Action, EnrolmentId, Facts, permit};
use store::enrolments;

use super::types::{Enrolment, Move};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Moves a student to another mentor, and with them every critique that is not released yet.
#[utoipa::path(tag = "enrolments", request_body = Move, responses((status = 200, body = Enrolment)))]
#[patch("/enrolments/{id}")]
pub(super) async fn move_enrolment(
    state: Data<State>,
    who: Who,
    id: Path<EnrolmentId>,
    input: Valid<Move>,
) -> Answer {
    permit(
        &who.0,
        Action::ManageCourses,
        &Facts::of_school(who.0.school),
    )?;
    let mentor = input.0.mentor_id;
    let enrolment = state
        .db
        .scoped(&who.0, async |conn| {
            enrolments::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            super::must_be_mentor(conn, mentor).await?;
            if !enrolments::move_to(conn, *id, mentor).await? {
                return Err(Problem::not_found());
            }
            super::view(conn, &who.0, *id).await
        })
        .await?;
    Ok(HttpResponse::Ok().json(enrolment))
}
