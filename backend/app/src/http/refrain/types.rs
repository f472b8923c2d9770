//! The grid as pages see it.

use chrono::{DateTime, Utc};
use domain::picture::Span;
use domain::{CritiqueId, FootageId, NoteId, Principle, Quota, RevisionId, Standing};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::http::critiques::types::Concern;
use crate::http::enrolments::types::Named;

/// Whose, and which page.
#[derive(Debug, Deserialize, IntoParams)]
pub struct RefrainQuery {
    /// For a mentor: one of their students.
    pub student: Option<Uuid>,
    /// Shots wanted.
    pub limit: Option<i64>,
    /// From the page before.
    pub cursor: Option<String>,
}

/// One shot's grid.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainShot {
    /// The shot.
    pub shot: Named,
    /// The number of its first frame.
    pub first_frame: i32,
    /// The enrolment's quota.
    pub quota: Quota,
    /// The columns.
    pub revisions: Vec<RefrainRevision>,
    /// The rows, in groups.
    pub groups: Vec<RefrainGroup>,
}

/// A column.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainRevision {
    /// Its id.
    pub id: RevisionId,
    /// r1, r2, ...
    pub number: i32,
    /// When it was sent.
    pub sent_at: DateTime<Utc>,
    /// Its critique.
    #[schema(required)]
    pub critique_id: Option<CritiqueId>,
    /// Its footage.
    pub footage_id: FootageId,
    /// Whether the critique is out.
    pub released: bool,
}

/// Rows about one principle, or the praise.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainGroup {
    /// The principle; none: no principle was named.
    #[schema(required)]
    pub principle: Option<Principle>,
    /// Praise.
    pub keep: bool,
    /// The rows.
    pub rows: Vec<RefrainRow>,
}

/// A row.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainRow {
    /// The concern.
    pub concern: Concern,
    /// A cell a column.
    pub cells: Vec<RefrainCell>,
    /// How many revisions it stayed away before it came back.
    #[schema(required)]
    pub came_back_after: Option<i64>,
    /// The revision in which it was cleared, if it is.
    #[schema(required)]
    pub cleared_in: Option<i32>,
}

/// A cell.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainCell {
    /// The revision's number.
    pub revision: i32,
    /// Where the concern stood; none: not noted yet, or no critique is out.
    #[schema(required)]
    pub standing: Option<Standing>,
    /// The frames of the note.
    #[schema(required)]
    pub span: Option<Span>,
    /// The note.
    #[schema(required)]
    pub note_id: Option<NoteId>,
    /// Its words.
    #[schema(required)]
    pub words: Option<String>,
    /// The critique to open.
    #[schema(required)]
    pub critique_id: Option<CritiqueId>,
}
