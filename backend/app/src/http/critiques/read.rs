use actix_web::get;
use actix_web::web::{Data, Json, Path};
use domain::{Action, CritiqueId, permit};
use store::critiques;

use super::draft::facts;
use super::page::page;
use super::types::CritiquePage;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// The whole page: a draft for its author, a released critique for the student, their mentor and its author.
#[utoipa::path(tag = "critiques", responses((status = 200, body = CritiquePage)))]
#[get("/critiques/{id}")]
pub(super) async fn read_critique(
    state: Data<State>,
    who: Who,
    id: Path<CritiqueId>,
) -> Answer<Json<CritiquePage>> {
    let now = state.clock.now();
    let shown = state
        .db
        .scoped(&who.0, async |conn| {
            let critique = critiques::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            permit(&who.0, Action::ReadCritique, &facts(&who.0, &critique, now))?;
            page(conn, &who.0, critique, now).await
        })
        .await?;
    Ok(Json(shown))
}
