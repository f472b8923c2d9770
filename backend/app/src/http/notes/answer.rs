use actix_web::put;
use actix_web::web::{Data, Json, Path};
use domain::{Action, AnswerKind, Facts, NoteId, permit};
use store::{critiques, notes};

use super::types::{GivenAnswer, NewAnswer};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Answers a released note.
#[utoipa::path(tag = "notes", request_body = NewAnswer, responses((status = 200, body = GivenAnswer)))]
#[put("/notes/{id}/answer")]
pub(super) async fn answer_note(
    state: Data<State>,
    who: Who,
    id: Path<NoteId>,
    input: Valid<NewAnswer>,
) -> Answer<Json<GivenAnswer>> {
    let words = input.0.words.trim().to_owned();
    let now = state.clock.now();
    let answer = notes::Answer {
        kind: input.0.kind,
        words,
        at: now,
    };
    let given = state
        .db
        .scoped(&who.0, async |conn| {
            let note = notes::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            let critique = critiques::get(conn, note.critique)
                .await?
                .ok_or_else(Problem::not_found)?;
            let released = critique.released_at.is_some_and(|at| at <= now);
            permit(
                &who.0,
                Action::AnswerNote,
                &Facts::of_critique(
                    who.0.school,
                    note.student,
                    critique.present_mentor_id,
                    critique.mentor_id,
                )
                .released(released),
            )?;
            if answer.kind == AnswerKind::Leaving && answer.words.is_empty() {
                return Err(Problem::invalid(
                    "words",
                    "are missing",
                    "Say why you leave it; your mentor reads it.",
                ));
            }
            notes::answer(conn, who.0.school, &note, &answer).await?;
            Ok(answer)
        })
        .await?;
    Ok(Json(given.into()))
}
