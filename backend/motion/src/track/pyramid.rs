//! A picture of lightness at ever halved sizes, with a rim so that windows may reach over the edge.

use crate::plane::Plane;
use crate::wide::{split, wide};

/// Pixels of rim around every level: a window of 21 whose centre stands 10 pixels outside still finds values.
pub(crate) const RIM: usize = 24;

/// The binomial kernel 1 4 6 4 1 over 16: variance 1, so also the blur of sigma 1 (Burt and Adelson 1983, the kernel of
/// OpenCV's `pyrDown`).
const KERNEL: [f32; 5] = [1.0 / 16.0, 0.25, 0.375, 0.25, 1.0 / 16.0];

/// One level: `width * height` values with [`RIM`] mirrored pixels around them (the edge pixel is not repeated).
#[derive(Debug, Clone)]
pub(crate) struct Level {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) stride: usize,
    pub(crate) data: Vec<f32>,
}

impl Level {
    /// A level of zeros.
    pub(crate) fn new(width: usize, height: usize) -> Self {
        let stride = width + 2 * RIM;
        Self {
            width,
            height,
            stride,
            data: vec![0.0; stride * (height + 2 * RIM)],
        }
    }

    /// Writes the level anew: row `y` by `fill(y, row)`, then the rim.
    pub(crate) fn fill(&mut self, mut fill: impl FnMut(usize, &mut [f32])) {
        let (width, height, stride) = (self.width, self.height, self.stride);
        for y in 0..height {
            let row = &mut self.data[(y + RIM) * stride..(y + RIM + 1) * stride];
            fill(y, &mut row[RIM..RIM + width]);
            let last = RIM + width - 1;
            if width > RIM {
                for i in 1..=RIM {
                    (row[RIM - i], row[last + i]) = (row[RIM + i], row[last - i]);
                }
            } else {
                for i in 1..=RIM {
                    row[RIM - i] = row[RIM + mirrored(-(i as isize), width)];
                    row[last + i] = row[RIM + mirrored((width - 1 + i) as isize, width)];
                }
            }
        }
        for i in 1..=RIM {
            let above = (mirrored(-(i as isize), height) + RIM) * stride;
            self.data
                .copy_within(above..above + stride, (RIM - i) * stride);
            let below = (mirrored((height - 1 + i) as isize, height) + RIM) * stride;
            self.data
                .copy_within(below..below + stride, (RIM + height - 1 + i) * stride);
        }
    }

    /// Where pixel (x, y) stands in `data`; both may lie up to [`RIM`] outside.
    #[inline(always)]
    pub(crate) fn index(&self, x: isize, y: isize) -> usize {
        let x = (x + RIM as isize).clamp(0, self.stride as isize - 1) as usize;
        let y = (y + RIM as isize).clamp(0, (self.height + 2 * RIM) as isize - 1) as usize;
        y * self.stride + x
    }

    /// The row `y` with its rim, 0 being the first row of the picture.
    #[inline(always)]
    fn rimmed_row(&self, y: isize) -> &[f32] {
        let start = self.index(-(RIM as isize), y);
        &self.data[start..start + self.stride]
    }

    /// Becomes `from`, of the same size, blurred by [`KERNEL`].
    pub(crate) fn blur(&mut self, from: &Self) {
        let mut down = vec![0.0; from.stride];
        self.fill(|y, row| {
            filter_down(from, y, &mut down);
            across(&down[RIM - 2..], row);
        });
    }

    /// Becomes every second pixel of every second row of `from`.
    pub(crate) fn thin(&mut self, from: &Self) {
        self.fill(|y, row| {
            let from = &from.rimmed_row(2 * y as isize)[RIM..];
            for (value, pair) in row.iter_mut().zip(from.chunks(2)) {
                *value = pair[0];
            }
        });
    }

    /// Becomes `from` blurred by [`KERNEL`] and thinned in one go.
    pub(crate) fn halve(&mut self, from: &Self) {
        let mut down = vec![0.0; from.stride];
        self.fill(|y, row| {
            filter_down(from, 2 * y, &mut down);
            across_half(&down[RIM - 2..], row);
        });
    }

    /// A level of half this one's size.
    pub(crate) fn half_size(&self) -> Self {
        Self::new(self.width.div_ceil(2), self.height.div_ceil(2))
    }

    /// The value between pixels by bilinear interpolation; outside, that of the rim.
    #[inline(always)]
    pub(crate) fn sample(&self, x: f32, y: f32) -> f32 {
        // Counted from the rim's corner, so that cutting is rounding down.
        let place = |v: f32, size: usize| (v + RIM as f32).clamp(2.0, (size + 2 * RIM - 3) as f32);
        let (x, y) = (place(x, self.width), place(y, self.height));
        let ((x0, u), (y0, v)) = (split(x), split(y));
        let top = y0 * self.stride + x0;
        let pair = |at: usize| self.data[at] + u * (self.data[at + 1] - self.data[at]);
        let (above, below) = (pair(top), pair(top + self.stride));
        above + v * (below - above)
    }
}

wide! {
    /// The columns of the five rows around row `y`, blurred.
    fn filter_down(from: &Level, y: usize, out: &mut [f32]) = filter_down_here
}

#[inline(always)]
fn filter_down_here(from: &Level, y: usize, out: &mut [f32]) {
    let n = out.len();
    let [a, b, c, d, e] = [-2, -1, 0, 1, 2].map(|k| &from.rimmed_row(y as isize + k)[..n]);
    for i in 0..n {
        out[i] = KERNEL[0] * (a[i] + e[i]) + KERNEL[1] * (b[i] + d[i]) + KERNEL[2] * c[i];
    }
}

wide! {
    /// A row blurred; the first of `row` is two pixels left of the first of `out`.
    fn across(row: &[f32], out: &mut [f32]) = across_each
}

#[inline(always)]
fn across_each(row: &[f32], out: &mut [f32]) {
    let n = out.len();
    let [a, b, c, d, e] = [0, 1, 2, 3, 4].map(|k| &row[k..][..n]);
    for i in 0..n {
        out[i] = KERNEL[0] * (a[i] + e[i]) + KERNEL[1] * (b[i] + d[i]) + KERNEL[2] * c[i];
    }
}

wide! {
    /// Every second pixel of a row blurred.
    fn across_half(row: &[f32], out: &mut [f32]) = across_every_second
}

#[inline(always)]
fn across_every_second(row: &[f32], out: &mut [f32]) {
    let n = out.len();
    let pairs = row.as_chunks::<2>().0;
    let [a, b, c] = [0, 1, 2].map(|k| &pairs[k..][..n]);
    for i in 0..n {
        let ([p, q], [r, s], [t, _]) = (a[i], b[i], c[i]);
        out[i] = KERNEL[0] * (p + t) + KERNEL[1] * (q + s) + KERNEL[2] * r;
    }
}

/// The index inside `0..len` that `i` falls on when the row is mirrored about its end pixels again and again.
fn mirrored(i: isize, len: usize) -> usize {
    if len == 1 {
        return 0;
    }
    let turn = 2 * (len as isize - 1);
    let i = i.rem_euclid(turn);
    i.min(turn - i) as usize
}

/// A picture of one channel and its halves, finest first: what [`super::lk::follow`] looks at.
#[derive(Debug, Clone)]
pub struct Pyramid {
    pub(crate) levels: Vec<Level>,
}

impl Pyramid {
    /// The pyramid of `plane` with `levels` levels (at least one), each blurred by 1 4 6 4 1 and thinned to half.
    /// Values that are not numbers count as 0. Memory about 1.4 times the plane's, plus the rims.
    #[must_use]
    pub fn new(plane: &Plane, levels: usize) -> Self {
        let finite = |v: f32| if v.is_finite() { v } else { 0.0 };
        let mut pyramid = Self::empty(plane.width(), plane.height(), levels);
        pyramid.levels[0].fill(|y, row| {
            for (value, &v) in row.iter_mut().zip(plane.row(y)) {
                *value = finite(v);
            }
        });
        pyramid.build(1);
        pyramid
    }

    /// A pyramid of zeros whose finest level has that size.
    pub(crate) fn empty(width: usize, height: usize, levels: usize) -> Self {
        let mut all = vec![Level::new(width, height)];
        for k in 1..levels {
            all.push(all[k - 1].half_size());
        }
        Self { levels: all }
    }

    /// Makes the levels `from` (at least 1) and coarser out of the one before.
    pub(crate) fn build(&mut self, from: usize) {
        for k in from..self.levels.len() {
            let (finer, rest) = self.levels.split_at_mut(k);
            rest[0].halve(&finer[k - 1]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rim_mirrors_without_repeating_the_edge() {
        let seen: Vec<usize> = (-3..6).map(|i| mirrored(i, 3)).collect();
        assert_eq!(seen, [1, 2, 1, 0, 1, 2, 1, 0, 1]);
        assert_eq!(mirrored(-7, 1), 0);
    }

    #[test]
    fn halving_is_blurring_and_thinning() {
        let plane = Plane::from_fn(13, 9, |x, y| ((x * 7 + y * 13) % 11) as f32);
        let level = Pyramid::new(&plane, 1).levels.remove(0);
        let (mut blurred, mut a, mut b) = (level.clone(), level.half_size(), level.half_size());
        a.halve(&level);
        blurred.blur(&level);
        b.thin(&blurred);
        assert_eq!((a.width, a.height), (7, 5));
        assert!(
            a.data
                .iter()
                .zip(&b.data)
                .all(|(p, q)| (p - q).abs() < 1e-4)
        );
    }

    #[test]
    fn a_slope_stays_a_slope() {
        let plane = Plane::from_fn(40, 30, |x, _| x as f32);
        let level = Pyramid::new(&plane, 2).levels.remove(1);
        assert!((level.sample(7.5, 4.0) - 15.0).abs() < 1e-4);
    }
}
