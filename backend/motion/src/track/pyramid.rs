//! A picture of lightness at ever halved sizes, with a rim so that windows may reach over the edge.

use crate::plane::Plane;

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
    /// The level whose row `y` is written by `fill(y, row)`.
    pub(crate) fn from_rows(
        width: usize,
        height: usize,
        mut fill: impl FnMut(usize, &mut [f32]),
    ) -> Self {
        let stride = width + 2 * RIM;
        let mut data = vec![0.0; stride * (height + 2 * RIM)];
        for y in 0..height {
            let row = &mut data[(y + RIM) * stride..(y + RIM + 1) * stride];
            fill(y, &mut row[RIM..RIM + width]);
            for i in 1..=RIM {
                row[RIM - i] = row[RIM + mirrored(-(i as isize), width)];
                row[RIM + width - 1 + i] = row[RIM + mirrored((width - 1 + i) as isize, width)];
            }
        }
        for i in 1..=RIM {
            let above = (mirrored(-(i as isize), height) + RIM) * stride;
            data.copy_within(above..above + stride, (RIM - i) * stride);
            let below = (mirrored((height - 1 + i) as isize, height) + RIM) * stride;
            data.copy_within(below..below + stride, (RIM + height - 1 + i) * stride);
        }
        Self {
            width,
            height,
            stride,
            data,
        }
    }

    /// Where pixel (x, y) stands in `data`; both may lie up to [`RIM`] outside.
    pub(crate) fn index(&self, x: isize, y: isize) -> usize {
        let x = (x + RIM as isize).clamp(0, self.stride as isize - 1) as usize;
        let y = (y + RIM as isize).clamp(0, (self.height + 2 * RIM) as isize - 1) as usize;
        y * self.stride + x
    }

    /// The row `y` with its rim, 0 being the first row of the picture.
    fn rimmed_row(&self, y: isize) -> &[f32] {
        let start = self.index(-(RIM as isize), y);
        &self.data[start..start + self.stride]
    }

    /// This level blurred by [`KERNEL`].
    pub(crate) fn blurred(&self) -> Self {
        let mut down = vec![0.0; self.stride];
        Self::from_rows(self.width, self.height, |y, row| {
            self.filter_down(y, &mut down);
            for (value, five) in row.iter_mut().zip(down[RIM - 2..].windows(5)) {
                *value = across(five);
            }
        })
    }

    /// Every second pixel of every second row.
    pub(crate) fn thinned(&self) -> Self {
        Self::from_rows(self.width.div_ceil(2), self.height.div_ceil(2), |y, row| {
            let from = &self.rimmed_row(2 * y as isize)[RIM..];
            for (value, pair) in row.iter_mut().zip(from.chunks(2)) {
                *value = pair[0];
            }
        })
    }

    /// This level blurred and thinned in one go.
    pub(crate) fn halved(&self) -> Self {
        let mut down = vec![0.0; self.stride];
        Self::from_rows(self.width.div_ceil(2), self.height.div_ceil(2), |y, row| {
            self.filter_down(2 * y, &mut down);
            let fives = down[RIM - 2..].windows(5).step_by(2);
            for (value, five) in row.iter_mut().zip(fives) {
                *value = across(five);
            }
        })
    }

    fn filter_down(&self, y: usize, out: &mut [f32]) {
        let row = |d: isize| self.rimmed_row(y as isize + d);
        let rows = row(-2)
            .iter()
            .zip(row(-1))
            .zip(row(0))
            .zip(row(1))
            .zip(row(2));
        for (value, ((((a, b), c), d), e)) in out.iter_mut().zip(rows) {
            *value = KERNEL[0] * (a + e) + KERNEL[1] * (b + d) + KERNEL[2] * c;
        }
    }

    /// The value between pixels by bilinear interpolation; outside, that of the rim.
    pub(crate) fn sample(&self, x: f32, y: f32) -> f32 {
        let reach = (RIM - 2) as f32;
        let x = x.clamp(-reach, (self.width - 1) as f32 + reach);
        let y = y.clamp(-reach, (self.height - 1) as f32 + reach);
        let (x0, y0) = (x.floor(), y.floor());
        let (u, v) = (x - x0, y - y0);
        let top = self.index(x0 as isize, y0 as isize);
        let pair = |at: usize| self.data[at] + u * (self.data[at + 1] - self.data[at]);
        let (above, below) = (pair(top), pair(top + self.stride));
        above + v * (below - above)
    }
}

fn across(five: &[f32]) -> f32 {
    KERNEL[0] * (five[0] + five[4]) + KERNEL[1] * (five[1] + five[3]) + KERNEL[2] * five[2]
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
        let finest = Level::from_rows(plane.width(), plane.height(), |y, row| {
            for (value, &v) in row.iter_mut().zip(plane.row(y)) {
                *value = finite(v);
            }
        });
        Self::of(vec![finest], levels)
    }

    /// The pyramid that begins with the given levels.
    pub(crate) fn of(mut levels: Vec<Level>, count: usize) -> Self {
        while levels.len() < count
            && let Some(last) = levels.last()
        {
            let next = last.halved();
            levels.push(next);
        }
        Self { levels }
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
        let (a, b) = (level.halved(), level.blurred().thinned());
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
