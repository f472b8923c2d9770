//! The follower: keeps this machine's index at the head of the feed.
//!
//! It hears of a change by a notification and looks by itself every second, for a notification can be lost.
//! The index stores the transaction it has reached in the same commit as the documents, so whatever is killed
//! when, following goes on from there; a line read twice changes nothing. An index that is missing, damaged, of
//! another database or ahead of it, or that holds another number of documents, is rebuilt beside the one in use.

use std::convert::Infallible;
use std::error::Error;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use archive::{
    Archive, Change, Document, DocumentKey, FolderError, Named, Rebuild, Sort, Span, Unusable,
    WriteError, is_rebuild_wanted, want_rebuild,
};
use store::feed::{self, FeedDocument, FeedHead, FeedLine, FeedPlace};
use store::listen::Listener;
use store::{Db, StoreError};
use tokio::task::{JoinError, spawn_blocking};
use tokio::time::{sleep, timeout};

use crate::config::Secret;
use crate::state::State;

/// Lines read at once while following.
const FOLLOW_LINES: i32 = 500;
/// Lines read at once while rebuilding.
const REBUILD_LINES: i32 = 2_000;
/// How often the number of documents is compared before it is left for another day because people are writing.
const COUNT_TRIES: usize = 5;

/// How often the feed is looked at without having been called.
const LOOK: Duration = Duration::from_secs(1);
/// How soon it is looked at again when transactions still running hold back what was written.
const LOOK_AGAIN: Duration = Duration::from_millis(20);
/// How soon a folder that cannot be used is tried again.
const OPEN_AGAIN: Duration = Duration::from_secs(5);
/// How often is looked whether a rebuild that was asked for is done.
const ASKED_LOOK: Duration = Duration::from_millis(100);
/// Longest pause after failures.
const LONGEST_PAUSE: Duration = Duration::from_secs(30);

/// Why the index is not at the head of the feed.
#[derive(Debug, thiserror::Error)]
pub enum FollowError {
    /// The feed cannot be read.
    #[error("the feed cannot be read")]
    Feed(#[from] StoreError),
    /// The index cannot be written.
    #[error("the index cannot be written")]
    Index(#[from] WriteError),
    /// The folder cannot be used.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// A line of the feed makes no sense.
    #[error("a line of the feed makes no sense: {0}")]
    Line(String),
    /// The thread that wrote ended early.
    #[error("writing the index was broken off")]
    BrokenOff(#[from] JoinError),
}

/// Opens this machine's index, hands it to the requests, and keeps it at the head of the feed of the database at
/// `url` for ever. May be dropped at any moment.
pub async fn run(state: State, url: Secret) -> Infallible {
    let root = state.config.var.index();
    let archive = loop {
        match open(&state.db, &root).await {
            Ok(archive) => break archive,
            Err(error) => {
                tracing::error!(error = &error as &dyn Error, "the index cannot be opened")
            }
        }
        sleep(OPEN_AGAIN).await;
    };
    let archive = state.archive.get_or_init(|| archive);
    follow(
        state.db.clone(),
        Arc::clone(archive),
        url.reveal().to_owned(),
    )
    .await
}

async fn open(db: &Db, root: &Path) -> Result<Arc<Archive>, FollowError> {
    let (root, head) = (root.to_owned(), head(db).await?);
    let (archive, state) = spawn_blocking(move || Archive::open(&root, &head.source)).await??;
    if let Err(reason) = state {
        tracing::info!(%reason, "the index has to be rebuilt");
    }
    Ok(archive)
}

/// Rebuilds the index in `root`, or has it rebuilt by the program that holds the folder; returns once it is done.
pub async fn reindex(db: &Db, root: &Path) -> Result<Reindexed, FollowError> {
    let mut is_asked = false;
    loop {
        match open(db, root).await {
            Ok(archive) => {
                rebuild(db, &archive).await?;
                return Ok(Reindexed::Here(archive.documents().unwrap_or(0)));
            }
            Err(FollowError::Folder(FolderError::InUse(_))) if !is_asked => {
                want_rebuild(root).map_err(WriteError::from)?;
                is_asked = true;
            }
            Err(FollowError::Folder(FolderError::InUse(_))) if !is_rebuild_wanted(root) => {
                return Ok(Reindexed::There);
            }
            Err(FollowError::Folder(FolderError::InUse(_))) => sleep(ASKED_LOOK).await,
            Err(error) => return Err(error),
        }
    }
}

/// Who rebuilt the index.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reindexed {
    /// This program; it holds so many documents.
    Here(u64),
    /// The program that is running on this folder.
    There,
}

/// Follows the feed of the database at `url` for ever. May be dropped at any moment.
pub async fn follow(db: Db, archive: Arc<Archive>, url: String) -> Infallible {
    let mut is_checked = false;
    let mut failures = 0;
    let mut listener = None;
    loop {
        if listener.is_none() {
            listener = Listener::connect(&url, "feed").await.ok();
        }
        let pause = match step(&db, &archive, &mut is_checked).await {
            Ok(is_pending) => {
                failures = 0;
                if is_pending { LOOK_AGAIN } else { LOOK }
            }
            Err(error) => {
                failures += 1;
                tracing::error!(
                    error = &error as &dyn Error,
                    failures,
                    "the index is behind"
                );
                LONGEST_PAUSE.min(LOOK * failures)
            }
        };
        let is_calm = failures == 0 && pause == LOOK;
        match &mut listener {
            Some(calls) if is_calm => {
                if let Ok(false) = timeout(pause, calls.heard()).await {
                    listener = None;
                }
            }
            _ => sleep(pause).await,
        }
    }
}

/// Brings the index to the head of the feed; true when more is on its way.
async fn step(db: &Db, archive: &Arc<Archive>, is_checked: &mut bool) -> Result<bool, FollowError> {
    if let Some(reason) = reason_to_rebuild(archive, &head(db).await?) {
        tracing::info!(%reason, "rebuilding the index");
        rebuild(db, archive).await?;
    }
    let is_pending = catch_up(db, archive).await?;
    if !*is_checked && let Some(is_whole) = is_whole(db, archive).await? {
        *is_checked = true;
        if !is_whole {
            tracing::warn!(
                "the index holds another number of documents than the database; rebuilding it"
            );
            rebuild(db, archive).await?;
        }
    }
    Ok(is_pending)
}

/// How far the feed can be read.
pub async fn head(db: &Db) -> Result<FeedHead, StoreError> {
    db.door(async |conn| feed::head(conn).await).await
}

/// Why the index must be rebuilt before it can follow, if it must.
pub fn reason_to_rebuild(archive: &Archive, head: &FeedHead) -> Option<Unusable> {
    match archive.position() {
        _ if archive.rebuild_wanted() => Some(Unusable::Asked),
        None => Some(Unusable::Missing),
        Some(_) if archive.source().as_deref() != Some(&head.source) => Some(Unusable::OtherSource),
        Some(position) if position > unsigned(head.head) => {
            Some(Unusable::Damaged("it is ahead of the database".to_owned()))
        }
        Some(_) => None,
    }
}

/// Makes a new index of all that the database holds now, and puts it in the place of the old one.
pub async fn rebuild(db: &Db, archive: &Arc<Archive>) -> Result<(), FollowError> {
    let head = head(db).await?;
    let (held, source) = (Arc::clone(archive), head.source.clone());
    let mut rebuild = spawn_blocking(move || held.rebuild(&source)).await??;
    let mut place = FeedPlace::start();
    loop {
        let lines = read(db, &place, head.head, REBUILD_LINES).await?;
        let Some(last) = lines.last() else { break };
        place = last.place();
        rebuild = add(rebuild, changes(lines)?).await?;
    }
    Ok(spawn_blocking(move || rebuild.finish(unsigned(head.head))).await??)
}

async fn add(mut rebuild: Rebuild, changes: Vec<Change>) -> Result<Rebuild, FollowError> {
    spawn_blocking(move || {
        rebuild.add(&changes)?;
        Ok(rebuild)
    })
    .await?
}

/// Applies everything up to the head of the feed; true when more is on its way that cannot be read yet.
pub async fn catch_up(db: &Db, archive: &Arc<Archive>) -> Result<bool, FollowError> {
    let head = head(db).await?;
    let mut place = FeedPlace::after(signed(archive.position().ok_or(WriteError::NotReady)?));
    loop {
        let lines = read(db, &place, head.head, FOLLOW_LINES).await?;
        let Some(last) = lines.last() else { break };
        let is_end = lines.len() < FOLLOW_LINES as usize;
        // A transaction may be cut by the end of what was read; the index names only whole ones.
        let reached = if is_end { head.head } else { last.tx - 1 };
        place = last.place();
        apply(archive, changes(lines)?, reached).await?;
        if is_end {
            break;
        }
    }
    Ok(head.pending)
}

async fn apply(
    archive: &Arc<Archive>,
    changes: Vec<Change>,
    reached: i64,
) -> Result<(), FollowError> {
    let archive = Arc::clone(archive);
    let write = move || {
        let position = archive.position().unwrap_or(0).max(unsigned(reached));
        archive.apply(&changes, position)
    };
    Ok(spawn_blocking(write).await??)
}

/// Whether the index holds as many documents as the database; none when people kept writing meanwhile.
pub async fn is_whole(db: &Db, archive: &Arc<Archive>) -> Result<Option<bool>, FollowError> {
    for _ in 0..COUNT_TRIES {
        catch_up(db, archive).await?;
        let position = FeedPlace::after(signed(archive.position().unwrap_or(0)));
        let counted = db
            .door(async |conn| feed::count_documents(conn).await)
            .await?;
        let after = head(db).await?;
        if !after.pending && read(db, &position, after.head, 1).await?.is_empty() {
            return Ok(Some(archive.documents() == Some(unsigned(counted))));
        }
    }
    Ok(None)
}

async fn read(
    db: &Db,
    place: &FeedPlace,
    up_to: i64,
    limit: i32,
) -> Result<Vec<FeedLine>, StoreError> {
    db.door(async |conn| feed::read(conn, place, up_to, limit).await)
        .await
}

fn changes(lines: Vec<FeedLine>) -> Result<Vec<Change>, FollowError> {
    lines.into_iter().map(change).collect()
}

fn change(line: FeedLine) -> Result<Change, FollowError> {
    let sort = match line.sort.as_str() {
        "note" => Sort::Note,
        "answer" => Sort::Answer,
        "amendment" => Sort::Amendment,
        other => return Err(FollowError::Line(format!("a {other}"))),
    };
    let key = DocumentKey { sort, id: line.id };
    Ok(match line.document {
        Some(row) => Change::Put(Box::new(document(key, row)?)),
        None => Change::Remove(key),
    })
}

fn document(key: DocumentKey, row: FeedDocument) -> Result<Document, FollowError> {
    let frame = |n: i32| u32::try_from(n).map_err(|_| FollowError::Line(format!("frame {n}")));
    let span = match row.span {
        Some((start, end)) => Some(Span {
            start: frame(start)?,
            end: frame(end)?,
        }),
        None => None,
    };
    Ok(Document {
        key,
        school: row.school,
        enrolment: row.enrolment,
        student: Named {
            id: row.student,
            name: row.student_name,
        },
        critique: row.critique,
        critic: row.critic,
        visible_from: row.visible_from,
        note: row.note,
        shot: Named {
            id: row.shot,
            name: row.shot_title,
        },
        first_frame: row.first_frame,
        revision: row.revision,
        footage: row.footage,
        kind: row.kind,
        principles: row.principles,
        parts: row.parts,
        span,
        words: row.words,
        at: row.at,
    })
}

fn unsigned(n: i64) -> u64 {
    u64::try_from(n).unwrap_or(0)
}

fn signed(n: u64) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX)
}
