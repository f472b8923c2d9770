use actix_web::post;
use actix_web::web::{Data, Json, Path};
use chrono::TimeDelta;
use domain::jobs::Payload;
use domain::{CritiqueId, ProblemCode};
use store::{critiques, jobs, notes};

use super::draft::draft;
use super::page::page;
use super::types::CritiquePage;
use crate::http::problem::{Answer, FieldError, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Releases a critique: after the time in which it can be taken back, the student sees it and is told by mail.
#[utoipa::path(tag = "critiques", responses((status = 200, body = CritiquePage)))]
#[post("/critiques/{id}/release")]
pub(super) async fn release_critique(
    state: Data<State>,
    who: Who,
    id: Path<CritiqueId>,
) -> Answer<Json<CritiquePage>> {
    let now = state.clock.now();
    let at = now + TimeDelta::from_std(state.config.take_back).unwrap_or(TimeDelta::minutes(2));
    let shown = state
        .db
        .scoped(&who.0, async |conn| {
            let critique = draft(conn, &who.0, *id, now).await?;
            let wordless: Vec<FieldError> = notes::of_shots(conn, &[critique.shot_id])
                .await?
                .into_iter()
                .filter(|note| note.critique == *id && note.content.words.trim().is_empty())
                .map(|note| FieldError {
                    field: format!("notes.{}", note.id),
                    reason: "has no words".into(),
                    remedy: Some("Write it, or remove it.".into()),
                })
                .collect();
            if !wordless.is_empty() {
                return Err(Problem::new(ProblemCode::InvalidInput)
                    .detail("Some notes have no words yet. Nothing was released.")
                    .fields(wordless));
            }
            critiques::release(conn, *id, at).await?;
            let announce = Payload::AnnounceCritique { critique: *id };
            jobs::enqueue(conn, who.0.school, who.0.person, &announce, at).await?;
            jobs::revive(conn, &announce, at).await?;
            let critique = critiques::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            page(conn, &who.0, critique, now).await
        })
        .await?;
    Ok(Json(shown))
}
