//! The time, as the program sees it.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use chrono::{DateTime, Utc};

/// Where the time comes from.
#[derive(Debug, Clone, Default)]
pub struct Clock(Option<Arc<AtomicI64>>);

/// Moves a clock that does not run by itself.
#[derive(Debug)]
pub struct Hand(Arc<AtomicI64>);

impl Clock {
    /// A clock that only its hand moves.
    #[must_use]
    pub fn by_hand(at: DateTime<Utc>) -> (Self, Hand) {
        let micros = Arc::new(AtomicI64::new(at.timestamp_micros()));
        (Self(Some(Arc::clone(&micros))), Hand(micros))
    }

    /// The time now.
    #[must_use]
    #[expect(
        clippy::disallowed_methods,
        reason = "this is the clock that others ask"
    )]
    pub fn now(&self) -> DateTime<Utc> {
        self.0
            .as_ref()
            .and_then(|micros| DateTime::from_timestamp_micros(micros.load(Ordering::Acquire)))
            .unwrap_or_else(Utc::now)
    }
}

impl Hand {
    /// Moves the clock there.
    pub fn set(&self, at: DateTime<Utc>) {
        self.0.store(at.timestamp_micros(), Ordering::Release);
    }
}
