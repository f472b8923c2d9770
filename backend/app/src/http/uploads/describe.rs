use actix_web::get;
use actix_web::web::{Data, Json, Path};
use domain::{Action, Facts, UploadId, permit};

use super::types::Upload;
use super::whole::find;
use crate::http::problem::Answer;
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
    Ok(Json(find(&state, &who.0, *id).await?.into()))
}
