use actix_web::put;
use actix_web::web::{Data, Json, Path};
use domain::{CritiqueId, ProblemCode};
use serde_json::json;
use store::critiques;

use super::draft::draft;
use super::types::{SummaryDraft, Version};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Writes the words over all notes.
#[utoipa::path(tag = "critiques", request_body = SummaryDraft, responses((status = 200, body = Version)))]
#[put("/critiques/{id}/summary")]
pub(super) async fn put_summary(
    state: Data<State>,
    who: Who,
    id: Path<CritiqueId>,
    input: Valid<SummaryDraft>,
) -> Answer<Json<Version>> {
    let now = state.clock.now();
    let version = state
        .db
        .scoped(&who.0, async |conn| {
            let critique = draft(conn, &who.0, *id, now).await?;
            if critique.summary == input.0.summary {
                return Ok(critique.version);
            }
            let written =
                critiques::set_summary(conn, *id, input.0.version, &input.0.summary).await?;
            written.ok_or_else(|| {
                Problem::new(ProblemCode::Stale)
                    .detail(
                        "The summary was changed in another window. Both texts are kept; choose.",
                    )
                    .current(json!({ "version": critique.version, "summary": critique.summary }))
            })
        })
        .await?;
    Ok(Json(Version { version }))
}
