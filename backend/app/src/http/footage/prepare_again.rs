use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use domain::jobs::Payload;
use domain::{Action, FootageId, FootageState, ProblemCode};
use store::{footage, jobs};

use super::get::allowed;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Prepares footage once more whose preparation was cancelled.
#[utoipa::path(tag = "footage", responses((status = 202, description = "It is being prepared")))]
#[post("/footage/{id}/prepare")]
pub(super) async fn prepare_footage(state: Data<State>, who: Who, id: Path<FootageId>) -> Answer {
    let now = state.clock.now();
    state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            footage::hold(conn, *id).await?;
            let found = allowed(conn, &who.0, *id, Action::ManageFootage).await?;
            if found.state != FootageState::Cancelled {
                return Err(Problem::new(ProblemCode::Conflict)
                    .detail("Only a cancelled preparation can be taken up again."));
            }
            footage::set_state(conn, found.id, FootageState::Preparing, None).await?;
            Ok(jobs::revive(conn, &Payload::Prepare { footage: found.id }, now).await?)
        })
        .await?;
    Ok(HttpResponse::Accepted().finish())
}
