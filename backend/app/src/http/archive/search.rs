//! `GET /archive`: notes, answers and amendments by their words.

use actix_web::get;
use actix_web::web::{self, Data, Json, Query};
use archive::{Page, Piece, Search, SearchError, Sort, want_rebuild};
use chrono::{DateTime, Utc};
use domain::parts::PartRef;
use domain::{
    Action, CritiqueId, Facts, FootageId, Kind, NoteId, PersonId, Principle, ProblemCode, ShotId,
    permit,
};
use store::feed;
use uuid::Uuid;

use super::question::{ArchiveQuery, asker};
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Searches what the asker may see. Best first, ties by time; without words the newest first.
#[utoipa::path(params(ArchiveQuery), responses((status = 200, body = HitPage)), tag = "archive")]
#[get("/archive")]
pub async fn search_archive(
    who: Who,
    query: Query<ArchiveQuery>,
    state: Data<State>,
) -> Answer<Json<HitPage>> {
    let Who(actor) = who;
    permit(
        &actor,
        Action::SearchArchive,
        &Facts::of_school(actor.school),
    )?;
    let reach = state
        .db
        .scoped(&actor, async |conn| feed::reach(conn, &actor).await)
        .await?;
    let filters = query.filters(&reach.time_zone)?;
    let asker = asker(&actor, reach.mentored);
    let archive = state.archive.get().cloned().ok_or_else(not_ready)?;
    let now = state.clock.now();
    let found = web::block(move || {
        archive.search(
            &asker,
            &Search {
                text: query.text(),
                filters: &filters,
                cursor: query.cursor(),
                limit: query.limit(),
                now,
            },
        )
    })
    .await
    .map_err(|error| Problem::internal(&error))?;
    Ok(Json(found.map_err(|error| refused(&state, &error))?.into()))
}

fn not_ready() -> Problem {
    Problem::new(ProblemCode::Unavailable)
        .detail("The archive is being indexed anew. Nothing is lost; try again in a moment.")
        .retry_after(2)
}

fn refused(state: &State, error: &SearchError) -> Problem {
    match error {
        SearchError::Text(why) => {
            Problem::invalid("q", &why.to_string(), "Leave some of the words out.")
        }
        SearchError::Cursor => Problem::invalid(
            "cursor",
            "is not one of this search",
            "Begin again without it.",
        ),
        SearchError::NotReady => not_ready(),
        SearchError::Index(_) | SearchError::Stored(_) => {
            tracing::error!(error = error as &dyn std::error::Error, "the index failed");
            if let Err(error) = want_rebuild(&state.config.var.index()) {
                tracing::error!(%error, "a rebuild of the index could not be asked for");
            }
            not_ready()
        }
    }
}

/// A page of hits.
#[derive(Debug, serde::Serialize, utoipa::ToSchema)]
pub struct HitPage {
    /// The hits.
    items: Vec<Hit>,
    /// For the next page; none: this was the last.
    #[schema(required)]
    next_cursor: Option<String>,
    /// How many there are on all pages.
    total: usize,
}

/// What was found.
#[derive(Debug, Clone, Copy, serde::Serialize, utoipa::ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum HitSort {
    /// A mentor's note.
    Note,
    /// A student's answer to one.
    Answer,
    /// A dated addition to a released critique.
    Amendment,
}

impl From<Sort> for HitSort {
    fn from(sort: Sort) -> Self {
        match sort {
            Sort::Note => Self::Note,
            Sort::Answer => Self::Answer,
            Sort::Amendment => Self::Amendment,
        }
    }
}

/// A note, answer or amendment that was found.
#[derive(Debug, serde::Serialize, utoipa::ToSchema)]
pub struct Hit {
    /// What it is.
    sort: HitSort,
    /// Its id; an answer has its note's.
    id: Uuid,
    /// The note it is or belongs to.
    #[schema(required)]
    note_id: Option<NoteId>,
    /// The critique it belongs to.
    critique_id: CritiqueId,
    /// The shot.
    shot: NamedShot,
    /// Whose shot.
    student: NamedStudent,
    /// Number of the revision.
    revision: i32,
    /// Kind of the note.
    #[schema(required)]
    kind: Option<Kind>,
    /// Principles of the note.
    principles: Vec<Principle>,
    /// Parts of the note.
    parts: Vec<PartRef>,
    /// Frames of the note, both included, from 0.
    #[schema(required)]
    span: Option<Frames>,
    /// Number the first frame is shown by.
    first_frame: i32,
    /// Footage of the revision.
    footage_id: FootageId,
    /// When it was written.
    at: DateTime<Utc>,
    /// The words around those looked for.
    fragments: Vec<Fragment>,
}

/// A shot and its title.
#[derive(Debug, serde::Serialize, utoipa::ToSchema)]
struct NamedShot {
    id: ShotId,
    name: String,
}

/// A student and their name.
#[derive(Debug, serde::Serialize, utoipa::ToSchema)]
struct NamedStudent {
    id: PersonId,
    name: String,
}

/// First and last frame.
#[derive(Debug, serde::Serialize, utoipa::ToSchema)]
struct Frames {
    start: u32,
    end: u32,
}

/// A piece of text, marked if it is what was looked for.
#[derive(Debug, serde::Serialize, utoipa::ToSchema)]
struct Fragment {
    text: String,
    hit: bool,
}

impl From<Page> for HitPage {
    fn from(page: Page) -> Self {
        Self {
            items: page.hits.into_iter().map(Hit::from).collect(),
            next_cursor: page.next_cursor,
            total: page.total,
        }
    }
}

impl From<archive::Hit> for Hit {
    fn from(hit: archive::Hit) -> Self {
        let document = hit.document;
        Self {
            sort: document.key.sort.into(),
            id: document.key.id,
            note_id: document.note,
            critique_id: document.critique,
            shot: NamedShot {
                id: document.shot.id,
                name: document.shot.name,
            },
            student: NamedStudent {
                id: document.student.id,
                name: document.student.name,
            },
            revision: document.revision,
            kind: document.kind,
            principles: document.principles,
            parts: document.parts,
            span: document.span.map(|span| Frames {
                start: span.start,
                end: span.end,
            }),
            first_frame: document.first_frame,
            footage_id: document.footage,
            at: document.at,
            fragments: hit.fragments.into_iter().map(Fragment::from).collect(),
        }
    }
}

impl From<Piece> for Fragment {
    fn from(piece: Piece) -> Self {
        Self {
            text: piece.text,
            hit: piece.hit,
        }
    }
}
