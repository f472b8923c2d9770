use actix_web::post;
use actix_web::web::{Data, Json, Path};
use domain::jobs::Payload;
use domain::{Action, Facts, FootageId, FootageState, ProblemCode, SubmissionId, permit};
use store::{Conn, StoreResult, footage, jobs, quota, submissions};

use super::types::{Submission, submission};
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Takes a submission back until the mentor opens it; its preparation ends, if it is not done.
#[utoipa::path(tag = "submissions", responses((status = 200, body = Submission)))]
#[post("/submissions/{id}/withdraw")]
pub(super) async fn withdraw_submission(
    state: Data<State>,
    who: Who,
    id: Path<SubmissionId>,
) -> Answer<Json<Submission>> {
    let now = state.clock.now();
    let sent = state
        .db
        .scoped(&who.0, async |conn| {
            let sent = submissions::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            permit(
                &who.0,
                Action::Send,
                &Facts::between(who.0.school, sent.student_id, sent.mentor_id).released(true),
            )?;
            // Before its submission's, in the order in which a failing preparation takes them.
            footage::hold(conn, sent.footage_id).await?;
            if !submissions::withdraw(conn, &who.0, &sent, now).await? {
                return Err(match (sent.withdrawn_at, sent.returned_at) {
                    (None, None) => Problem::new(ProblemCode::AlreadyOpened)
                        .detail("Your mentor has begun with it, so it stays sent."),
                    _ => Problem::new(ProblemCode::Conflict)
                        .detail("It was taken back or given back before."),
                });
            }
            end_preparation(conn, sent.footage_id).await?;
            let quota = quota::of_one(conn, sent.enrolment_id).await?;
            let sent = submissions::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            Ok(submission(sent, quota, now))
        })
        .await?;
    Ok(Json(sent))
}

/// Nobody is going to look at it.
async fn end_preparation(conn: &mut Conn, id: FootageId) -> StoreResult<()> {
    let found = footage::get(conn, id).await?;
    if found.is_some_and(|found| found.state == FootageState::Preparing) {
        jobs::cancel(conn, &Payload::Prepare { footage: id }).await?;
        footage::set_state(conn, id, FootageState::Cancelled, None).await?;
    }
    Ok(())
}
