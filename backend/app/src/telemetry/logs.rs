//! Structured logs.

use std::io::IsTerminal;

use actix_web::{HttpMessage, HttpRequest};
use tracing_actix_web::RequestId;
use tracing_subscriber::EnvFilter;

use crate::config::{LogConfig, LogFormat};

/// Logs cannot be started.
#[derive(Debug, thiserror::Error)]
pub enum LogError {
    /// The filter is not one.
    #[error("REFRAIN_LOG: {0}")]
    Filter(#[from] tracing_subscriber::filter::ParseError),
    /// They were started before.
    #[error("logs: {0}")]
    Twice(#[from] Box<dyn std::error::Error + Send + Sync>),
}

/// Sends what happens from now on to standard error: a line of words or a JSON object per event. Every event
/// within a request carries its id.
///
/// # Errors
/// If the filter cannot be read, or logs were started before.
pub fn start_logs(config: &LogConfig) -> Result<(), LogError> {
    let filter: EnvFilter = config.filter.parse()?;
    let builder = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(std::io::stderr().is_terminal())
        .with_writer(std::io::stderr);
    match config.format {
        LogFormat::Text => builder.with_target(true).compact().try_init()?,
        LogFormat::Json => builder.json().flatten_event(true).try_init()?,
    }
    Ok(())
}

/// The id under which the logs speak of a request.
#[must_use]
pub fn request_id(request: &HttpRequest) -> Option<String> {
    request
        .extensions()
        .get::<RequestId>()
        .map(ToString::to_string)
}
