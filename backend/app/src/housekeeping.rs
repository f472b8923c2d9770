//! What is done from time to time while the program serves.

use std::time::Duration;

use store::{StoreError, sessions};

use crate::state::State;

const EVERY: Duration = Duration::from_secs(60);
/// Sessions that ran out are worth nothing to anybody; removing them may wait this many rounds.
const ROUNDS_BETWEEN_SESSIONS: u32 = 15;

/// Forgets who tried to sign in long ago and removes sessions that have run out, until it is dropped.
pub async fn keep_house(state: State) {
    for round in 0_u32.. {
        if round.is_multiple_of(ROUNDS_BETWEEN_SESSIONS) {
            end_old_sessions(&state).await;
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
