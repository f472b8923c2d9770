//! Work behind the requests: claimed under a lease, done outside any transaction, finished with its effect in one.

mod announce_critique;
pub mod index;
mod lease;
mod prepare;
mod probe;
mod send_mail;

use std::sync::Arc;
use std::time::Duration;

use chrono::TimeDelta;
use domain::jobs::Payload;
use store::StoreError;
use store::jobs::{self, Claimed};
use tokio::sync::watch;
use tokio::task::JoinHandle;

use crate::state::State;
pub use lease::Lease;
pub use send_mail::{Post, PostError};

/// How long a worker with nothing to do waits before it looks again.
const IDLE: Duration = Duration::from_millis(250);

/// Why a job is not done.
#[derive(Debug, thiserror::Error)]
pub enum JobError {
    /// It may work later.
    #[error("{0}")]
    Again(String),
    /// It never will; whoever asked has been told.
    #[error("{0}")]
    Failed(String),
    /// Somebody cancelled it, or another worker has it.
    #[error("the lease is gone")]
    Gone,
}

impl From<StoreError> for JobError {
    fn from(error: StoreError) -> Self {
        let cause = std::error::Error::source(&error)
            .map(|cause| format!(": {cause}"))
            .unwrap_or_default();
        Self::Again(format!("{error}{cause}"))
    }
}

/// Workers that run until stopped.
pub struct Workers {
    stop: Arc<watch::Sender<bool>>,
    running: Vec<JoinHandle<()>>,
}

impl Workers {
    /// Lets the jobs in hand end, and takes no new ones.
    pub async fn stop(self) {
        self.stop.send_replace(true);
        for worker in self.running {
            if let Err(error) = worker.await {
                tracing::error!(%error, "a worker ended badly");
            }
        }
    }
}

/// What a worker takes on: kinds as they are written in the table.
pub type Kinds = &'static [&'static str];

/// Starts workers on this runtime, for each crew as many as it says.
pub fn start(state: &State, crews: &[(usize, Kinds)]) -> Workers {
    let (stop, _) = watch::channel(false);
    let stop = Arc::new(stop);
    let takes = crews
        .iter()
        .flat_map(|(n, kinds)| std::iter::repeat_n(*kinds, *n));
    let running = takes
        .enumerate()
        .map(|(number, kinds)| {
            let name = format!("{}-{number}", std::process::id());
            actix_web::rt::spawn(work_on(state.clone(), name, kinds, stop.subscribe()))
        })
        .collect();
    Workers { stop, running }
}

async fn work_on(state: State, name: String, kinds: Kinds, mut stopped: watch::Receiver<bool>) {
    while !*stopped.borrow() {
        let pause = match next(&state, &name, kinds).await {
            Ok(Some(claimed)) => {
                do_one(&state, claimed).await;
                continue;
            }
            Ok(None) => IDLE,
            Err(error) => {
                tracing::error!(
                    error = &error as &dyn std::error::Error,
                    "no job could be claimed"
                );
                IDLE * 8
            }
        };
        tokio::select! {
            () = tokio::time::sleep(pause) => {}
            changed = stopped.changed() => if changed.is_err() { return },
        }
    }
}

/// Claims the next due job of these kinds, if there is one.
///
/// # Errors
/// If the database does not answer.
async fn next(state: &State, worker: &str, kinds: Kinds) -> Result<Option<Claimed>, StoreError> {
    let lease_ms = lease_ms(state);
    state
        .db
        .door(async |conn| jobs::claim(conn, worker, lease_ms, kinds).await)
        .await
}

fn lease_ms(state: &State) -> i32 {
    i32::try_from(state.config.jobs.lease.as_millis()).unwrap_or(i32::MAX)
}

/// Does a claimed job to its end, whatever that is.
pub async fn do_one(state: &State, claimed: Claimed) {
    let lease = Lease::keep(state.clone(), claimed.clone(), lease_ms(state));
    let outcome =
        match tokio::time::timeout(state.config.jobs.timeout, run(state, &claimed, &lease)).await {
            Ok(outcome) => outcome,
            Err(_) => Err(JobError::Again("it took too long".into())),
        };
    drop(lease);
    let kind = claimed.payload.kind();
    match outcome {
        Ok(()) => tracing::info!(job = claimed.id, kind, "done"),
        Err(JobError::Gone) => {
            tracing::info!(job = claimed.id, kind, "given up: the lease is gone")
        }
        Err(error) => put_down(state, &claimed, error).await,
    }
}

/// One arm a kind.
async fn run(state: &State, claimed: &Claimed, lease: &Lease) -> Result<(), JobError> {
    match &claimed.payload {
        Payload::SendMail { mail } => send_mail::run(state, claimed, lease, *mail).await,
        Payload::Probe { upload } => probe::run(state, claimed, lease, *upload).await,
        Payload::Prepare { footage } => prepare::run(state, claimed, lease, *footage).await,
        Payload::AnnounceCritique { critique } => {
            announce_critique::run(state, claimed, lease, *critique).await
        }
    }
}

async fn put_down(state: &State, claimed: &Claimed, error: JobError) {
    let (words, for_good) = match error {
        JobError::Again(words) => (words, claimed.attempt >= claimed.max_attempts),
        JobError::Failed(words) => (words, true),
        JobError::Gone => return,
    };
    tracing::warn!(job = claimed.id, kind = claimed.payload.kind(), attempt = claimed.attempt, for_good, %words, "not done");
    let again_at = state.clock.now() + backoff(claimed.attempt);
    let kept = state
        .db
        .scoped(&claimed.actor, async |conn| {
            if !for_good {
                jobs::retry(conn, claimed, again_at, &words).await?;
                return Ok(());
            }
            give_up(conn, state, claimed).await?;
            match jobs::fail(conn, claimed, &words).await? {
                true => Ok(()),
                false => Err(JobError::Gone),
            }
        })
        .await;
    if let Err(error) = kept {
        // The lease runs out and another worker takes it.
        tracing::error!(%error, job = claimed.id, "could not be put down");
    }
}

/// Tells whoever waits for it that it is not going to be done.
async fn give_up(conn: &mut store::Conn, state: &State, claimed: &Claimed) -> Result<(), JobError> {
    match &claimed.payload {
        Payload::Probe { upload } => probe::give_up(conn, *upload).await,
        Payload::Prepare { footage } => prepare::give_up(conn, state, claimed, *footage).await,
        Payload::SendMail { .. } | Payload::AnnounceCritique { .. } => Ok(()),
    }
}

/// 2, 4, 8, ... seconds, at most an hour.
fn backoff(attempt: i32) -> TimeDelta {
    TimeDelta::seconds(
        2_i64
            .saturating_pow(u32::try_from(attempt.clamp(1, 20)).unwrap_or(1))
            .min(3_600),
    )
}
