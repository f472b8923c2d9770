//! Hands a mail of the outbox to the post: an SMTP server, or a folder of `.eml` files.

use std::path::Path;
use std::time::Duration;

use domain::MailId;
use lettre::address::Envelope;
use lettre::transport::smtp::PoolConfig;
use lettre::{Address, AsyncSmtpTransport, AsyncTransport, Tokio1Executor, message::Mailbox};
use store::jobs::Claimed;
use store::{StoreError, jobs, outbox};
use uuid::Uuid;

use super::{JobError, Lease};
use crate::config::{MailConfig, MailWay};
use crate::state::State;

/// Connections to the mail server that are kept open at most.
const CONNECTIONS: u32 = 4;

/// Where mails go.
#[derive(Clone)]
pub enum Post {
    /// Into a folder, a file each.
    Folder(std::path::PathBuf),
    /// To a server, over connections that are kept.
    Smtp(AsyncSmtpTransport<Tokio1Executor>),
}

/// Why mail cannot be sent at all.
#[derive(Debug, thiserror::Error)]
#[error("REFRAIN_SMTP_URL cannot be used: {0}")]
pub struct PostError(#[from] lettre::transport::smtp::Error);

impl Post {
    /// As configured; connects on first use.
    ///
    /// # Errors
    /// If the server's address makes no sense.
    pub fn new(config: &MailConfig) -> Result<Self, PostError> {
        Ok(match &config.way {
            MailWay::Folder(folder) => Self::Folder(folder.clone()),
            MailWay::Smtp(url) => Self::Smtp(
                AsyncSmtpTransport::<Tokio1Executor>::from_url(url.reveal())?
                    .timeout(Some(config.timeout))
                    .pool_config(PoolConfig::new().max_size(CONNECTIONS))
                    .build(),
            ),
        })
    }
}

/// Why a mail was not handed over.
#[derive(Debug, PartialEq, Eq)]
enum NotSent {
    /// It may work later.
    Later(String),
    /// The server will never take it.
    Never(String),
}

/// Sends the mail, once: what was sent, or given up, is not sent again. If the program dies between sending and noting it, the same
/// mail goes out once more under the same Message-ID, by which the receiving side knows it.
///
/// # Errors
/// If it could not be sent.
pub(super) async fn run(
    state: &State,
    claimed: &Claimed,
    lease: &Lease,
    id: MailId,
) -> Result<(), JobError> {
    let waiting = state
        .db
        .scoped::<_, StoreError, _>(&claimed.actor, async |conn| outbox::waiting(conn, id).await)
        .await?;
    let outcome = match waiting {
        None => Ok(()),
        Some(mail) => tokio::select! {
            outcome = send(state, id, &mail) => outcome,
            () = lease.lost() => return Err(JobError::Gone),
        },
    };
    let outcome = match outcome {
        Err(NotSent::Later(words)) if claimed.attempt < claimed.max_attempts => {
            return Err(JobError::Again(words));
        }
        outcome => outcome,
    };
    state
        .db
        .scoped(&claimed.actor, async |conn| {
            match &outcome {
                Ok(()) => outbox::set_sent(conn, id, state.clock.now()).await?,
                Err(NotSent::Later(words) | NotSent::Never(words)) => {
                    tracing::error!(mail = %id, %words, "a mail is given up");
                    outbox::set_dead(conn, id, words).await?;
                }
            }
            match jobs::finish(conn, claimed).await? {
                true => Ok(()),
                false => Err(JobError::Gone),
            }
        })
        .await
}

async fn send(state: &State, id: MailId, mail: &outbox::Waiting) -> Result<(), NotSent> {
    let limit = state.config.mail.timeout;
    let sending = async {
        match &state.post {
            Post::Folder(folder) => write_file(folder, id, &mail.body).await,
            Post::Smtp(server) => {
                let envelope = envelope(&state.config.mail.from, &mail.recipient)?;
                judge(server.send_raw(&envelope, &mail.body).await)
            }
        }
    };
    match tokio::time::timeout(limit + Duration::from_secs(1), sending).await {
        Ok(outcome) => outcome,
        Err(_) => Err(NotSent::Later("the mail server took too long".into())),
    }
}

fn envelope(from: &str, to: &str) -> Result<Envelope, NotSent> {
    let never = |what: &str| NotSent::Never(format!("\"{what}\" is not a mail address"));
    let from: Mailbox = from.parse().map_err(|_| never(from))?;
    let to: Address = to.parse().map_err(|_| never(to))?;
    Envelope::new(Some(from.email), vec![to]).map_err(|error| NotSent::Never(error.to_string()))
}

/// A server's 5xx is its last word (RFC 5321, 4.2.1); anything else may pass.
fn judge<T>(outcome: Result<T, lettre::transport::smtp::Error>) -> Result<(), NotSent> {
    match outcome {
        Ok(_) => Ok(()),
        Err(error) if error.is_permanent() => Err(NotSent::Never(error.to_string())),
        Err(error) => Err(NotSent::Later(error.to_string())),
    }
}

/// Whole or not at all: written beside, then put in its place.
async fn write_file(folder: &Path, id: MailId, bytes: &[u8]) -> Result<(), NotSent> {
    let written = async {
        tokio::fs::create_dir_all(folder).await?;
        let beside = folder.join(format!(".{id}.{}", Uuid::new_v4().simple()));
        tokio::fs::write(&beside, bytes).await?;
        tokio::fs::rename(&beside, folder.join(format!("{id}.eml"))).await
    };
    written.await.map_err(|error: std::io::Error| {
        NotSent::Later(format!(
            "the mail could not be written into {}: {error}",
            folder.display()
        ))
    })
}
