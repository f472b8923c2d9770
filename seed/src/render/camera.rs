//! The camera looks level along -z; its horizon may lie off the middle of the picture.

use serde::Serialize;

use crate::math::{V3, v3};

/// Width of every picture, pixels.
pub const WIDTH: usize = 640;
/// Height of every picture, pixels.
pub const HEIGHT: usize = 360;

/// Where the camera stands. `x`, `y` in metres; `scale` pixels a metre at z = 0.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Camera {
    /// Middle of the picture.
    pub x: f32,
    /// Height of the lens.
    pub y: f32,
    /// Pixels a metre at z = 0.
    pub scale: f32,
    /// Row of the horizon, pixels from the top.
    pub horizon: f32,
}

/// Distance of the lens from z = 0, metres.
pub const DISTANCE: f32 = 6.5;

/// A point in the picture with its depth and scale.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Spot {
    /// Pixels from the left.
    pub x: f32,
    /// Pixels from the top.
    pub y: f32,
    /// Metres towards the camera.
    pub z: f32,
    /// Pixels a metre there.
    pub scale: f32,
}

impl Camera {
    /// Where a point of the stage falls.
    #[must_use]
    pub fn spot(&self, p: V3) -> Spot {
        let scale = self.scale * DISTANCE / (DISTANCE - p.z).max(0.5);
        Spot {
            x: WIDTH as f32 * 0.5 + (p.x - self.x) * scale,
            y: self.horizon - (p.y - self.y) * scale,
            z: p.z,
            scale,
        }
    }

    /// The lens.
    #[must_use]
    pub fn eye(&self) -> V3 {
        v3(self.x, self.y, DISTANCE)
    }

    /// The point at z = 0 seen at a place of the picture.
    #[must_use]
    pub fn at(&self, x: f32, y: f32) -> V3 {
        v3(
            self.x + (x - WIDTH as f32 * 0.5) / self.scale,
            self.y + (self.horizon - y) / self.scale,
            0.0,
        )
    }
}
