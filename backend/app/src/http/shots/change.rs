use actix_web::patch;
use actix_web::web::{Data, Json, Path};
use domain::{Action, Facts, ProblemCode, ShotId, permit};
use store::{shots, submissions};

use super::get::find;
use super::types::{Shot, ShotChange};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Renames a shot, or numbers its frames otherwise until it is first sent.
#[utoipa::path(tag = "shots", request_body = ShotChange, responses((status = 200, body = Shot)))]
#[patch("/shots/{id}")]
pub(super) async fn change_shot(
    state: Data<State>,
    who: Who,
    id: Path<ShotId>,
    input: Valid<ShotChange>,
) -> Answer<Json<Shot>> {
    let now = state.clock.now();
    let shot = state
        .db
        .scoped(&who.0, async |conn| {
            let row = shots::get(conn, *id).await?.ok_or_else(Problem::not_found)?;
            permit(&who.0, Action::Send, &Facts::between(who.0.school, row.student_id, row.mentor_id).released(true))?;
            let first_frame = input.0.first_frame.unwrap_or(row.first_frame);
            if first_frame != row.first_frame && submissions::any_of_shot(conn, *id).await? {
                return Err(Problem::new(ProblemCode::Conflict)
                    .detail("The shot was sent; its frames keep their numbers, because notes name them.")
                    .field("first_frame", "is fixed once the shot was sent", "Leave it as it is."));
            }
            let title = input.0.title.as_deref().map_or(row.title.as_str(), str::trim);
            shots::change(conn, *id, title, first_frame).await?;
            find(conn, &who.0, *id, now).await
        })
        .await?;
    Ok(Json(shot))
}
