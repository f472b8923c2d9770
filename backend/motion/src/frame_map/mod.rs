//! Which old frame each new frame stands for.

pub mod band;
pub mod chain;
pub mod coarse;
pub(crate) mod distance;
pub(crate) mod evidence;
pub(crate) mod path;
pub mod stretch;
pub mod warping;

use serde::{Deserialize, Serialize};

/// Where one new frame lies on the old timeline.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// The old frame, between two where the new one is; `None` where it has no counterpart.
    pub old: Option<f32>,
    /// The chance that this is right: within 2 frames, or rightly none. 0 to 1.
    pub confidence: f32,
}

impl Place {
    /// A place on the old timeline.
    #[must_use]
    pub fn at(old: f32, confidence: f32) -> Self {
        Self {
            old: Some(old),
            confidence: confidence.clamp(0.0, 1.0),
        }
    }

    /// No counterpart.
    #[must_use]
    pub fn none(confidence: f32) -> Self {
        Self {
            old: None,
            confidence: confidence.clamp(0.0, 1.0),
        }
    }
}

/// The places of all new frames, in order; old frames never go back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FrameMap {
    /// Frames of the old clip.
    pub old_frames: usize,
    /// One for each new frame.
    pub places: Vec<Place>,
}
