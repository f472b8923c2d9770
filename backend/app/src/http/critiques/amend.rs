use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use domain::{CritiqueId, ProblemCode};
use store::{amendments, notes};
use uuid::Uuid;

use super::draft::held;
use super::types::{Amendment, NewAmendment};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Amendments a critique may have.
const MOST: usize = 200;

/// Adds to a released critique, with its own date.
#[utoipa::path(tag = "critiques", request_body = NewAmendment, responses((status = 201, body = Amendment)))]
#[post("/critiques/{id}/amendments")]
pub(super) async fn amend_critique(
    state: Data<State>,
    who: Who,
    id: Path<CritiqueId>,
    input: Valid<NewAmendment>,
) -> Answer {
    let now = state.clock.now();
    let words = input.0.words.trim().to_owned();
    if words.is_empty() {
        return Err(Problem::invalid(
            "words",
            "are missing",
            "Say what you add.",
        ));
    }
    let added = state
        .db
        .scoped(&who.0, async |conn| {
            let critique = held(conn, &who.0, *id, now).await?;
            if critique.released_at.is_none_or(|at| at > now) {
                return Err(Problem::new(ProblemCode::NotReleased)
                    .detail("It is not released yet: change it as it is."));
            }
            if amendments::of(conn, *id).await?.len() >= MOST {
                return Err(Problem::new(ProblemCode::TooLarge)
                    .detail(format!("A critique may have {MOST} amendments.")));
            }
            if let Some(note) = input.0.note_id {
                notes::get(conn, note)
                    .await?
                    .filter(|note| note.critique == *id)
                    .ok_or_else(|| {
                        Problem::invalid("note_id", "is no note of this critique", "")
                    })?;
            }
            let amendment_id = Uuid::now_v7().into();
            amendments::add(
                conn,
                who.0.school,
                *id,
                who.0.person,
                amendment_id,
                input.0.note_id,
                &words,
                now,
            )
            .await?;
            let all = amendments::of(conn, *id).await?;
            all.into_iter()
                .find(|row| row.id == amendment_id)
                .ok_or_else(Problem::not_found)
        })
        .await?;
    Ok(HttpResponse::Created().json(Amendment {
        id: added.id,
        note_id: added.note_id,
        words: added.words,
        by: added.by,
        at: added.at,
    }))
}
