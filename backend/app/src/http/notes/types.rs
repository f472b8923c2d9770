//! Notes as pages see them.

use chrono::{DateTime, Utc};
use domain::ask::Ask;
use domain::parts::PartRef;
use domain::picture::{Region, Span};
use domain::{AnswerKind, ConcernId, CritiqueId, Kind, NoteId, Principle, Urgency};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use validator::Validate;

/// A note.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Note {
    /// Its id.
    pub id: NoteId,
    /// Of which critique.
    pub critique_id: CritiqueId,
    /// Of which concern.
    pub concern_id: ConcernId,
    /// The revision's number.
    pub revision: i32,
    /// What it wants.
    pub kind: Kind,
    /// How much it weighs.
    pub urgency: Urgency,
    /// What it is about.
    pub principles: Vec<Principle>,
    /// Which parts.
    pub parts: Vec<PartRef>,
    /// Which frames.
    pub span: Span,
    /// Where in the picture.
    #[schema(required)]
    pub region: Option<Region>,
    /// The words.
    pub words: String,
    /// A measurable request.
    #[schema(required)]
    pub ask: Option<Ask>,
    /// From 1.
    pub version: i32,
    /// When it was last changed.
    pub updated_at: DateTime<Utc>,
    /// The student's answer.
    #[schema(required)]
    pub answer: Option<GivenAnswer>,
}

/// A student's answer to a note.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(as = Answer)]
pub struct GivenAnswer {
    /// Which.
    pub kind: AnswerKind,
    /// In words.
    pub words: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// An answer to be given.
#[derive(Debug, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewAnswer {
    /// Which.
    pub kind: AnswerKind,
    /// In words; needed to leave something.
    #[validate(length(max = 4000))]
    pub words: String,
}

impl From<store::notes::Answer> for GivenAnswer {
    fn from(answer: store::notes::Answer) -> Self {
        Self {
            kind: answer.kind,
            words: answer.words,
            at: answer.at,
        }
    }
}

impl From<store::notes::Note> for Note {
    fn from(note: store::notes::Note) -> Self {
        Self {
            id: note.id,
            critique_id: note.critique,
            concern_id: note.concern,
            revision: note.number,
            kind: note.content.kind,
            urgency: note.content.urgency,
            principles: note.content.principles,
            parts: note.content.parts,
            span: note.content.span,
            region: note.content.region,
            words: note.content.words,
            ask: note.content.ask,
            version: note.version,
            updated_at: note.updated_at,
            answer: note.answer.map(GivenAnswer::from),
        }
    }
}
