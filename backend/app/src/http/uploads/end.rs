use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, delete};
use domain::{Action, Facts, UploadId, permit};
use store::uploads;

use super::protocol::{answer, file_of, wrong_version};
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Throws an unfinished or refused upload away.
#[utoipa::path(tag = "uploads", responses((status = 204, description = "It is gone")))]
#[delete("/uploads/{id}")]
pub(super) async fn end_upload(
    state: Data<State>,
    who: Who,
    id: Path<UploadId>,
    request: HttpRequest,
) -> Answer {
    permit(&who.0, Action::Send, &Facts::of_school(who.0.school))?;
    if let Some(refused) = wrong_version(&request) {
        return Ok(refused);
    }
    let gone = state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| Ok(uploads::remove(conn, *id).await?))
        .await?;
    if !gone {
        return Err(Problem::not_found());
    }
    match tokio::fs::remove_file(file_of(&state, *id)).await {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            tracing::warn!(%error, "an ended upload could not be removed")
        }
        _ => {}
    }
    Ok(answer(204).finish())
}
