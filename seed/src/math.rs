//! The little vector algebra the figure and its picture need.

use std::ops::{Add, AddAssign, Mul, Neg, Sub};

/// A point or direction of the stage, metres: x to the right of the picture, y up, z towards the camera.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct V3 {
    /// To the right of the picture.
    pub x: f32,
    /// Up.
    pub y: f32,
    /// Towards the camera.
    pub z: f32,
}

/// Shorthand for a [`V3`].
#[must_use]
pub const fn v3(x: f32, y: f32, z: f32) -> V3 {
    V3 { x, y, z }
}

impl V3 {
    /// Straight up.
    pub const UP: Self = v3(0.0, 1.0, 0.0);

    /// Scalar product.
    #[must_use]
    pub fn dot(self, o: Self) -> f32 {
        self.x * o.x + self.y * o.y + self.z * o.z
    }

    /// Vector product, right-handed.
    #[must_use]
    pub fn cross(self, o: Self) -> Self {
        v3(
            self.y * o.z - self.z * o.y,
            self.z * o.x - self.x * o.z,
            self.x * o.y - self.y * o.x,
        )
    }

    /// Length.
    #[must_use]
    pub fn length(self) -> f32 {
        self.dot(self).sqrt()
    }

    /// The same direction with length one; a zero vector stays zero.
    #[must_use]
    pub fn unit(self) -> Self {
        let l = self.length();
        if l > 1e-9 { self * (1.0 / l) } else { self }
    }

    /// The way from `self` to `o`, `u` in 0..1.
    #[must_use]
    pub fn lerp(self, o: Self, u: f32) -> Self {
        self + (o - self) * u
    }
}

impl Add for V3 {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        v3(self.x + o.x, self.y + o.y, self.z + o.z)
    }
}

impl AddAssign for V3 {
    fn add_assign(&mut self, o: Self) {
        *self = *self + o;
    }
}

impl Sub for V3 {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        v3(self.x - o.x, self.y - o.y, self.z - o.z)
    }
}

impl Mul<f32> for V3 {
    type Output = Self;
    fn mul(self, k: f32) -> Self {
        v3(self.x * k, self.y * k, self.z * k)
    }
}

impl Neg for V3 {
    type Output = Self;
    fn neg(self) -> Self {
        self * -1.0
    }
}

/// Three directions at right angles that travel with a part of the body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axes {
    /// Where the part faces.
    pub forward: V3,
    /// Its own up.
    pub up: V3,
    /// To the figure's own right.
    pub right: V3,
}

impl Axes {
    /// Upright axes facing `yaw_deg`: 0 faces the right edge of the picture, 90 the camera.
    #[must_use]
    pub fn facing(yaw_deg: f32) -> Self {
        let a = yaw_deg.to_radians();
        let forward = v3(a.cos(), 0.0, a.sin());
        Self {
            forward,
            up: V3::UP,
            right: forward.cross(V3::UP),
        }
    }

    /// Bends forward by `pitch_deg`, then towards the own right by `side_deg`.
    #[must_use]
    pub fn bent(self, pitch_deg: f32, side_deg: f32) -> Self {
        let (sp, cp) = pitch_deg.to_radians().sin_cos();
        let up = self.up * cp + self.forward * sp;
        let forward = self.forward * cp - self.up * sp;
        let (ss, cs) = side_deg.to_radians().sin_cos();
        let up2 = up * cs + self.right * ss;
        let right = self.right * cs - up * ss;
        Self {
            forward,
            up: up2,
            right,
        }
    }

    /// Turns about the own up: positive towards the own right.
    #[must_use]
    pub fn turned(self, yaw_deg: f32) -> Self {
        let (s, c) = yaw_deg.to_radians().sin_cos();
        Self {
            forward: self.forward * c + self.right * s,
            up: self.up,
            right: self.right * c - self.forward * s,
        }
    }

    /// A point given as forward, up, right of `origin`.
    #[must_use]
    pub fn place(&self, origin: V3, forward: f32, up: f32, right: f32) -> V3 {
        origin + self.forward * forward + self.up * up + self.right * right
    }
}

/// Minimum-jerk ease: 0 at 0, 1 at 1, speed and acceleration zero at both ends (Flash and Hogan 1985).
#[must_use]
pub fn ease(u: f32) -> f32 {
    let u = u.clamp(0.0, 1.0);
    u * u * u * (10.0 - 15.0 * u + 6.0 * u * u)
}

/// 3u^2 - 2u^3, held at both ends.
#[must_use]
pub fn smooth(u: f32) -> f32 {
    let u = u.clamp(0.0, 1.0);
    u * u * (3.0 - 2.0 * u)
}

/// 1 inside `from..=to`, easing to 0 over `rim` on both sides.
#[must_use]
pub fn bump(t: f32, from: f32, to: f32, rim: f32) -> f32 {
    smooth((t - from + rim) / rim) * smooth((to + rim - t) / rim)
}
