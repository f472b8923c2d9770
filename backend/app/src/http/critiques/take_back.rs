use actix_web::post;
use actix_web::web::{Data, Json, Path};
use domain::jobs::Payload;
use domain::{CritiqueId, ProblemCode};
use store::{critiques, jobs};

use super::draft::held;
use super::page::page;
use super::types::CritiquePage;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Makes a critique a draft again before it goes out.
#[utoipa::path(tag = "critiques", responses((status = 200, body = CritiquePage)))]
#[post("/critiques/{id}/take-back")]
pub(super) async fn take_back_critique(
    state: Data<State>,
    who: Who,
    id: Path<CritiqueId>,
) -> Answer<Json<CritiquePage>> {
    let now = state.clock.now();
    let shown = state
        .db
        .scoped(&who.0, async |conn| {
            let critique = held(conn, &who.0, *id, now).await?;
            if critique.released_at.is_some() {
                if !critiques::take_back(conn, *id, now).await? {
                    return Err(Problem::new(ProblemCode::AlreadyReleased)
                        .detail("It has gone out. You can still add an amendment."));
                }
                jobs::cancel(conn, &Payload::AnnounceCritique { critique: *id }).await?;
            }
            let critique = critiques::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            page(conn, &who.0, critique, now).await
        })
        .await?;
    Ok(Json(shown))
}
