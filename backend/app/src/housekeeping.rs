//! What is done from time to time while the program serves.

use std::io;
use std::path::Path;
use std::time::Duration;

use store::{StoreError, sessions};

use crate::state::State;

const EVERY: Duration = Duration::from_secs(60);
/// Sessions that ran out are worth nothing to anybody; removing them may wait this many rounds.
const ROUNDS_BETWEEN_SESSIONS: u32 = 15;
/// What a killed worker left lies this long; no preparation takes as long.
const SCRATCH_KEPT: Duration = Duration::from_secs(24 * 3_600);

/// Forgets who tried to sign in long ago, removes sessions that have run out and files that nobody will ask for, until it is dropped.
pub async fn keep_house(state: State) {
    for round in 0_u32.. {
        if round.is_multiple_of(ROUNDS_BETWEEN_SESSIONS) {
            end_old_sessions(&state).await;
            let var = &state.config.var;
            // Twice as long, for a file that arrived at the last moment may still wait to be looked at.
            remove_untouched(&var.uploads(), state.config.uploads.expires * 2).await;
            remove_untouched(&var.scratch(), SCRATCH_KEPT).await;
        }
        tokio::time::sleep(EVERY).await;
        state.limits.forget_the_quiet();
    }
}

async fn end_old_sessions(state: &State) {
    let limits = &state.config.sessions;
    let ended = state
        .db
        .door::<_, StoreError, _>(async |conn| {
            sessions::end_old(conn, state.clock.now(), limits.idle, limits.absolute).await
        })
        .await;
    match ended {
        Ok(0) => {}
        Ok(n) => tracing::info!(n, "sessions that had run out were removed"),
        Err(error) => tracing::warn!(
            error = &error as &dyn std::error::Error,
            "old sessions could not be removed"
        ),
    }
}

/// Removes what lies in the folder and was not written to for that long.
async fn remove_untouched(folder: &Path, kept: Duration) {
    match untouched_removed(folder, kept).await {
        Ok(0) => {}
        Ok(n) => tracing::info!(n, folder = %folder.display(), "old files were removed"),
        Err(error) => {
            tracing::warn!(%error, folder = %folder.display(), "old files could not be removed");
        }
    }
}

async fn untouched_removed(folder: &Path, kept: Duration) -> io::Result<usize> {
    let mut removed = 0;
    let mut entries = tokio::fs::read_dir(folder).await?;
    while let Some(entry) = entries.next_entry().await? {
        let about = entry.metadata().await?;
        // A time to come is one of a clock that was set back; then it stays.
        if about.modified()?.elapsed().is_ok_and(|age| age > kept) {
            match about.is_dir() {
                true => tokio::fs::remove_dir_all(entry.path()).await?,
                false => tokio::fs::remove_file(entry.path()).await?,
            }
            removed += 1;
        }
    }
    Ok(removed)
}

#[cfg(test)]
mod tests {
    use std::time::SystemTime;

    use super::*;

    #[tokio::test]
    async fn old_files_go_and_new_ones_stay() {
        let folder = tempfile::tempdir().unwrap();
        let [old, new] = ["old", "new"].map(|name| folder.path().join(name));
        std::fs::write(&new, "n").unwrap();
        let file = std::fs::File::create(&old).unwrap();
        file.set_modified(SystemTime::now() - Duration::from_secs(100))
            .unwrap();
        let removed = untouched_removed(folder.path(), Duration::from_secs(50)).await;
        assert_eq!(removed.unwrap(), 1);
        assert!(new.exists() && !old.exists());
    }
}
