//! Traces: where points of a picture are, frame by frame.

use std::collections::BTreeMap;

/// Coordinates beyond this many pixels count as lost: no picture is that large.
pub const FARTHEST_PX: f64 = 1.0e6;

/// A seen point: pixels, x to the right and y down, and how sure its place is, 0..=1. In JSON `[x, y, confidence]`.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(try_from = "[f64; 3]", into = "[f64; 3]")]
pub struct Point {
    /// Pixels from the left.
    pub x: f64,
    /// Pixels from the top.
    pub y: f64,
    /// 0 (a guess) ..= 1 (set by hand).
    pub confidence: f64,
}

/// Three numbers that are no point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a place is within {FARTHEST_PX} pixels and its confidence within 0 and 1")]
pub struct NoPoint;

impl TryFrom<[f64; 3]> for Point {
    type Error = NoPoint;

    fn try_from([x, y, confidence]: [f64; 3]) -> Result<Self, NoPoint> {
        let point = Self { x, y, confidence };
        point.is_sane().then_some(point).ok_or(NoPoint)
    }
}

impl From<Point> for [f64; 3] {
    fn from(point: Point) -> Self {
        [point.x, point.y, point.confidence]
    }
}

impl Point {
    /// Whether all three numbers are finite, the place within [`FARTHEST_PX`] and the confidence within 0..=1.
    #[must_use]
    pub fn is_sane(self) -> bool {
        self.x.abs() <= FARTHEST_PX
            && self.y.abs() <= FARTHEST_PX
            && (0.0..=1.0).contains(&self.confidence)
    }
}

/// A point through the frames of a clip: entry `f` is frame `f`; `None` is lost, never a guess.
pub type Trace = Vec<Option<Point>>;

/// Traces of one clip, by name of what was followed.
///
/// Names are `hip`, `chest`, `neck`, `head`, and with `.left` or `.right` behind them `shoulder`, `elbow`, `wrist`, `hand`, `thigh`,
/// `knee`, `ankle`, `toe`. `camera` is how far the set has moved in the picture since the first frame; it is subtracted from the rest.
/// Any other name is followed as a free point. A trace that ends early is lost from there on.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Recording {
    /// Frames a second.
    pub fps: f64,
    /// Standing height of the figure in pixels: lengths are given as shares of it.
    pub height_px: f64,
    /// The traces.
    pub traces: BTreeMap<String, Trace>,
    /// Per ankle (`ankle.left`, `ankle.right`) and frame, whether the foot stands. Where it is absent it is estimated.
    pub contacts: BTreeMap<String, Vec<bool>>,
}

impl Recording {
    /// Frames of the longest trace.
    #[must_use]
    pub fn frames(&self) -> usize {
        self.traces.values().map(Vec::len).max().unwrap_or(0)
    }
}
