//! The place where a page ended, carried by the client.
//!
//! A cursor names the last hit by its key (score, time, id) and brings along the statistics its score
//! was computed with. The next page is scored with the same statistics, so a document has the same key
//! on every page, and notes written in between neither repeat nor hide a hit. The statistics count only
//! what the asker may see: a cursor tells nobody about another person's notes.

use std::hash::{DefaultHasher, Hash, Hasher};

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::ask::{Asker, Filters};
use crate::query::Clause;
use crate::rank::{Key, Statistics};

/// Longest cursor read, in bytes; those made are shorter by far.
const CURSOR_BYTES: usize = 4_096;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Cursor {
    search: u64,
    documents: u64,
    words: u64,
    holding: Vec<u64>,
    score: u32,
    at: i64,
    id: Uuid,
    sort: u64,
}

impl Cursor {
    pub(crate) fn new(search: u64, statistics: &Statistics, key: &Key) -> Self {
        Self {
            search,
            documents: statistics.documents,
            words: statistics.words,
            holding: statistics.holding.iter().map(|(_, count)| *count).collect(),
            score: key.score,
            at: key.at,
            id: Uuid::from_u128(key.id.0.0),
            sort: key.id.0.1,
        }
    }

    pub(crate) fn key(&self) -> Key {
        Key::new(self.score, self.at, self.id.as_u128(), self.sort)
    }

    /// The statistics of the first page; none if the numbers cannot be those of `terms`.
    pub(crate) fn statistics(&self, terms: Vec<tantivy::Term>) -> Option<Statistics> {
        let sound = self.holding.len() == terms.len()
            && self.holding.iter().all(|count| *count <= self.documents)
            && self.documents <= u64::from(u32::MAX);
        sound.then(|| Statistics {
            documents: self.documents,
            words: self.words,
            holding: terms
                .into_iter()
                .zip(self.holding.iter().copied())
                .collect(),
        })
    }

    pub(crate) fn write(&self) -> Result<String, serde_json::Error> {
        Ok(URL_SAFE_NO_PAD.encode(serde_json::to_vec(self)?))
    }

    /// Reads a cursor of the search with this mark.
    pub(crate) fn read(text: &str, search: u64) -> Option<Self> {
        if text.len() > CURSOR_BYTES {
            return None;
        }
        let bytes = URL_SAFE_NO_PAD.decode(text).ok()?;
        let cursor: Self = serde_json::from_slice(&bytes).ok()?;
        (cursor.search == search).then_some(cursor)
    }
}

/// A number that differs between searches, so that a cursor is not taken to another one.
pub(crate) fn mark_of(asker: &Asker, clauses: &[Clause], filters: &Filters) -> u64 {
    let mut hasher = DefaultHasher::new();
    (asker.school, asker.person, clauses, filters).hash(&mut hasher);
    hasher.finish()
}
