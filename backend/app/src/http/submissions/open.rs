use actix_web::post;
use actix_web::web::{Data, Json, Path};
use domain::{Action, Facts, FootageState, ProblemCode, SubmissionId, permit};
use store::{footage, submissions};

use super::types::Opened;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Opens a submission for critique; from now on it cannot be withdrawn. Opening again gives the same critique.
#[utoipa::path(tag = "submissions", responses((status = 200, body = Opened)))]
#[post("/submissions/{id}/open")]
pub(super) async fn open_submission(
    state: Data<State>,
    who: Who,
    id: Path<SubmissionId>,
) -> Answer<Json<Opened>> {
    let now = state.clock.now();
    let opened = state
        .db
        .scoped(&who.0, async |conn| {
            let sent = submissions::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            permit(
                &who.0,
                Action::Critique,
                &Facts::between(who.0.school, sent.student_id, sent.mentor_id).released(true),
            )?;
            let ready = footage::get(conn, sent.footage_id)
                .await?
                .is_some_and(|found| found.state == FootageState::Ready);
            if !ready && sent.critique_id.is_none() {
                return Err(Problem::new(ProblemCode::NotReady)
                    .detail("Its footage is still being prepared. The desk shows how far it is."));
            }
            submissions::open(conn, &who.0, &sent, now)
                .await?
                .ok_or_else(|| {
                    Problem::new(ProblemCode::Conflict)
                        .detail("It was withdrawn or given back in the meantime.")
                })
        })
        .await?;
    Ok(Json(Opened {
        critique_id: opened,
    }))
}
