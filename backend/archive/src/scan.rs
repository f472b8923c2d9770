//! The archive without an index: reads every document. It says what a search must find, for the
//! property test and for the benchmark, and shares with the index only the cutting of words.

use chrono::{DateTime, Utc};
use domain::Side;
use domain::parts::{PartRef, ancestors};

use crate::ask::{Asker, Filters};
use crate::document::Document;
use crate::query::{Clause, TextError, parse};
use crate::words::{Word, words};

/// The documents the search finds, in the order they were given.
pub fn scan<'a>(
    documents: &'a [Document],
    asker: &Asker,
    text: &str,
    filters: &Filters,
    now: DateTime<Utc>,
) -> Result<Vec<&'a Document>, TextError> {
    let clauses = parse(text)?;
    Ok(documents
        .iter()
        .filter(|document| asker.may_see(document, now))
        .filter(|document| passes(filters, document))
        .filter(|document| answers(&clauses, document))
        .collect())
}

fn answers(clauses: &[Clause], document: &Document) -> bool {
    let held: Vec<Word> = words(&document.words).collect();
    clauses
        .iter()
        .all(|clause| !clause.places(&held).is_empty())
}

fn passes(filters: &Filters, document: &Document) -> bool {
    let of_part = |wanted: &String| {
        document
            .parts
            .iter()
            .any(|part| is_part(part, wanted, filters.side))
    };
    filters
        .principle
        .is_none_or(|principle| document.principles.contains(&principle))
        && filters.part.as_ref().is_none_or(of_part)
        && filters.kind.is_none_or(|kind| document.kind == Some(kind))
        && filters
            .student
            .is_none_or(|student| document.student.id == student)
        && filters.shot.is_none_or(|shot| document.shot.id == shot)
        && filters.from.is_none_or(|from| from <= document.at)
        && filters.to.is_none_or(|to| document.at < to)
}

fn is_part(part: &PartRef, wanted: &str, side: Option<Side>) -> bool {
    let named = ancestors(&part.part).any(|node| node == wanted);
    let sided = side.is_none_or(|side| part.side == Some(side) || part.side == Some(Side::Both));
    named && sided
}
