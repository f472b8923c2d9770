//! What the index holds: one document for each note, answer and amendment.

use chrono::{DateTime, Utc};
use domain::parts::PartRef;
use domain::{
    CritiqueId, EnrolmentId, FootageId, Kind, NoteId, PersonId, Principle, SchoolId, ShotId,
};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Which row a document was made from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sort {
    /// A mentor's note.
    Note,
    /// A student's answer to a note.
    Answer,
    /// A dated addition to a released critique.
    Amendment,
}

/// What a document is known by. An answer has the id of its note, so the sort belongs to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct DocumentKey {
    /// Which row.
    pub sort: Sort,
    /// Its id; of an answer the id of the note.
    pub id: Uuid,
}

/// A row another row points to, with the words it is shown by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Named<Id> {
    /// Id of the row.
    pub id: Id,
    /// Its name or title.
    pub name: String,
}

/// Frames from `start` to `end`, both included, counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Span {
    /// First frame.
    pub start: u32,
    /// Last frame.
    pub end: u32,
}

/// A note, answer or amendment, with all a hit shows and all a permission needs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Document {
    /// The row it was made from; the key of the index.
    pub key: DocumentKey,
    /// The school it belongs to.
    pub school: SchoolId,
    /// The enrolment of the shot; a mentor reads by enrolment, so a student moved to another mentor
    /// needs no re-indexing.
    pub enrolment: EnrolmentId,
    /// The student whose shot it is about.
    pub student: Named<PersonId>,
    /// The critique it belongs to; a document is seen when its critique is.
    pub critique: CritiqueId,
    /// The mentor whose critique it is.
    pub critic: PersonId,
    /// When the critique becomes visible to others than the critic; none while it is a draft.
    pub visible_from: Option<DateTime<Utc>>,
    /// The note it is or belongs to; an amendment may stand alone.
    pub note: Option<NoteId>,
    /// The shot.
    pub shot: Named<ShotId>,
    /// Number the shot's first frame is shown by.
    pub first_frame: i32,
    /// Number of the revision.
    pub revision: i32,
    /// Footage of the revision.
    pub footage: FootageId,
    /// Kind of the note.
    pub kind: Option<Kind>,
    /// Principles of the note.
    pub principles: Vec<Principle>,
    /// Parts of the note.
    pub parts: Vec<PartRef>,
    /// Frames of the note.
    pub span: Option<Span>,
    /// The words that are searched.
    pub words: String,
    /// When it was written; kept to the microsecond.
    pub at: DateTime<Utc>,
}

/// One step of the change feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// The row is now as in this document.
    Put(Box<Document>),
    /// The row is gone, or is nothing to search.
    Remove(DocumentKey),
}

impl Change {
    /// The row that changed.
    pub fn key(&self) -> DocumentKey {
        match self {
            Change::Put(document) => document.key,
            Change::Remove(key) => *key,
        }
    }
}
