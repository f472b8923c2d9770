//! Holding on to a job while it is worked on.

use std::time::Duration;

use store::jobs::{self, Claimed};
use tokio::sync::watch;
use tokio::task::JoinHandle;

use crate::state::State;

/// The longest time between two renewals, and so until a worker hears that its job was cancelled.
const RENEW_AT_LEAST_EVERY: Duration = Duration::from_secs(2);

/// Renews the claim until dropped; tells when it is gone.
pub struct Lease {
    gone: watch::Receiver<bool>,
    renewing: JoinHandle<()>,
}

impl Lease {
    /// Renews `claimed` three times per lease, or more often.
    pub(super) fn keep(state: State, claimed: Claimed, lease_ms: i32) -> Lease {
        let (tell, gone) = watch::channel(false);
        let every = Duration::from_millis(u64::from(lease_ms.unsigned_abs()) / 3)
            .clamp(Duration::from_millis(50), RENEW_AT_LEAST_EVERY);
        let renewing = actix_web::rt::spawn(async move {
            loop {
                tokio::time::sleep(every).await;
                let kept = state
                    .db
                    .scoped(&claimed.actor, async |conn| {
                        jobs::renew(conn, &claimed, lease_ms).await
                    })
                    .await;
                match kept {
                    Ok(true) => {}
                    Ok(false) => {
                        tell.send_replace(true);
                        return;
                    }
                    Err(error) => tracing::warn!(
                        error = &error as &dyn std::error::Error,
                        job = claimed.id,
                        "a lease could not be renewed"
                    ),
                }
            }
        });
        Lease { gone, renewing }
    }

    /// Resolves when the job was cancelled or taken by another worker: stop, and undo nothing of theirs.
    pub async fn lost(&self) {
        let mut gone = self.gone.clone();
        // An error means that the renewing task has ended; then the lease is being dropped.
        if gone.wait_for(|gone| *gone).await.is_err() {
            std::future::pending::<()>().await;
        }
    }
}

impl Drop for Lease {
    fn drop(&mut self) {
        self.renewing.abort();
    }
}
