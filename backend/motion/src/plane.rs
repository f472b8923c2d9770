//! One channel of a picture as numbers, and the filters that everything else is built from.

use crate::wide::wide;

/// A channel of a picture: `width * height` values, row by row, y down. Units are those of the caller (levels 0 to 255 for light).
#[derive(Debug, Clone, PartialEq)]
pub struct Plane {
    width: usize,
    height: usize,
    data: Vec<f32>,
}

/// A place between four pixels.
#[derive(Debug, Clone, Copy)]
pub struct Tap {
    at: [usize; 4],
    u: f32,
    v: f32,
}

impl Plane {
    /// A plane of one value. Sides of 0 become 1, so that a plane always has a pixel.
    #[must_use]
    pub fn filled(width: usize, height: usize, value: f32) -> Self {
        let (width, height) = (width.max(1), height.max(1));
        Self {
            width,
            height,
            data: vec![value; width * height],
        }
    }

    /// The plane whose pixel (x, y) is `value(x, y)`.
    #[must_use]
    pub fn from_fn(
        width: usize,
        height: usize,
        mut value: impl FnMut(usize, usize) -> f32,
    ) -> Self {
        let mut plane = Self::filled(width, height, 0.0);
        for y in 0..plane.height {
            for x in 0..plane.width {
                plane.data[y * plane.width + x] = value(x, y);
            }
        }
        plane
    }

    /// The plane of `data`, row by row; `None` unless it holds `width * height` values and at least one.
    #[must_use]
    pub fn from_vec(width: usize, height: usize, data: Vec<f32>) -> Option<Self> {
        (width > 0 && height > 0 && data.len() == width * height).then_some(Self {
            width,
            height,
            data,
        })
    }

    /// Pixels across.
    #[must_use]
    pub fn width(&self) -> usize {
        self.width
    }

    /// Pixels down.
    #[must_use]
    pub fn height(&self) -> usize {
        self.height
    }

    /// All values, row by row.
    #[must_use]
    pub fn data(&self) -> &[f32] {
        &self.data
    }

    /// All values, row by row, to be written.
    pub fn data_mut(&mut self) -> &mut [f32] {
        &mut self.data
    }

    /// Row `y`, which must be below the height.
    #[must_use]
    pub fn row(&self, y: usize) -> &[f32] {
        &self.data[y * self.width..(y + 1) * self.width]
    }

    /// The value at (x, y), which must lie inside.
    #[must_use]
    pub fn at(&self, x: usize, y: usize) -> f32 {
        self.data[y * self.width + x]
    }

    /// The value at the nearest pixel inside.
    #[must_use]
    pub fn clamped(&self, x: isize, y: isize) -> f32 {
        let x = x.clamp(0, self.width as isize - 1) as usize;
        let y = y.clamp(0, self.height as isize - 1) as usize;
        self.data[y * self.width + x]
    }

    /// The value between pixels by bilinear interpolation; outside, that of the rim.
    #[must_use]
    pub fn sample(&self, x: f32, y: f32) -> f32 {
        self.tapped(&self.tap(x, y))
    }

    /// The four pixels around a place and their shares, to be read from planes of this size.
    #[must_use]
    pub fn tap(&self, x: f32, y: f32) -> Tap {
        let x = x.clamp(0.0, (self.width - 1) as f32);
        let y = y.clamp(0.0, (self.height - 1) as f32);
        let (x0, y0) = (x as i32, y as i32);
        let (u, v) = (x - x0 as f32, y - y0 as f32);
        let (x0, y0) = (x0 as usize, y0 as usize);
        let first = y0 * self.width + x0;
        let right = usize::from(x0 + 1 < self.width);
        let below = first + if y0 + 1 < self.height { self.width } else { 0 };
        Tap {
            at: [first, first + right, below, below + right],
            u,
            v,
        }
    }

    /// The value at a place found before.
    #[must_use]
    pub fn tapped(&self, tap: &Tap) -> f32 {
        let [a, b, c, d] = tap.at.map(|i| self.data[i]);
        let top = a + tap.u * (b - a);
        let bottom = c + tap.u * (d - c);
        top + tap.v * (bottom - top)
    }

    /// The plane with `f` applied to each value.
    #[must_use]
    pub fn map(&self, f: impl Fn(f32) -> f32) -> Self {
        Self {
            width: self.width,
            height: self.height,
            data: self.data.iter().map(|&v| f(v)).collect(),
        }
    }

    /// The plane blurred by a Gaussian of `sigma` pixels, cut at 4 sigma, mirrored at the rim (edge pixel repeated, as
    /// `scipy.ndimage.gaussian_filter` does by default).
    #[must_use]
    pub fn blurred(&self, sigma: f32) -> Self {
        if sigma <= 0.0 {
            return self.clone();
        }
        let kernel = gaussian(sigma);
        self.filtered_across(&kernel).filtered_down(&kernel)
    }

    /// The plane filtered along x by `kernel` (odd length, centred), mirrored at the rim.
    #[must_use]
    pub fn filtered_across(&self, kernel: &[f32]) -> Self {
        let reach = kernel.len() / 2;
        let mut out = Self::filled(self.width, self.height, 0.0);
        let mut padded = vec![0.0; self.width + 2 * reach];
        for y in 0..self.height {
            let row = self.row(y);
            padded[reach..reach + self.width].copy_from_slice(row);
            for i in 0..reach {
                padded[i] = row[mirrored(i as isize - reach as isize, self.width)];
                let right = self.width + i;
                padded[reach + right] = row[mirrored(right as isize, self.width)];
            }
            let target = &mut out.data[y * self.width..(y + 1) * self.width];
            for (k, &weight) in kernel.iter().enumerate() {
                add_weighted(&padded[k..], weight, target);
            }
        }
        out
    }

    /// The plane filtered along y by `kernel` (odd length, centred), mirrored at the rim.
    #[must_use]
    pub fn filtered_down(&self, kernel: &[f32]) -> Self {
        let reach = (kernel.len() / 2) as isize;
        let mut out = Self::filled(self.width, self.height, 0.0);
        for y in 0..self.height {
            let target = &mut out.data[y * self.width..(y + 1) * self.width];
            for (k, &weight) in kernel.iter().enumerate() {
                let from = mirrored(y as isize + k as isize - reach, self.height);
                let row = &self.data[from * self.width..(from + 1) * self.width];
                add_weighted(row, weight, target);
            }
        }
        out
    }

    /// The plane at another size, each new pixel the mean of the area it covers.
    #[must_use]
    pub fn resized(&self, width: usize, height: usize) -> Self {
        let across = shares(self.width, width.max(1));
        let down = shares(self.height, height.max(1));
        let mut narrow = Self::filled(width, self.height, 0.0);
        for y in 0..self.height {
            let row = self.row(y);
            let target = &mut narrow.data[y * narrow.width..(y + 1) * narrow.width];
            for (t, (first, weights)) in target.iter_mut().zip(&across) {
                *t = weights.iter().zip(&row[*first..]).map(|(w, v)| w * v).sum();
            }
        }
        let mut out = Self::filled(width, height, 0.0);
        for (y, (first, weights)) in down.iter().enumerate() {
            let target = &mut out.data[y * narrow.width..(y + 1) * narrow.width];
            for (i, &weight) in weights.iter().enumerate() {
                add_weighted(narrow.row(first + i), weight, target);
            }
        }
        out
    }

    /// The plane of bytes as values; `None` unless there are `width * height` and at least one.
    #[must_use]
    pub fn from_bytes(width: usize, height: usize, bytes: &[u8]) -> Option<Self> {
        Self::from_vec(width, height, bytes.iter().map(|&b| f32::from(b)).collect())
    }

    /// The plane at a `times`-th of its size, each new pixel the mean of `times * times` old ones; what is left over at
    /// the right and lower rim is dropped.
    #[must_use]
    pub fn shrunk(&self, times: usize) -> Self {
        let times = times.clamp(1, self.width.min(self.height));
        let (width, height) = (self.width / times, self.height / times);
        let mut out = Self::filled(width, height, 0.0);
        let mut sums = vec![0.0; self.width];
        let share = 1.0 / (times * times) as f32;
        for y in 0..height {
            sums.fill(0.0);
            for row in y * times..(y + 1) * times {
                add_weighted(self.row(row), 1.0, &mut sums);
            }
            let target = &mut out.data[y * width..(y + 1) * width];
            match times {
                2 => blocks::<2>(&sums, share, target),
                4 => blocks::<4>(&sums, share, target),
                _ => {
                    for (t, block) in target.iter_mut().zip(sums.chunks_exact(times)) {
                        *t = block.iter().sum::<f32>() * share;
                    }
                }
            }
        }
        out
    }

    /// The plane at another size by bilinear interpolation, pixel areas aligned.
    #[must_use]
    pub fn stretched(&self, width: usize, height: usize) -> Self {
        let across = taps(self.width, width.max(1));
        let down = taps(self.height, height.max(1));
        let mut out = Self::filled(width, height, 0.0);
        let mut between = vec![0.0; self.width];
        let times = width
            .is_multiple_of(self.width)
            .then_some(width / self.width);
        for (y, &(y0, y1, v)) in down.iter().enumerate() {
            let (top, bottom) = (self.row(y0), self.row(y1));
            mix(top, bottom, v, &mut between);
            let target = &mut out.data[y * across.len()..(y + 1) * across.len()];
            match times {
                Some(2) => spread_out_two(&between, target),
                Some(4) => spread_out_four(&between, target),
                _ => {
                    for (t, &(x0, x1, u)) in target.iter_mut().zip(&across) {
                        *t = between[x0] + u * (between[x1] - between[x0]);
                    }
                }
            }
        }
        out
    }

    /// Local contrast: `(g - G*g) / (sqrt(G*g^2 - (G*g)^2) + floor)` with `G` a Gaussian of `sigma` pixels (Jarrett et al.
    /// 2009, "local contrast normalization"). Light and exposure leave it nearly alone. `G` is taken at a quarter of the
    /// size for `sigma` of 6 and more, at half of it for 3 and more.
    #[must_use]
    pub fn local_contrast(&self, sigma: f32, floor: f32) -> Self {
        let times = if sigma >= 6.0 {
            4
        } else if sigma >= 3.0 {
            2
        } else {
            1
        };
        let small = sigma / times as f32;
        let mean = self.shrunk(times).blurred(small);
        let mut deviation = self.map(|v| v * v).shrunk(times).blurred(small);
        for (d, m) in deviation.data.iter_mut().zip(&mean.data) {
            *d = (*d - m * m).max(0.0).sqrt() + floor;
        }
        let mean = mean.stretched(self.width, self.height);
        let deviation = deviation.stretched(self.width, self.height);
        let mut out = self.clone();
        contrasts(&mut out.data, &mean.data, &deviation.data);
        out
    }
}

/// The weights of a Gaussian of `sigma`, cut at 4 sigma, summing to 1.
fn gaussian(sigma: f32) -> Vec<f32> {
    let reach = (4.0 * sigma + 0.5) as i32;
    let weights: Vec<f32> = (-reach..=reach)
        .map(|i| (-0.5 * (i as f32 / sigma).powi(2)).exp())
        .collect();
    let sum: f32 = weights.iter().sum();
    weights.iter().map(|w| w / sum).collect()
}

/// The index inside `0..len` that `i` falls on when the row is mirrored at both ends again and again.
fn mirrored(i: isize, len: usize) -> usize {
    let len = len as isize;
    let i = i.rem_euclid(2 * len);
    (if i < len { i } else { 2 * len - 1 - i }) as usize
}

wide! {
    /// Adds a row, weighted, to as many values as `out` has.
    fn add_weighted(row: &[f32], weight: f32, out: &mut [f32]) = add_weighted_here
}

#[inline(always)]
fn add_weighted_here(row: &[f32], weight: f32, out: &mut [f32]) {
    for (out, v) in out.iter_mut().zip(row) {
        *out += weight * v;
    }
}

wide! {
    /// Each value between two rows, the share `v` of the way down.
    fn mix(top: &[f32], bottom: &[f32], v: f32, out: &mut [f32]) = mix_here
}

#[inline(always)]
fn mix_here(top: &[f32], bottom: &[f32], v: f32, out: &mut [f32]) {
    for ((out, t), b) in out.iter_mut().zip(top).zip(bottom) {
        *out = t + v * (b - t);
    }
}

wide! {
    /// Each value less its mean, over its deviation.
    fn contrasts(values: &mut [f32], means: &[f32], deviations: &[f32]) = contrasts_here
}

#[inline(always)]
fn contrasts_here(values: &mut [f32], means: &[f32], deviations: &[f32]) {
    for ((v, m), d) in values.iter_mut().zip(means).zip(deviations) {
        *v = (*v - m) / d;
    }
}

/// The sum of each block of values, times `share`.
fn blocks<const SIZE: usize>(values: &[f32], share: f32, out: &mut [f32]) {
    for (out, block) in out.iter_mut().zip(values.as_chunks::<SIZE>().0) {
        *out = block.iter().sum::<f32>() * share;
    }
}

wide! {
    fn spread_out_two(row: &[f32], out: &mut [f32]) = spread_out::<2>
}

wide! {
    fn spread_out_four(row: &[f32], out: &mut [f32]) = spread_out::<4>
}

/// [`Plane::stretched`] of a row by an even number of times: as many pixels lie between the middles of two old ones.
#[inline(always)]
fn spread_out<const TIMES: usize>(row: &[f32], out: &mut [f32]) {
    let shares: [f32; TIMES] = std::array::from_fn(|i| (i as f32 + 0.5) / TIMES as f32);
    let half = TIMES / 2;
    let (first, last) = (row[0], row[row.len() - 1]);
    out[..half].fill(first);
    let end = out.len() - half;
    out[end..].fill(last);
    let between = row.iter().zip(&row[1..]);
    for (out, (a, b)) in out[half..end].chunks_exact_mut(TIMES).zip(between) {
        for (out, share) in out.iter_mut().zip(&shares) {
            *out = a + share * (b - a);
        }
    }
}

/// For each of `to` new pixels: the two old ones it lies between and its share of the way.
fn taps(from: usize, to: usize) -> Vec<(usize, usize, f32)> {
    let step = from as f32 / to as f32;
    (0..to)
        .map(|i| {
            let at = ((i as f32 + 0.5) * step - 0.5).clamp(0.0, (from - 1) as f32);
            let first = at as usize;
            (first, (first + 1).min(from - 1), at - first as f32)
        })
        .collect()
}

/// For each of `to` new pixels: the first old one it covers and the share of each, summing to 1.
fn shares(from: usize, to: usize) -> Vec<(usize, Vec<f32>)> {
    let step = from as f32 / to as f32;
    (0..to)
        .map(|i| {
            let (start, end) = (i as f32 * step, (i + 1) as f32 * step);
            let first = (start as usize).min(from - 1);
            let last = ((end.ceil() as usize).max(first + 1)).min(from);
            let weights: Vec<f32> = (first..last)
                .map(|k| (end.min((k + 1) as f32) - start.max(k as f32)).max(0.0))
                .collect();
            let sum: f32 = weights.iter().sum::<f32>().max(f32::MIN_POSITIVE);
            (first, weights.iter().map(|w| w / sum).collect())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_constant_stays_constant() {
        let p = Plane::filled(7, 5, 3.5);
        for q in [p.blurred(2.0), p.resized(3, 4), p.resized(14, 10)] {
            assert!(q.data().iter().all(|v| (v - 3.5).abs() < 1e-5), "{q:?}");
        }
    }

    #[test]
    fn halving_takes_means_of_four() {
        let p = Plane::from_fn(4, 2, |x, y| (x + 10 * y) as f32);
        assert_eq!(p.resized(2, 1).data(), [5.5, 7.5]);
    }

    #[test]
    fn between_pixels_is_linear() {
        let p = Plane::from_fn(3, 3, |x, y| x as f32 + 4.0 * y as f32);
        assert!((p.sample(0.5, 1.25) - 5.5).abs() < 1e-6);
        assert_eq!(p.sample(-3.0, 9.0), 8.0);
    }

    #[test]
    fn stretching_by_whole_times_is_interpolating() {
        let p = Plane::from_fn(5, 3, |x, y| ((x * 7 + y * 3) % 11) as f32);
        for times in [2, 3, 4] {
            let big = p.stretched(5 * times, 3 * times);
            for y in 0..3 * times {
                for x in 0..5 * times {
                    let at = |i: usize| (i as f32 + 0.5) / times as f32 - 0.5;
                    let off = (big.at(x, y) - p.sample(at(x), at(y))).abs();
                    assert!(off < 1e-5, "({x}, {y}) of {times}");
                }
            }
        }
    }

    #[test]
    fn mirroring_repeats_the_rim() {
        let seen: Vec<usize> = (-3..6).map(|i| mirrored(i, 3)).collect();
        assert_eq!(seen, [2, 1, 0, 0, 1, 2, 2, 1, 0]);
    }
}
