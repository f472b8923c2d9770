use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, delete};
use domain::jobs::Payload;
use domain::{Action, FootageId, FootageState, ProblemCode};
use store::{footage, jobs};

use super::get::allowed;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Ends the preparation of footage that was not sent.
#[utoipa::path(tag = "footage", responses((status = 204, description = "It is not being prepared any more")))]
#[delete("/footage/{id}")]
pub(super) async fn cancel_footage(state: Data<State>, who: Who, id: Path<FootageId>) -> Answer {
    state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            footage::hold(conn, *id).await?;
            let found = allowed(conn, &who.0, *id, Action::ManageFootage).await?;
            if found.sent {
                return Err(Problem::new(ProblemCode::Conflict).detail(
                    "It was sent already. Withdraw the submission instead, until your mentor opens it.",
                ));
            }
            jobs::cancel(conn, &Payload::Prepare { footage: found.id }).await?;
            Ok(footage::set_state(conn, found.id, FootageState::Cancelled, None).await?)
        })
        .await?;
    Ok(HttpResponse::NoContent().finish())
}
