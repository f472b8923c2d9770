//! Places in time and in the picture.

/// Frames from `start` to `end`, both included; indices into the frame table, 0-based.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Span {
    /// First frame.
    pub start: i32,
    /// Last frame.
    pub end: i32,
}

impl Span {
    /// Whether the span lies within a clip of `frames` frames.
    pub fn fits(self, frames: i32) -> bool {
        0 <= self.start && self.start <= self.end && self.end < frames
    }
}

/// A rectangle in picture units: x and w in picture widths, y and h in picture heights, all within 0..1.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Region {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Region {
    /// Whether the rectangle has an area and lies within the picture.
    pub fn fits(self) -> bool {
        [self.x, self.y, self.w, self.h]
            .iter()
            .all(|v| v.is_finite())
            && self.x >= 0.0
            && self.y >= 0.0
            && self.w > 0.0
            && self.h > 0.0
            && self.x + self.w <= 1.0 + 1e-9
            && self.y + self.h <= 1.0 + 1e-9
    }
}
