//! What the program tells about itself: logs with a request id, and numbers.

mod logs;
mod metrics;

pub use logs::{LogError, request_id, start_logs};
pub use metrics::{Gauge, Metrics, observe};
