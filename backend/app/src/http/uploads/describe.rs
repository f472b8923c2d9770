use actix_web::get;
use actix_web::web::{Data, Json, Path};
use domain::{Action, Facts, UploadId, permit};
use store::uploads;

use super::types::Upload;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Where an upload stands.
#[utoipa::path(tag = "uploads", responses((status = 200, body = Upload)))]
#[get("/uploads/{id}")]
pub(super) async fn get_upload(
    state: Data<State>,
    who: Who,
    id: Path<UploadId>,
) -> Answer<Json<Upload>> {
    permit(&who.0, Action::Send, &Facts::of_school(who.0.school))?;
    let upload = state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| Ok(uploads::get(conn, *id).await?))
        .await?;
    Ok(Json(upload.ok_or_else(Problem::not_found)?.into()))
}
