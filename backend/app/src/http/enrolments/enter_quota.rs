use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use domain::{Action, EnrolmentId, Facts, ProblemCode, permit};
use store::quota::{self, NewEntry};
use store::{StoreError, enrolments};
use uuid::Uuid;

use super::types::{Enrolment, NewQuotaEntry};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Grants submissions, or takes back some that are left.
#[utoipa::path(tag = "enrolments", request_body = NewQuotaEntry, responses((status = 201, body = Enrolment)))]
#[post("/enrolments/{id}/quota-entries")]
pub(super) async fn enter_quota(
    state: Data<State>,
    who: Who,
    id: Path<EnrolmentId>,
    input: Valid<NewQuotaEntry>,
) -> Answer {
    permit(
        &who.0,
        Action::ManageCourses,
        &Facts::of_school(who.0.school),
    )?;
    let entry = NewEntry {
        id: Uuid::now_v7().into(),
        school: who.0.school,
        enrolment: *id,
        amount: input.0.amount,
        reason: Some(input.0.reason.trim().to_owned()),
        by: who.0.person,
        at: state.clock.now(),
    };
    let enrolment = state
        .db
        .scoped(&who.0, async |conn| {
            enrolments::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            quota::enter(conn, &[entry]).await.map_err(explain)?;
            super::view(conn, &who.0, *id).await
        })
        .await?;
    Ok(HttpResponse::Created().json(enrolment))
}

fn explain(error: StoreError) -> Problem {
    if error.is_refused_by(quota::QUOTA_LEFT) {
        return Problem::new(ProblemCode::QuotaSpent)
            .detail("More would be taken back than is left. Nothing was changed.")
            .field("amount", "is more than is left", "Take back fewer.");
    }
    error.into()
}
