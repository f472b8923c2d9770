//! Where a picture's points lie in another: shift, turn and scale together.

use serde::{Deserialize, Serialize};

use crate::plane::Plane;

/// A similarity about the centre of the picture: the point (u, v) goes to
/// `(u + a u - b v + tx, v + b u + a v + ty)`, all in units of the picture's width, v down.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Similarity {
    /// Scale times cosine of the turn, less 1.
    pub a: f32,
    /// Scale times sine of the turn.
    pub b: f32,
    /// Shift to the right.
    pub tx: f32,
    /// Shift down.
    pub ty: f32,
}

impl Similarity {
    /// The map that leaves everything where it is.
    pub const IDENTITY: Self = Self {
        a: 0.0,
        b: 0.0,
        tx: 0.0,
        ty: 0.0,
    };

    /// A shift alone.
    #[must_use]
    pub fn shift(tx: f32, ty: f32) -> Self {
        Self {
            tx,
            ty,
            ..Self::IDENTITY
        }
    }

    /// Where the point (u, v) goes.
    #[must_use]
    pub fn apply(&self, u: f32, v: f32) -> (f32, f32) {
        (
            u + self.a * u - self.b * v + self.tx,
            v + self.b * u + self.a * v + self.ty,
        )
    }

    /// First `first`, then this.
    #[must_use]
    pub fn after(&self, first: &Self) -> Self {
        let (c, d) = (1.0 + self.a, self.b);
        let (e, f) = (1.0 + first.a, first.b);
        let (tx, ty) = self.apply(first.tx, first.ty);
        Self {
            a: c * e - d * f - 1.0,
            b: c * f + d * e,
            tx,
            ty,
        }
    }

    /// The way back. A map that shrinks everything to a point has none; then the identity is returned.
    #[must_use]
    pub fn inverse(&self) -> Self {
        let (c, d) = (1.0 + self.a, self.b);
        let size = c * c + d * d;
        if size < 1e-12 {
            return Self::IDENTITY;
        }
        let (c, d) = (c / size, -d / size);
        Self {
            a: c - 1.0,
            b: d,
            tx: -(c * self.tx - d * self.ty),
            ty: -(d * self.tx + c * self.ty),
        }
    }

    /// How far the corners of a 16:9 picture are from where `other` puts them, at most, in widths.
    #[must_use]
    pub fn distance(&self, other: &Self) -> f32 {
        let corners = [(-0.5, -0.28), (0.5, -0.28), (-0.5, 0.28), (0.5, 0.28)];
        corners
            .iter()
            .map(|&(u, v)| {
                let (p, q) = (self.apply(u, v), other.apply(u, v));
                (p.0 - q.0).hypot(p.1 - q.1)
            })
            .fold(0.0, f32::max)
    }

    /// The lines of pixel coordinates in a picture of `width * height`: where pixel (0, 0) comes from, and the step of
    /// that per pixel to the right; one pixel down steps by (-dy, dx).
    fn lines(&self, width: usize, height: usize) -> ((f32, f32), (f32, f32)) {
        let side = width as f32;
        let (cx, cy) = ((width as f32 - 1.0) / 2.0, (height as f32 - 1.0) / 2.0);
        let (u, v) = self.apply(-cx / side, -cy / side);
        ((u * side + cx, v * side + cy), (1.0 + self.a, self.b))
    }

    /// Calls `visit(index, x, y)` for each pixel of a picture of `width * height` with the place it comes from.
    pub fn for_each(&self, width: usize, height: usize, mut visit: impl FnMut(usize, f32, f32)) {
        let ((x0, y0), (dx, dy)) = self.lines(width, height);
        for y in 0..height {
            let (mut px, mut py) = (x0 - y as f32 * dy, y0 + y as f32 * dx);
            for x in 0..width {
                visit(y * width + x, px, py);
                px += dx;
                py += dy;
            }
        }
    }

    /// The plane whose pixel x is `plane` at this map of x; outside, the value of the rim.
    #[must_use]
    pub fn warp(&self, plane: &Plane) -> Plane {
        if *self == Self::IDENTITY {
            return plane.clone();
        }
        let (width, height) = (plane.width(), plane.height());
        let mut out = Plane::filled(width, height, 0.0);
        let data = out.data_mut();
        self.for_each(width, height, |i, x, y| data[i] = plane.sample(x, y));
        out
    }

    /// 1 where this map of a pixel lies inside the picture, else 0.
    #[must_use]
    pub fn inside(&self, width: usize, height: usize) -> Plane {
        let mut out = Plane::filled(width, height, 1.0);
        if *self == Self::IDENTITY {
            return out;
        }
        let (right, bottom) = (width as f32 - 0.5, height as f32 - 0.5);
        let data = out.data_mut();
        self.for_each(width, height, |i, x, y| {
            let within = x > -0.5 && y > -0.5 && x < right && y < bottom;
            data[i] = f32::from(u8::from(within));
        });
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_there_and_back_is_no_way() {
        let p = Similarity {
            a: 0.07,
            b: -0.03,
            tx: 0.02,
            ty: -0.05,
        };
        assert!(p.after(&p.inverse()).distance(&Similarity::IDENTITY) < 1e-6);
        assert!(p.inverse().after(&p).distance(&Similarity::IDENTITY) < 1e-6);
    }

    #[test]
    fn a_shift_of_whole_pixels_moves_pixels() {
        let plane = Plane::from_fn(8, 4, |x, y| (x + 10 * y) as f32);
        let moved = Similarity::shift(2.0 / 8.0, 1.0 / 8.0).warp(&plane);
        assert!((moved.at(1, 1) - plane.at(3, 2)).abs() < 1e-4);
        assert!((moved.at(7, 3) - plane.at(7, 3)).abs() < 1e-4);
    }
}
