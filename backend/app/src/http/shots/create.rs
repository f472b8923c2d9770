use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use domain::{Action, Facts, permit};
use store::shots::{self, NewShot as Row};
use uuid::Uuid;

use super::get::find;
use super::types::{NewShot, Shot};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Begins a shot.
#[utoipa::path(tag = "shots", request_body = NewShot, responses((status = 201, body = Shot)))]
#[post("/shots")]
pub(super) async fn create_shot(state: Data<State>, who: Who, input: Valid<NewShot>) -> Answer {
    permit(&who.0, Action::Send, &Facts::of_school(who.0.school))?;
    let now = state.clock.now();
    let new = Row {
        id: Uuid::now_v7().into(),
        school: who.0.school,
        enrolment: input.0.enrolment_id,
        student: who.0.person,
        assignment: input.0.assignment_id,
        title: input.0.title.trim().to_owned(),
        first_frame: input.0.first_frame,
        at: now,
    };
    let shot = state
        .db
        .scoped(&who.0, async |conn| {
            if !shots::add(conn, &new).await? {
                return Err(Problem::invalid(
                    "enrolment_id",
                    "is no enrolment of yours",
                    "Choose one of your courses.",
                ));
            }
            find(conn, &who.0, new.id, now).await
        })
        .await?;
    Ok(HttpResponse::Created().json(shot))
}
