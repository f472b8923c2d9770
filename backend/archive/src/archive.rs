//! The archive: an index folder held by this process, searched by many, written by one.

use std::path::Path;
use std::sync::{Arc, PoisonError, RwLock};

use tantivy::schema::Value;
use tantivy::{DocAddress, Searcher, TantivyDocument};

use crate::ask::{Asker, Hit, PAGE_LIMIT, Page, Search, SearchError};
use crate::compile::{permission, query, scored_terms};
use crate::cursor::{Cursor, mark_of};
use crate::document::{Change, Document};
use crate::folder::{Folder, FolderError, remove};
use crate::fragments::fragments;
use crate::live::{Live, Unusable, WriteError};
use crate::query::{Clause, parse};
use crate::rank::{Best, Found, Statistics};

/// The index of one database in one folder. One process at a time holds a folder.
pub struct Archive {
    folder: Folder,
    live: RwLock<Option<Arc<Live>>>,
}

impl Archive {
    /// Takes the folder `root` and opens the index in it. `source` names the database the index follows.
    ///
    /// With a reason beside it the archive answers no search until [`Archive::rebuild`] has finished.
    pub fn open(
        root: &Path,
        source: &str,
    ) -> Result<(Arc<Self>, Result<(), Unusable>), FolderError> {
        let folder = Folder::hold(root)?;
        let opened = match folder.current() {
            Some(path) => Live::open(&path, source),
            None => Err(Unusable::Missing),
        };
        folder.sweep().map_err(|source| FolderError::Io {
            path: root.to_owned(),
            source,
        })?;
        let (live, state) = match opened {
            Ok(live) => (Some(Arc::new(live)), Ok(())),
            Err(why) => (None, Err(why)),
        };
        let archive = Self {
            folder,
            live: RwLock::new(live),
        };
        Ok((Arc::new(archive), state))
    }

    /// The feed position the index has reached; none while there is no index.
    pub fn position(&self) -> Option<u64> {
        self.live().map(|live| live.position())
    }

    /// The database the index was made from; none while there is no index.
    pub fn source(&self) -> Option<String> {
        self.live().map(|live| live.source.clone())
    }

    /// How many documents can be found by somebody; none while there is no index.
    pub fn documents(&self) -> Option<u64> {
        self.live().map(|live| live.searcher().num_docs())
    }

    /// Whether somebody asked for a rebuild by [`crate::want_rebuild`].
    pub fn rebuild_wanted(&self) -> bool {
        self.folder.rebuild_wanted()
    }

    /// Writes `changes` and the feed position they lead to, all or nothing. They can be found when this
    /// returns. Applying the same changes again changes nothing.
    pub fn apply(&self, changes: &[Change], position: u64) -> Result<(), WriteError> {
        self.live()
            .ok_or(WriteError::NotReady)?
            .apply(changes, position)
    }

    /// Starts a new index of the database `source` beside the one in use, which goes on answering.
    pub fn rebuild(self: &Arc<Self>, source: &str) -> Result<Rebuild, WriteError> {
        let path = self.folder.fresh()?;
        match Live::create(&path, source) {
            Ok(live) => Ok(Rebuild {
                archive: Arc::clone(self),
                source: source.to_owned(),
                next: Some(live),
            }),
            Err(error) => {
                remove(&path);
                Err(error)
            }
        }
    }

    /// Searches. See [`crate::query`] for the language and [`Asker`] for what can be found.
    pub fn search(&self, asker: &Asker, search: &Search<'_>) -> Result<Page, SearchError> {
        let live = self.live().ok_or(SearchError::NotReady)?;
        let clauses = parse(search.text)?;
        let mark = mark_of(asker, &clauses, search.filters);
        let cursor = match search.cursor {
            Some(text) => Some(Cursor::read(text, mark).ok_or(SearchError::Cursor)?),
            None => None,
        };
        let searcher = live.searcher();
        let permitted = || permission(&live.fields, asker, search.now);
        let terms = scored_terms(&live.fields, &clauses);
        let statistics = match &cursor {
            Some(cursor) => cursor.statistics(terms).ok_or(SearchError::Cursor)?,
            None => Statistics::count(&searcher, permitted().as_ref(), terms)?,
        };
        let limit = search.limit.clamp(1, PAGE_LIMIT);
        let best = Best {
            limit: limit + 1,
            after: cursor.map(|cursor| cursor.key()),
        };
        let query = query(permitted(), &live.fields, &clauses, search.filters);
        let found = searcher.search_with_statistics_provider(query.as_ref(), &best, &statistics)?;
        let next = (found.best.len() > limit)
            .then(|| Cursor::new(mark, &statistics, &found.best[limit - 1].0));
        page(&searcher, &live, found, limit, &clauses, next)
    }

    fn live(&self) -> Option<Arc<Live>> {
        self.live
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    fn replace(&self, next: Live) -> Option<Arc<Live>> {
        let mut live = self.live.write().unwrap_or_else(PoisonError::into_inner);
        live.replace(Arc::new(next))
    }
}

fn page(
    searcher: &Searcher,
    live: &Live,
    found: Found,
    limit: usize,
    clauses: &[Clause],
    next: Option<Cursor>,
) -> Result<Page, SearchError> {
    let mut hits = Vec::with_capacity(limit);
    for (_, address) in found.best.into_iter().take(limit) {
        let document = stored(searcher, live, address)?;
        let fragments = fragments(&document.words, clauses);
        hits.push(Hit {
            document,
            fragments,
        });
    }
    Ok(Page {
        hits,
        next_cursor: next.map(|cursor| cursor.write()).transpose()?,
        total: found.total,
    })
}

fn stored(searcher: &Searcher, live: &Live, address: DocAddress) -> Result<Document, SearchError> {
    let row: TantivyDocument = searcher.doc(address)?;
    let source = row.get_first(live.fields.source);
    let bytes = source
        .and_then(|value| value.as_bytes())
        .unwrap_or_default();
    Ok(serde_json::from_slice(bytes)?)
}

/// A new index being filled. Dropped before [`Rebuild::finish`] it leaves nothing behind.
pub struct Rebuild {
    archive: Arc<Archive>,
    source: String,
    next: Option<Live>,
}

impl Rebuild {
    /// Adds the documents of `changes`; one with the key of an earlier one replaces it.
    pub fn add(&mut self, changes: &[Change]) -> Result<(), WriteError> {
        self.next
            .as_ref()
            .ok_or(WriteError::NotReady)?
            .prepare(changes)
    }

    /// Puts the new index in the place of the old one, at this feed position.
    pub fn finish(mut self, position: u64) -> Result<(), WriteError> {
        let next = self.next.take().ok_or(WriteError::NotReady)?;
        let path = next.path.clone();
        let finished = self.put_in_place(next, position);
        if finished.is_err() && self.archive.folder.current().as_ref() != Some(&path) {
            remove(&path);
        }
        finished
    }

    fn put_in_place(&self, next: Live, position: u64) -> Result<(), WriteError> {
        let path = next.path.clone();
        next.apply(&[], position)?;
        next.close()?;
        let opened = Live::open(&path, &self.source)?;
        self.archive.folder.set_current(&path)?;
        if let Some(old) = self.archive.replace(opened) {
            remove(&old.path);
        }
        Ok(self.archive.folder.rebuild_done()?)
    }
}

impl Drop for Rebuild {
    fn drop(&mut self) {
        if let Some(next) = self.next.take() {
            let path = next.path.clone();
            drop(next);
            remove(&path);
        }
    }
}
