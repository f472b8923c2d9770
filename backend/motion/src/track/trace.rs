//! What tracing takes and gives.

use serde::{Deserialize, Serialize};

/// A point set by a person: on this frame the part is exactly here.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Click {
    /// Frame, counted from 0.
    pub frame: usize,
    /// Pixels of the shown picture from its left edge; 0 is the middle of the first pixel.
    pub x: f64,
    /// Pixels down.
    pub y: f64,
}

/// A frame of a trace.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TracePoint {
    /// Pixels of the shown picture. Where `lost`, only the curve that joins the seen ends of the gap (or the nearest seen
    /// place): not a finding, and never to be drawn or measured.
    pub x: f64,
    /// Pixels down; see `x`.
    pub y: f64,
    /// How sure the place is, 0 to 1: of places with 0.8, about eight in ten lie within 4 px (at 640 px width). 1 on clicks.
    pub confidence: f64,
    /// The part is hidden here or the place too unsure: a gap.
    pub lost: bool,
}

/// One part followed through all frames of a clip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Trace {
    /// The clicks it goes through, by frame.
    pub clicks: Vec<Click>,
    /// One a frame.
    pub points: Vec<TracePoint>,
}

impl Trace {
    /// The place on a frame, or `None` in a gap and outside the clip.
    #[must_use]
    pub fn seen(&self, frame: usize) -> Option<TracePoint> {
        self.points.get(frame).copied().filter(|p| !p.lost)
    }

    /// The trace made of dots set by hand alone: each is certain, and frames without a dot are gaps. `None` if two dots
    /// share a frame, or one lies at or past `frames`, or a coordinate is not a number.
    #[must_use]
    pub fn by_hand(dots: &[Click], frames: usize) -> Option<Self> {
        let mut clicks = dots.to_vec();
        clicks.sort_by_key(|c| c.frame);
        let good = |c: &Click| c.frame < frames && c.x.is_finite() && c.y.is_finite();
        let apart = clicks.windows(2).all(|w| w[0].frame < w[1].frame);
        if !apart || !clicks.iter().all(good) {
            return None;
        }
        let nearest = |frame: usize| clicks.iter().min_by_key(|c| c.frame.abs_diff(frame));
        let points = (0..frames)
            .map(|frame| {
                let near = nearest(frame)?;
                let set = near.frame == frame;
                Some(TracePoint {
                    x: near.x,
                    y: near.y,
                    confidence: f64::from(u8::from(set)),
                    lost: !set,
                })
            })
            .collect::<Option<Vec<_>>>()?;
        Some(Self { clicks, points })
    }

    /// The frame on which one more click would help most, or `None` when nothing is in doubt: where the doubt (1 −
    /// confidence) under a triangle of 12 frames to each side is largest, less near a click (a quarter for each frame up to
    /// four). Measured on rendered clips, clicks set there help no more than evenly spaced ones.
    #[must_use]
    pub fn next_click(&self) -> Option<usize> {
        const REACH: usize = 12;
        const CLEAR: usize = 4;
        let worth = |frame: usize| {
            let doubt: f64 = (frame.saturating_sub(REACH)..=frame + REACH)
                .filter_map(|f| self.points.get(f).map(|p| (f, 1.0 - p.confidence)))
                .map(|(f, doubt)| doubt * (1.0 - f.abs_diff(frame) as f64 / (REACH + 1) as f64))
                .sum();
            let near = self.clicks.iter().map(|c| c.frame.abs_diff(frame)).min();
            doubt * near.unwrap_or(CLEAR).min(CLEAR) as f64 / CLEAR as f64
        };
        (0..self.points.len())
            .map(|f| (f, worth(f)))
            .filter(|&(_, w)| w > 1e-6)
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
            .map(|(f, _)| f)
    }
}

/// Why there is no trace.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum TraceError {
    /// The clip has no frame.
    #[error("the clip has no frame")]
    NoFrames,
    /// A trace without a click.
    #[error("a trace needs at least one point on a frame")]
    NoClicks,
    /// A click past the last frame.
    #[error("frame {frame} is outside the clip, whose last frame is {last}")]
    FrameOutside {
        /// The click's frame.
        frame: usize,
        /// The clip's last frame.
        last: usize,
    },
    /// A click outside the picture, or not a number.
    #[error("the point on frame {frame} is outside the picture, which is {width} x {height}")]
    PointOutside {
        /// The click's frame.
        frame: usize,
        /// Width of the shown picture in pixels.
        width: usize,
        /// Height of the shown picture in pixels.
        height: usize,
    },
    /// Two clicks of one trace on one frame.
    #[error("frame {frame} has two points; give one for each frame")]
    TwoOnOneFrame {
        /// The frame.
        frame: usize,
    },
    /// A frame of another size than the clip works at.
    #[error("a frame of {got} bytes where {wanted} were expected")]
    FrameSize {
        /// Its bytes.
        got: usize,
        /// The bytes of a frame of this clip.
        wanted: usize,
    },
    /// The shelf failed.
    #[error("a frame could not be kept or read back: {0}")]
    Shelf(std::io::ErrorKind),
    /// The caller's callback asked to stop.
    #[error("tracing was stopped")]
    Stopped,
}
