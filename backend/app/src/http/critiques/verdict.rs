use actix_web::put;
use actix_web::web::{Data, Json, Path};
use domain::{ConcernId, CritiqueId, ProblemCode};
use store::{notes, verdicts};

use super::draft::{draft, explain};
use super::page::carried_one;
use super::types::{CarriedConcern, GivenVerdict, VerdictDraft};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Judges a carried concern, or takes the judgement away.
#[utoipa::path(tag = "critiques", request_body = VerdictDraft, responses((status = 200, body = CarriedConcern)))]
#[put("/critiques/{id}/verdicts/{concern_id}")]
pub(super) async fn put_verdict(
    state: Data<State>,
    who: Who,
    path: Path<(CritiqueId, ConcernId)>,
    input: Valid<VerdictDraft>,
) -> Answer<Json<CarriedConcern>> {
    let (id, concern) = path.into_inner();
    let now = state.clock.now();
    let carried = state
        .db
        .scoped(&who.0, async |conn| {
            let critique = draft(conn, &who.0, id, now).await?;
            if !notes::is_concern_of(conn, concern, critique.shot_id).await? {
                return Err(Problem::not_found());
            }
            // Carried at all? Asked before writing, so that nothing is judged that the page does not show.
            carried_one(conn, critique.clone(), concern, now).await?;
            let old = verdicts::get(conn, id, concern).await?;
            let given = old.as_ref().map(|old| old.judged);
            if given != input.0.verdict {
                if old.as_ref().map_or(0, |old| old.version) != input.0.version {
                    let current = old.map(|old| GivenVerdict {
                        verdict: old.judged,
                        version: old.version,
                    });
                    return Err(Problem::new(ProblemCode::Stale)
                        .detail("It was judged in another window.")
                        .current(current));
                }
                match input.0.verdict {
                    Some(verdict) => {
                        verdicts::set(
                            conn,
                            who.0.school,
                            id,
                            critique.shot_id,
                            concern,
                            verdict,
                            now,
                        )
                        .await
                    }
                    None => verdicts::clear(conn, id, concern).await,
                }
                .map_err(explain)?;
            }
            carried_one(conn, critique, concern, now).await
        })
        .await?;
    Ok(Json(carried))
}
