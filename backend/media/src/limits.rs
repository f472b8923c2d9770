//! What one piece of footage may cost.

use std::time::Duration;

/// Bounds on the footage accepted and on the work spent on it. Nothing is ever cut to fit: past a bound the file is
/// refused with the bound named.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limits {
    /// Largest file, in bytes.
    pub bytes: u64,
    /// Longest footage, in seconds of shown time.
    pub seconds: u32,
    /// Most frames shown. One more is still decoded, so that the refusal is certain.
    pub frames: u32,
    /// Most pixels in one stored frame.
    pub pixels: u64,
    /// Longest time a probe may take before it is given up.
    pub probe_wall: Duration,
    /// Longest time a preparation may take before it is given up.
    pub prepare_wall: Duration,
}

/// How far past the limit a length may be that is only rounding, in seconds (Matroska keeps whole milliseconds).
const ROUNDING_SECONDS: f64 = 0.02;

impl Limits {
    pub(crate) fn allow_seconds(&self, seconds: f64) -> bool {
        seconds <= f64::from(self.seconds) + ROUNDING_SECONDS
    }
}

impl Default for Limits {
    /// 2 GiB, 60 s, 3,600 frames, 40 megapixels a frame; one minute to probe, twenty to prepare.
    fn default() -> Self {
        Self {
            bytes: 2 << 30,
            seconds: 60,
            frames: 3_600,
            pixels: 40_000_000,
            probe_wall: Duration::from_secs(60),
            prepare_wall: Duration::from_secs(1_200),
        }
    }
}
