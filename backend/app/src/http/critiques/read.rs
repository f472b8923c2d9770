use actix_web::get;
use actix_web::web::{Data, Json, Path};
use domain::{Action, CritiqueId, Facts, permit};
use store::critiques;

use super::page::page;
use super::types::CritiquePage;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// The whole page: a draft for its author, a released critique for the student and their mentor.
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
            let released = critique.released_at.is_some_and(|at| at <= now);
            let author = critique.mentor_id == who.0.person;
            let mentor = if author || !released {
                critique.mentor_id
            } else {
                critique.present_mentor_id.unwrap_or(critique.mentor_id)
            };
            permit(
                &who.0,
                Action::ReadCritique,
                &Facts::between(who.0.school, critique.student_id, mentor).released(released),
            )?;
            page(conn, &who.0, critique, now).await
        })
        .await?;
    Ok(Json(shown))
}
