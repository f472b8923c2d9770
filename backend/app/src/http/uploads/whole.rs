//! Who may write to an upload's file, and what happens once it is whole.

use std::fs::TryLockError;
use std::io;
use std::time::Duration;

use domain::jobs::Payload;
use domain::{Actor, UploadId, UploadState};
use store::uploads::{self, Upload};
use tokio::fs::{File, OpenOptions};
use tokio::time::{Instant, sleep};

use super::protocol::file_of;
use crate::http::problem::{Answer, Problem};
use crate::state::State;

/// Time between two tries to get hold of a file.
const TRY_EVERY: Duration = Duration::from_millis(50);

/// The upload's file, held by this request alone until it is closed; the hold ends with the process, whatever ends that. None if another
/// request holds it for longer than `patience`.
///
/// # Errors
/// If the file is not there or cannot be locked.
pub async fn hold(state: &State, id: UploadId, patience: Duration) -> io::Result<Option<File>> {
    let mut options = OpenOptions::new();
    let file = options.write(true).open(file_of(state, id)).await?;
    let file = file.into_std().await;
    let begun = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(Some(File::from_std(file))),
            Err(TryLockError::Error(error)) => return Err(error),
            Err(TryLockError::WouldBlock) if begun.elapsed() >= patience => return Ok(None),
            Err(TryLockError::WouldBlock) => sleep(TRY_EVERY).await,
        }
    }
}

/// Its last byte has arrived: makes that outlast a power cut, then has the file looked at.
///
/// # Errors
/// If the disk or the database refuses; asking for the upload again tries again.
pub async fn arrived(state: &State, actor: &Actor, id: UploadId, file: &File) -> Answer<()> {
    file.sync_all().await.map_err(|e| Problem::internal(&e))?;
    let now = state.clock.now();
    let probe = Payload::Probe { upload: id };
    state
        .db
        .scoped::<_, Problem, _>(actor, async |conn| {
            if uploads::arrived(conn, id).await? {
                store::jobs::enqueue(conn, actor.school, actor.person, &probe, now).await?;
            }
            Ok(())
        })
        .await
}

/// The upload as it stands. One whose last byte arrived just before the program was killed is whole although nobody said so; it is
/// noticed here, for its client has nothing left to send.
///
/// # Errors
/// Not found, unless it is the asker's.
pub async fn find(state: &State, actor: &Actor, id: UploadId) -> Answer<Upload> {
    let upload = read(state, actor, id).await?;
    let is_open = upload.state == UploadState::Receiving && upload.expires_at > state.clock.now();
    let length = tokio::fs::metadata(file_of(state, id))
        .await
        .map(|m| m.len());
    let is_whole = length.is_ok_and(|n| i64::try_from(n).is_ok_and(|n| n == upload.length));
    if !(is_open && is_whole) {
        return Ok(upload);
    }
    match hold(state, id, Duration::ZERO).await {
        Ok(Some(file)) => {
            arrived(state, actor, id, &file).await?;
            read(state, actor, id).await
        }
        // Its writer is about to say so, or it has been taken in already.
        Ok(None) | Err(_) => Ok(upload),
    }
}

async fn read(state: &State, actor: &Actor, id: UploadId) -> Answer<Upload> {
    state
        .db
        .scoped::<_, Problem, _>(actor, async |conn| Ok(uploads::get(conn, id).await?))
        .await?
        .ok_or_else(Problem::not_found)
}
