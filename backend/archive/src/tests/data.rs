//! Documents and askers of the tests. All of it is invented.

use chrono::{DateTime, Duration, Utc};
use domain::{Kind, Principle};
use uuid::Uuid;

use crate::{
    Archive, Asker, Change, Document, DocumentKey, Filters, Named, Page, Search, SearchError, Sort,
    Span,
};

pub(super) const SOURCE: &str = "a database";

/// Minutes after the first moment of the tests.
pub(super) fn minute(minutes: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + Duration::days(20_000) + Duration::minutes(minutes)
}

pub(super) fn id<T: From<Uuid>>(n: u128) -> T {
    Uuid::from_u128(n).into()
}

/// A visible note of school 1, enrolment 10, student 100, mentor 200, written in minute `n`.
pub(super) fn note(n: u128, words: &str) -> Document {
    Document {
        key: DocumentKey {
            sort: Sort::Note,
            id: id(n),
        },
        school: id(1),
        enrolment: id(10),
        student: Named {
            id: id(100),
            name: "Ilse Varga".into(),
        },
        critique: id(300),
        critic: id(200),
        visible_from: Some(minute(n as i64)),
        note: Some(id(n)),
        shot: Named {
            id: id(400),
            name: "The lantern".into(),
        },
        first_frame: 101,
        revision: 2,
        footage: id(500),
        kind: Some(Kind::Fix),
        principles: vec![Principle::Spacing],
        parts: Vec::new(),
        span: Some(Span { start: 3, end: 9 }),
        words: words.into(),
        at: minute(n as i64),
    }
}

pub(super) fn put(document: &Document) -> Change {
    Change::Put(Box::new(document.clone()))
}

/// A folder of its own for a test, in memory where the system offers that: none of them is about the disk.
pub(super) fn folder() -> tempfile::TempDir {
    let memory = std::path::Path::new("/dev/shm");
    if memory.is_dir() {
        tempfile::tempdir_in(memory).unwrap()
    } else {
        tempfile::tempdir().unwrap()
    }
}

pub(super) fn puts<'a>(documents: impl IntoIterator<Item = &'a Document>) -> Vec<Change> {
    documents.into_iter().map(put).collect()
}

/// The mentor of [`note`].
pub(super) fn mentor() -> Asker {
    Asker {
        school: id(1),
        person: id(200),
        as_student: false,
        as_mentor: Some(vec![id(10)]),
        as_office: false,
    }
}

pub(super) fn archive(root: &std::path::Path, documents: &[Document]) -> std::sync::Arc<Archive> {
    let (archive, _) = Archive::open(root, SOURCE).unwrap();
    let mut rebuild = archive.rebuild(SOURCE).unwrap();
    rebuild.add(&puts(documents)).unwrap();
    rebuild.finish(1).unwrap();
    archive
}

pub(super) fn search(
    archive: &Archive,
    asker: &Asker,
    text: &str,
    limit: usize,
    cursor: Option<&str>,
) -> Result<Page, SearchError> {
    let search = Search {
        text,
        filters: &Filters::default(),
        cursor,
        limit,
        now: minute(1_000_000),
    };
    archive.search(asker, &search)
}

pub(super) fn ids(page: &Page) -> Vec<u128> {
    page.hits
        .iter()
        .map(|hit| hit.document.key.id.as_u128())
        .collect()
}
