use actix_web::web::{Data, Json, Path, Query};
use actix_web::{HttpResponse, delete, put};
use domain::{ConcernId, CritiqueId, NoteId, ProblemCode};
use serde::Deserialize;
use store::critiques::Critique;
use store::{Conn, notes};
use utoipa::IntoParams;

use super::checks::misplaced;
use super::draft::{draft, explain, frames};
use super::types::NoteDraft;
use crate::http::input::Valid;
use crate::http::notes::types::Note;
use crate::http::problem::{Answer, FieldError, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Notes a critique may have.
const MOST: usize = 500;

/// Writes a note, new or changed. The same content again is the same answer; another version than the present one is refused with it.
#[utoipa::path(tag = "critiques", request_body = NoteDraft, responses((status = 200, body = Note)))]
#[put("/critiques/{id}/notes/{note_id}")]
pub(super) async fn put_note(
    state: Data<State>,
    who: Who,
    path: Path<(CritiqueId, NoteId)>,
    input: Valid<NoteDraft>,
) -> Answer<Json<Note>> {
    let (id, note_id) = path.into_inner();
    let (now, school) = (state.clock.now(), who.0.school);
    let written = state
        .db
        .scoped(&who.0, async |conn| {
            let critique = draft(conn, &who.0, id, now).await?;
            let content = checked(&input.0, frames(conn, &critique).await?)?;
            let tied = tied(conn, &critique, input.0.concern_id).await?;
            let old = notes::get(conn, note_id).await?;
            match old {
                None if input.0.version == 0 => {
                    let there = notes::of_shots(conn, &[critique.shot_id]).await?;
                    if there.iter().filter(|note| note.critique == id).count() >= MOST {
                        return Err(Problem::new(ProblemCode::TooLarge).detail(format!("A critique may have {MOST} notes.")));
                    }
                    notes::add(conn, &critique, school, note_id, tied, &content, now).await.map_err(explain)?;
                }
                None => return Err(Problem::new(ProblemCode::Stale).detail("This note was removed in another window. Your words are still here; keep them as a new note.")),
                Some(old) if old.critique != id => return Err(Problem::new(ProblemCode::Duplicate).detail("This id belongs to another note.")),
                // Untied at the present version is a change: the concern may not be the note's own.
                Some(old) if old.content == content && tied.map_or(old.version != input.0.version, |tied| tied == old.concern) => return Ok(Note::from(old)),
                Some(old) if old.version != input.0.version => {
                    return Err(Problem::new(ProblemCode::Stale).detail("This note was changed in another window. Both texts are kept; choose.").current(Note::from(old)));
                }
                Some(old) => {
                    notes::change(conn, &critique, school, &old, tied, &content, now).await.map_err(explain)?;
                }
            }
            notes::get(conn, note_id).await?.map(Note::from).ok_or_else(Problem::not_found)
        })
        .await?;
    Ok(Json(written))
}

/// What is tied to must be a concern of this shot.
async fn tied(
    conn: &mut Conn,
    critique: &Critique,
    wanted: Option<ConcernId>,
) -> Answer<Option<ConcernId>> {
    match wanted {
        Some(concern) if !notes::is_concern_of(conn, concern, critique.shot_id).await? => {
            Err(Problem::invalid(
                "concern_id",
                "is no concern of this shot",
                "Choose one of the carried concerns, or none.",
            ))
        }
        wanted => Ok(wanted),
    }
}

fn checked(input: &NoteDraft, frames: i32) -> Answer<notes::Content> {
    let mut errors = misplaced(&input.parts, input.span, frames);
    let mut wrong = |field: &str, reason: &str, remedy: &str| {
        errors.push(FieldError {
            field: field.into(),
            reason: reason.into(),
            remedy: Some(remedy.into()),
        })
    };
    if input.region.is_some_and(|region| !region.fits()) {
        wrong(
            "region",
            "must have an area and lie within the picture",
            "Drag it again.",
        );
    }
    if input.ask.is_some_and(|ask| !ask.is_sane()) {
        wrong(
            "ask.amount",
            "must be whole frames from 1 to 3600, or above 0 and at most 100 times",
            "Give another amount, or ask nothing measured.",
        );
    }
    if !errors.is_empty() {
        return Err(Problem::new(ProblemCode::InvalidInput).fields(errors));
    }
    Ok(notes::Content {
        kind: input.kind,
        urgency: input.urgency,
        principles: input.principles.clone(),
        parts: input.parts.clone(),
        span: input.span,
        region: input.region,
        words: input.words.clone(),
        ask: input.ask,
    })
}

/// Which version is meant.
#[derive(Debug, Deserialize, IntoParams)]
pub(super) struct VersionQuery {
    /// The version to be removed.
    version: i32,
}

/// Removes a note of a draft. One that is gone already is gone.
#[utoipa::path(tag = "critiques", params(VersionQuery), responses((status = 204, description = "It is gone")))]
#[delete("/critiques/{id}/notes/{note_id}")]
pub(super) async fn delete_note(
    state: Data<State>,
    who: Who,
    path: Path<(CritiqueId, NoteId)>,
    query: Query<VersionQuery>,
) -> Answer {
    let (id, note_id) = path.into_inner();
    let now = state.clock.now();
    state
        .db
        .scoped(&who.0, async |conn| {
            draft(conn, &who.0, id, now).await?;
            let Some(old) = notes::get(conn, note_id)
                .await?
                .filter(|note| note.critique == id)
            else {
                return Ok(());
            };
            if !notes::remove(conn, &old, query.version)
                .await
                .map_err(explain)?
            {
                return Err(Problem::new(ProblemCode::Stale)
                    .detail("This note was changed in another window, so it was not removed.")
                    .current(Note::from(old)));
            }
            Ok(())
        })
        .await?;
    Ok(HttpResponse::NoContent().finish())
}
