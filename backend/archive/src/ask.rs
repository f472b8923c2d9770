//! What is asked of the archive, by whom, and what comes back.

use chrono::{DateTime, Utc};
use domain::{EnrolmentId, Kind, PersonId, Principle, SchoolId, ShotId, Side};

use crate::document::Document;
use crate::fragments::Piece;
use crate::query::TextError;

/// Most hits of one page.
pub const PAGE_LIMIT: usize = 100;

/// Who asks. What they may see is part of the query: of their own shots, and of the enrolments they mentor
/// now, the critiques that are visible and those they write themselves; of any other enrolment the visible
/// ones they once wrote. The office knows every shot but no critique, save those its people write themselves
/// as mentors. Nobody finds anything of another school.
///
/// A critique is visible once its `visible_from` is not after the time of the search.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asker {
    /// Their school.
    pub school: SchoolId,
    /// Themselves.
    pub person: PersonId,
    /// Whether they are a student.
    pub as_student: bool,
    /// As a mentor: the enrolments they mentor now.
    pub as_mentor: Option<Vec<EnrolmentId>>,
    /// Whether they belong to the office.
    pub as_office: bool,
}

impl Asker {
    /// The rule above for one document.
    pub fn may_see(&self, document: &Document, now: DateTime<Utc>) -> bool {
        let mentors = |enrolments: &Vec<EnrolmentId>| enrolments.contains(&document.enrolment);
        let is_near = self.as_student && document.student.id == self.person
            || self.as_mentor.as_ref().is_some_and(mentors);
        let is_visible = document.visible_from.is_some_and(|from| from <= now);
        let is_own = document.critic == self.person && (is_near || is_visible || self.as_office);
        document.school == self.school && (is_near && is_visible || is_own)
    }
}

/// Conditions beside the words. All that are given must hold.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash)]
pub struct Filters {
    /// One of the note's principles.
    pub principle: Option<Principle>,
    /// One of its parts, or a node above one of them.
    pub part: Option<String>,
    /// Side of that part; a part on both sides is found by either. Means nothing without `part`.
    pub side: Option<Side>,
    /// Its kind.
    pub kind: Option<Kind>,
    /// The student it is about.
    pub student: Option<PersonId>,
    /// The shot it is about.
    pub shot: Option<ShotId>,
    /// Written at this time or later.
    pub from: Option<DateTime<Utc>>,
    /// Written before this time.
    pub to: Option<DateTime<Utc>>,
}

/// One search.
#[derive(Debug, Clone)]
pub struct Search<'a> {
    /// Words in the language of [`crate::query`].
    pub text: &'a str,
    /// Conditions beside the words.
    pub filters: &'a Filters,
    /// `next_cursor` of the page before, of the same search by the same person.
    pub cursor: Option<&'a str>,
    /// Hits wanted, at most [`PAGE_LIMIT`].
    pub limit: usize,
    /// The time that decides what has become visible.
    pub now: DateTime<Utc>,
}

/// One document found.
#[derive(Debug, Clone, PartialEq)]
pub struct Hit {
    /// The document.
    pub document: Document,
    /// Its words around the ones looked for.
    pub fragments: Vec<Piece>,
}

/// A page of hits: best first, ties by time, newest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// The hits.
    pub hits: Vec<Hit>,
    /// Asks for what follows; none on the last page.
    pub next_cursor: Option<String>,
    /// How many documents match on all pages together.
    pub total: usize,
}

/// Why a search has no answer.
#[derive(Debug, thiserror::Error)]
pub enum SearchError {
    /// The text is past a limit.
    #[error(transparent)]
    Text(#[from] TextError),
    /// The cursor is not one of this search.
    #[error("the cursor belongs to another search")]
    Cursor,
    /// There is no index yet: it is being rebuilt.
    #[error("the index is being rebuilt")]
    NotReady,
    /// The index failed; it should be rebuilt.
    #[error("the index cannot be read")]
    Index(#[from] tantivy::TantivyError),
    /// A stored document cannot be read; the index should be rebuilt.
    #[error("a stored document cannot be read")]
    Stored(#[from] serde_json::Error),
}
