use actix_web::get;
use actix_web::web::{Data, Json, Path};
use domain::{Action, EnrolmentId, permit};
use store::enrolments;

use super::types::Enrolment;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// One enrolment: for the office, its student and their mentor.
#[utoipa::path(tag = "enrolments", responses((status = 200, body = Enrolment)))]
#[get("/enrolments/{id}")]
pub(super) async fn get_enrolment(
    state: Data<State>,
    who: Who,
    id: Path<EnrolmentId>,
) -> Answer<Json<Enrolment>> {
    let enrolment = state
        .db
        .scoped(&who.0, async |conn| {
            let row = enrolments::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            permit(&who.0, Action::ReadEnrolment, &super::facts(&who.0, &row))?;
            super::view(conn, &who.0, *id).await
        })
        .await?;
    Ok(Json(enrolment))
}
