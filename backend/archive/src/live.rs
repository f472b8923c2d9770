//! One index folder, opened: reading, writing and what its last commit says.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use serde::{Deserialize, Serialize};
use tantivy::collector::Count;
use tantivy::directory::MmapDirectory;
use tantivy::directory::error::LockError;
use tantivy::indexer::IndexWriterOptions;
use tantivy::query::AllQuery;
use tantivy::{
    Index, IndexReader, IndexSettings, IndexWriter, ReloadPolicy, Searcher, TantivyError,
};

use crate::document::Change;
use crate::linger::once_free;
use crate::rank::Best;
use crate::schema::{Fields, VERSION, schema, set_tokenizers};

/// Memory of the writer before it must write a segment, in bytes; the least the library takes.
const WRITER_BYTES: usize = 15_000_000;

/// Why an index must be rebuilt.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unusable {
    /// There is none.
    #[error("there is no index yet")]
    Missing,
    /// Its files are incomplete or not what was written.
    #[error("the index is damaged: {0}")]
    Damaged(String),
    /// Another version of the program made it.
    #[error("the index is of version {found}, this program makes version {VERSION}")]
    OtherVersion {
        /// The version found.
        found: u32,
    },
    /// It was made from another database.
    #[error("the index belongs to another database")]
    OtherSource,
    /// Somebody asked for it.
    #[error("a rebuild was asked for")]
    Asked,
}

/// Why changes were not written. The index is as before; the same changes can be applied again.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// There is no index: it must be rebuilt first.
    #[error("there is no index to write to")]
    NotReady,
    /// The index cannot be written.
    #[error("the index cannot be written")]
    Index(#[from] TantivyError),
    /// The folder cannot be written.
    #[error("the index folder cannot be written")]
    Io(#[from] std::io::Error),
    /// A document cannot be stored.
    #[error("a document cannot be stored")]
    Document(#[from] serde_json::Error),
    /// An index just built does not open.
    #[error("the new index cannot be used")]
    Unusable(#[from] Unusable),
}

/// What each commit says about itself.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Stamp {
    version: u32,
    source: String,
    position: u64,
}

fn is_taken(error: &TantivyError) -> bool {
    matches!(error, TantivyError::LockFailure(LockError::LockBusy, _))
}

/// An index that can be searched and written.
pub(crate) struct Live {
    pub path: PathBuf,
    pub fields: Fields,
    pub source: String,
    reader: IndexReader,
    writer: Mutex<IndexWriter>,
    position: Mutex<u64>,
}

impl Live {
    /// Makes an empty index in an empty folder; it is on disk from the first commit on.
    pub(crate) fn create(path: &Path, source: &str) -> Result<Self, WriteError> {
        let (schema, _) = schema();
        let directory = MmapDirectory::open(path).map_err(TantivyError::from)?;
        let index = Index::create(directory, schema, IndexSettings::default())?;
        Ok(Self::over(index, path, source, 0)?)
    }

    /// Opens the index in `path`, reading every byte of it once.
    pub(crate) fn open(path: &Path, source: &str) -> Result<Self, Unusable> {
        let opened = catch_unwind(AssertUnwindSafe(|| Self::open_checked(path, source)));
        opened.unwrap_or_else(|_| {
            Err(Unusable::Damaged(
                "the library gave up on its files".to_owned(),
            ))
        })
    }

    fn open_checked(path: &Path, source: &str) -> Result<Self, Unusable> {
        let damaged = |error: TantivyError| Unusable::Damaged(error.to_string());
        let index = Index::open_in_dir(path).map_err(damaged)?;
        let stamp = Self::stamp(&index)?;
        if stamp.version != VERSION || index.schema() != schema().0 {
            return Err(Unusable::OtherVersion {
                found: stamp.version,
            });
        }
        if stamp.source != source {
            return Err(Unusable::OtherSource);
        }
        if let Some(file) = index.validate_checksum().map_err(damaged)?.iter().next() {
            return Err(Unusable::Damaged(format!("checksum of {}", file.display())));
        }
        let live = Self::over(index, path, source, stamp.position).map_err(damaged)?;
        live.check_counts().map_err(damaged)?;
        Ok(live)
    }

    fn stamp(index: &Index) -> Result<Stamp, Unusable> {
        let meta = index
            .load_metas()
            .map_err(|error| Unusable::Damaged(error.to_string()))?;
        let payload = meta.payload.unwrap_or_default();
        serde_json::from_str(&payload)
            .map_err(|error| Unusable::Damaged(format!("last commit: {error}")))
    }

    fn over(
        mut index: Index,
        path: &Path,
        source: &str,
        position: u64,
    ) -> Result<Self, TantivyError> {
        set_tokenizers(&mut index);
        let options = IndexWriterOptions::builder()
            .num_worker_threads(1)
            .num_merge_threads(1)
            .memory_budget_per_thread(WRITER_BYTES)
            .build();
        Ok(Self {
            path: path.to_owned(),
            fields: schema().1,
            source: source.to_owned(),
            reader: index
                .reader_builder()
                .reload_policy(ReloadPolicy::Manual)
                .try_into()?,
            writer: Mutex::new(once_free(
                || index.writer_with_options(options.clone()),
                is_taken,
            )?),
            position: Mutex::new(position),
        })
    }

    /// Reads a column of every document, so that files that contradict each other are noticed here.
    fn check_counts(&self) -> Result<(), TantivyError> {
        let searcher = self.searcher();
        let by_column = searcher
            .search(
                &AllQuery,
                &Best {
                    limit: 1,
                    after: None,
                },
            )?
            .total;
        let by_count = searcher.search(&AllQuery, &Count)?;
        if by_column as u64 != searcher.num_docs() || by_count != by_column {
            return Err(TantivyError::InternalError(
                "documents are missing".to_owned(),
            ));
        }
        Ok(())
    }

    pub(crate) fn searcher(&self) -> Searcher {
        self.reader.searcher()
    }

    pub(crate) fn position(&self) -> u64 {
        *self.position.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Writes `changes` and the position they lead to in one commit, and shows them to new searches.
    pub(crate) fn apply(&self, changes: &[Change], position: u64) -> Result<(), WriteError> {
        let mut writer = self.writer.lock().unwrap_or_else(PoisonError::into_inner);
        if let Err(error) = self.write(&mut writer, changes, position) {
            writer.rollback()?;
            return Err(error);
        }
        *self.position.lock().unwrap_or_else(PoisonError::into_inner) = position;
        Ok(self.reader.reload()?)
    }

    fn write(
        &self,
        writer: &mut IndexWriter,
        changes: &[Change],
        position: u64,
    ) -> Result<(), WriteError> {
        self.stage(writer, changes)?;
        let stamp = Stamp {
            version: VERSION,
            source: self.source.clone(),
            position,
        };
        let mut commit = writer.prepare_commit()?;
        commit.set_payload(&serde_json::to_string(&stamp)?);
        commit.commit()?;
        Ok(())
    }

    fn stage(&self, writer: &IndexWriter, changes: &[Change]) -> Result<(), WriteError> {
        for change in changes {
            writer.delete_term(self.fields.key_term(change.key()));
            if let Change::Put(document) = change {
                writer.add_document(self.fields.document(document)?)?;
            }
        }
        Ok(())
    }

    /// Hands `changes` to the writer; the next [`Live::apply`] commits them.
    pub(crate) fn prepare(&self, changes: &[Change]) -> Result<(), WriteError> {
        let writer = self.writer.lock().unwrap_or_else(PoisonError::into_inner);
        self.stage(&writer, changes)
    }

    /// Lets the merges under way come to an end and gives the writer back.
    pub(crate) fn close(self) -> Result<(), WriteError> {
        let writer = self
            .writer
            .into_inner()
            .unwrap_or_else(PoisonError::into_inner);
        Ok(writer.wait_merging_threads()?)
    }
}
