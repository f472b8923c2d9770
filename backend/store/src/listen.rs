//! Waiting for notifications, on a connection of its own.

use crate::{StoreError, StoreResult};
use futures_util::future::poll_fn;
use tokio::sync::mpsc;
use tokio_postgres::{AsyncMessage, Client, NoTls};

/// Hears the notifications of one channel. They wake, they carry nothing, and they can be lost with the connection:
/// whoever listens must also look by themselves now and then.
pub struct Listener {
    heard: mpsc::Receiver<()>,
    _client: Client,
}

impl Listener {
    /// Listens to `channel` of the database at `url`.
    pub async fn connect(url: &str, channel: &str) -> StoreResult<Listener> {
        let unreachable = |error: tokio_postgres::Error| StoreError::Unreachable(error.into());
        let (client, mut connection) = tokio_postgres::connect(url, NoTls)
            .await
            .map_err(unreachable)?;
        let (told, heard) = mpsc::channel(1);
        // Ends with the connection, and the connection ends when the client is dropped.
        tokio::spawn(async move {
            while let Some(Ok(message)) = poll_fn(|context| connection.poll_message(context)).await
            {
                let woken = matches!(message, AsyncMessage::Notification(_));
                if woken
                    && matches!(
                        told.try_send(()),
                        Err(mpsc::error::TrySendError::Closed(()))
                    )
                {
                    return;
                }
            }
        });
        client
            .batch_execute(&format!("LISTEN \"{}\"", channel.replace('"', "\"\"")))
            .await
            .map_err(unreachable)?;
        Ok(Listener {
            heard,
            _client: client,
        })
    }

    /// Returns at the next notification, several at once counting as one; false when the connection is lost.
    pub async fn heard(&mut self) -> bool {
        self.heard.recv().await.is_some()
    }
}
