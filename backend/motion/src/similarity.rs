//! Where a picture's points lie in another: shift, turn and scale together.

use std::borrow::Cow;

use serde::{Deserialize, Serialize};

use crate::plane::Plane;
use crate::wide::wide;

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

    /// Where the pixels of row `y` of a picture of `width * height` come from.
    pub(crate) fn row(&self, y: usize, width: usize, height: usize) -> Row {
        let ((x0, y0), step) = self.lines(width, height);
        let y = y as f32;
        Row {
            start: (x0 - y * step.1, y0 + y * step.0),
            step,
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
        for (y, target) in out.data_mut().chunks_exact_mut(width).enumerate() {
            read(self.row(y, width, height), plane, target);
        }
        out
    }

    /// [`Self::warp`], without a copy where nothing moves.
    #[must_use]
    pub fn laid<'a>(&self, plane: &'a Plane) -> Cow<'a, Plane> {
        if *self == Self::IDENTITY {
            Cow::Borrowed(plane)
        } else {
            Cow::Owned(self.warp(plane))
        }
    }

    /// [`Self::warp`] of a plane that is no longer needed.
    #[must_use]
    pub fn warped(&self, plane: Plane) -> Plane {
        if *self == Self::IDENTITY {
            plane
        } else {
            self.warp(&plane)
        }
    }

    /// 1 where this map of a pixel lies inside the picture, else 0.
    #[must_use]
    pub fn inside(&self, width: usize, height: usize) -> Plane {
        if *self == Self::IDENTITY {
            Plane::filled(width, height, 1.0)
        } else {
            self.within(0.5, width, height)
        }
    }

    /// 1 where this map of a pixel lies at most `rim` pixels outside the middles of the outermost pixels, else 0.
    pub(crate) fn within(&self, rim: f32, width: usize, height: usize) -> Plane {
        let mut seen = Plane::filled(width, height, 0.0);
        for (y, row) in seen.data_mut().chunks_exact_mut(width).enumerate() {
            within(self.row(y, width, height), rim, height, row);
        }
        seen
    }
}

wide! {
    /// The values of `plane`, as wide as `out`, at the places of a row; outside, those of the rim.
    fn read(row: Row, plane: &Plane, out: &mut [f32]) = Row::read
}

wide! {
    /// 1 where a pixel comes from inside a picture as wide as `out` and `height` high, else 0; `rim` pixels outside the
    /// middles of the outermost pixels are inside.
    fn within(row: Row, rim: f32, height: usize, out: &mut [f32]) = Row::within
}

/// Where the pixels of one row come from: the first one's place, and the step to the next one's.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row {
    start: (f32, f32),
    step: (f32, f32),
}

impl Row {
    /// Where pixel `x` comes from.
    #[inline(always)]
    pub(crate) fn at(&self, x: usize) -> (f32, f32) {
        let x = x as f32;
        (
            self.start.0 + x * self.step.0,
            self.start.1 + x * self.step.1,
        )
    }

    #[inline(always)]
    fn within(self, rim: f32, height: usize, out: &mut [f32]) {
        let right = (out.len() as f32 - 1.0) + rim;
        let bottom = (height as f32 - 1.0) + rim;
        for (x, out) in out.iter_mut().enumerate() {
            let (px, py) = self.at(x);
            let within = (px >= -rim) & (py >= -rim) & (px <= right) & (py <= bottom);
            *out = f32::from(u8::from(within));
        }
    }

    /// Pixels in a row mostly come from pixels in a row: as long as they do, the four neighbours are read in runs.
    #[inline(always)]
    fn read(self, plane: &Plane, out: &mut [f32]) {
        let (right, bottom) = (plane.width() as f32 - 1.0, plane.height() as f32 - 1.0);
        let mut x = 0;
        while x < out.len() {
            let (px, py) = self.at(x);
            if !(px >= 0.0 && py >= 0.0 && px < right && py < bottom) {
                out[x] = plane.sample(px, py);
                x += 1;
                continue;
            }
            let (left, top) = (px as usize, py as usize);
            let (u, v) = (px - left as f32, py - top as f32);
            let (du, dv) = (self.step.0 - 1.0, self.step.1);
            let run = stays(u, du)
                .min(stays(v, dv))
                .min(plane.width() - 1 - left)
                .min(out.len() - x);
            let above = &plane.row(top)[left..=left + run];
            let below = &plane.row(top + 1)[left..=left + run];
            mix(&mut out[x..x + run], above, below, (u, v), (du, dv));
            x += run;
        }
    }
}

/// For how many pixels, the first included, a share that grows by `step` a pixel stays between 0 and 1.
#[inline(always)]
fn stays(share: f32, step: f32) -> usize {
    let room = if step > 0.0 { 1.0 - share } else { share };
    (room / step.abs().max(1e-9)) as usize + 1
}

/// Bilinear interpolation along two rows of neighbours, the shares `u` and `v` growing by `du` and `dv` a pixel.
#[inline(always)]
fn mix(out: &mut [f32], above: &[f32], below: &[f32], (u, v): (f32, f32), (du, dv): (f32, f32)) {
    let n = out.len();
    let (a, right_a) = (&above[..n], &above[1..=n]);
    let (b, right_b) = (&below[..n], &below[1..=n]);
    for k in 0..n {
        let at = k as i32 as f32;
        let (u, v) = (u + at * du, v + at * dv);
        let (top, bottom) = (
            a[k] + u * (right_a[k] - a[k]),
            b[k] + u * (right_b[k] - b[k]),
        );
        out[k] = top + v * (bottom - top);
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
    fn reading_in_runs_is_reading_each_place() {
        let plane = Plane::from_fn(61, 37, |x, y| ((x * 37 + y * 91) % 53) as f32);
        let maps = [
            (0.07, -0.03, 0.02, -0.05),
            (-0.3, 0.2, 0.1, 0.0),
            (0.0, 1e-4, 0.013, 0.0),
            (0.35, 0.0, 0.0, 0.3),
        ];
        for (a, b, tx, ty) in maps {
            let p = Similarity { a, b, tx, ty };
            let (warped, seen) = (p.warp(&plane), p.inside(61, 37));
            for y in 0..37 {
                let row = p.row(y, 61, 37);
                for x in 0..61 {
                    let (px, py) = row.at(x);
                    // The slope of this plane is at most 53 a pixel; places are good to some 1e-5 pixels.
                    let off = (warped.at(x, y) - plane.sample(px, py)).abs();
                    assert!(off < 5e-3, "({x}, {y}) of {p:?}: {off}");
                    let within = px >= -0.5 && py >= -0.5 && px <= 60.5 && py <= 36.5;
                    assert_eq!(
                        seen.at(x, y),
                        f32::from(u8::from(within)),
                        "({x}, {y}) of {p:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn a_shift_of_whole_pixels_moves_pixels() {
        let plane = Plane::from_fn(8, 4, |x, y| (x + 10 * y) as f32);
        let moved = Similarity::shift(2.0 / 8.0, 1.0 / 8.0).warp(&plane);
        assert!((moved.at(1, 1) - plane.at(3, 2)).abs() < 1e-4);
        assert!((moved.at(7, 3) - plane.at(7, 3)).abs() < 1e-4);
    }
}
