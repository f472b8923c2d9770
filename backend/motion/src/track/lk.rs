//! Following points from one picture to the next by the method of Lucas and Kanade (1981) on pyramids, in the form of
//! Bouguet, "Pyramidal implementation of the Lucas Kanade feature tracker" (2000).

use super::pyramid::{Level, Pyramid, RIM};
use crate::wide::{split, wide};

/// Numbers kept a row of a window, a multiple of the machine's vectors; those past the window's width are 0.
const LANES: usize = 24;

/// The largest window.
const MOST_SIDE: usize = 21;

/// How points are followed.
#[derive(Debug, Clone, PartialEq)]
pub struct LkOptions {
    /// Side of the square window in pixels, odd, 3 to 21. Default 17.
    pub window_px: usize,
    /// Levels of the pyramid used, at least 1. Default 4.
    pub levels: usize,
    /// Most steps of the iteration on a level. Default 20.
    pub steps: usize,
    /// A step shorter than this ends the iteration, in pixels. Default 0.01.
    pub precision_px: f32,
    /// Least eigenvalue of the window's gradient matrix over its area, in squared levels of 255 a pixel; a flatter window
    /// leaves the level's guess as it is. Default 0.001.
    pub flat: f32,
}

impl Default for LkOptions {
    fn default() -> Self {
        Self {
            window_px: 17,
            levels: 4,
            steps: 20,
            precision_px: 0.01,
            flat: 1e-3,
        }
    }
}

/// Where a point went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Followed {
    /// Pixels from the left edge of the second picture, (0, 0) being the middle of the first pixel.
    pub x: f32,
    /// Pixels down.
    pub y: f32,
    /// False where the window was too flat on the finest level, or the point left the picture by more than half a window.
    pub found: bool,
}

/// Follows one point of `from` to `to`, beginning the search at `start` (pixels of the finest level).
///
/// Sub-pixel: on textured pictures the median difference to OpenCV's `calcOpticalFlowPyrLK` is below 0.01 px. Moves of more
/// than about `window_px / 2 * 2^(levels - 1)` pixels from the start are out of reach. Cost O(levels * steps * window²).
#[must_use]
pub fn follow(
    from: &Pyramid,
    to: &Pyramid,
    point: [f32; 2],
    start: [f32; 2],
    options: &LkOptions,
) -> Followed {
    let mut windows = Windows::new(options);
    windows.cut(from, point, options);
    windows.follow(to, start, options)
}

/// What a point of a picture is followed by: the windows around it, one a level.
pub(crate) struct Windows {
    levels: Vec<Window>,
}

impl Windows {
    /// Room for the windows of such a search.
    pub(crate) fn new(options: &LkOptions) -> Self {
        let levels = 0..options.levels.max(1);
        Self {
            levels: levels.map(|_| Window::new(options)).collect(),
        }
    }

    /// Becomes the windows around `point` of a picture.
    pub(crate) fn cut(&mut self, from: &Pyramid, point: [f32; 2], options: &LkOptions) {
        for window in &mut self.levels {
            window.good = false;
        }
        for (index, (window, level)) in self.levels.iter_mut().zip(&from.levels).enumerate() {
            let at = point.map(|v| v / (1 << index) as f32);
            cut(window, level, at, options.flat);
        }
    }

    /// Where the point went in the picture `to`, see [`follow`].
    pub(crate) fn follow(&self, to: &Pyramid, start: [f32; 2], options: &LkOptions) -> Followed {
        let levels = self.levels.len().min(to.levels.len());
        let mut at = start.map(|v| v / (1 << levels.saturating_sub(1)) as f32);
        let mut found = false;
        let both = self.levels.iter().zip(&to.levels).enumerate().take(levels);
        for (index, (window, level)) in both.rev() {
            found = false;
            if window.good
                && let Some(better) = find(window, level, at, options)
            {
                at = better;
                found = true;
            }
            if index > 0 {
                at = at.map(|v| v * 2.0);
            }
        }
        Followed {
            x: at[0],
            y: at[1],
            found,
        }
    }
}

wide! {
    fn cut(window: &mut Window, level: &Level, point: [f32; 2], flat: f32) = Window::cut
}

wide! {
    fn find(window: &Window, level: &Level, start: [f32; 2], options: &LkOptions) -> Option<[f32; 2]> = Window::find
}

/// Numbers of a window.
const AREA: usize = MOST_SIDE * LANES;

/// The part of a picture around a point, with its gradients and the inverse of their matrix; a row takes [`LANES`] numbers.
///
/// Loops run along whole rows, element by element, and sums are kept a column each: so they are vectorised.
struct Window {
    side: usize,
    /// Whether it says anything.
    good: bool,
    value: [f32; AREA],
    across: [f32; AREA],
    down: [f32; AREA],
    /// xx, xy and yy of the inverse.
    inverse: [f32; 3],
}

impl Window {
    fn new(options: &LkOptions) -> Self {
        Self {
            side: (options.window_px | 1).clamp(3, MOST_SIDE),
            good: false,
            value: [0.0; AREA],
            across: [0.0; AREA],
            down: [0.0; AREA],
            inverse: [0.0; 3],
        }
    }

    /// Becomes the window around `point`; it is good unless the point stands too far outside or the window is too flat.
    #[inline(always)]
    fn cut(&mut self, level: &Level, point: [f32; 2], flat: f32) {
        let mut wide = [0.0; AREA + 2 * LANES];
        self.good = self.read(level, point, &mut wide).is_some();
        if self.good {
            self.differentiate(&wide);
            self.good = self.invert(flat);
        }
    }

    /// The picture around `point`, a pixel more on every side.
    #[inline(always)]
    fn read(
        &self,
        level: &Level,
        point: [f32; 2],
        wide: &mut [f32; AREA + 2 * LANES],
    ) -> Option<()> {
        let n = self.side + 2;
        let (corner, [u, v]) = corner(level, point, self.side / 2, 1)?;
        for (y, out) in wide.chunks_exact_mut(LANES).enumerate().take(n) {
            let start = corner + y * level.stride;
            let out = &mut out[..n];
            let top = level.data.get(start..=start + n)?;
            let bottom = level
                .data
                .get(start + level.stride..=start + level.stride + n)?;
            for (x, out) in out.iter_mut().enumerate() {
                let above = top[x] + u * (top[x + 1] - top[x]);
                let below = bottom[x] + u * (bottom[x + 1] - bottom[x]);
                *out = above + v * (below - above);
            }
        }
        Some(())
    }

    /// Values and gradients by the kernel of Scharr (3 10 3 over 32), columns past the side left 0.
    #[inline(always)]
    fn differentiate(&mut self, wide: &[f32; AREA + 2 * LANES]) {
        let n = self.side;
        for y in 0..n {
            let [a, b, c] = [y, y + 1, y + 2].map(|y| &wide[y * LANES..][..n + 2]);
            let own = y * LANES..y * LANES + n;
            let value = &mut self.value[own.clone()];
            let across = &mut self.across[own.clone()];
            let down = &mut self.down[own];
            for x in 0..n {
                value[x] = b[x + 1];
                across[x] =
                    (3.0 * (a[x + 2] - a[x] + c[x + 2] - c[x]) + 10.0 * (b[x + 2] - b[x])) / 32.0;
                down[x] = (3.0 * (c[x] - a[x] + c[x + 2] - a[x + 2])
                    + 10.0 * (c[x + 1] - a[x + 1]))
                    / 32.0;
            }
        }
    }

    /// Inverts the gradients' matrix; false if its least eigenvalue is too small.
    #[inline(always)]
    fn invert(&mut self, flat: f32) -> bool {
        let [mut xx, mut xy, mut yy] = [[0.0; LANES]; 3];
        let rows = self
            .across
            .chunks_exact(LANES)
            .zip(self.down.chunks_exact(LANES));
        for (gx, gy) in rows.take(self.side) {
            for i in 0..LANES {
                xx[i] += gx[i] * gx[i];
                xy[i] += gx[i] * gy[i];
                yy[i] += gy[i] * gy[i];
            }
        }
        let [xx, xy, yy] = [xx, xy, yy].map(|columns| columns.iter().sum::<f32>());
        let area = (self.side * self.side) as f32;
        let least = 0.5 * (xx + yy - ((xx - yy).powi(2) + 4.0 * xy * xy).sqrt()) / area;
        let determinant = xx * yy - xy * xy;
        self.inverse = [yy, -xy, xx].map(|v| v / determinant);
        least >= flat && determinant > f32::EPSILON
    }

    /// Where this window lies in `level`, from `start`; `None` if it leaves the picture.
    #[inline(always)]
    fn find(&self, level: &Level, start: [f32; 2], options: &LkOptions) -> Option<[f32; 2]> {
        let mut at = start;
        let mut last = [0.0f32; 2];
        for step in 0..options.steps {
            let [bx, by] = self.mismatch(level, at)?;
            let [xx, xy, yy] = self.inverse;
            let delta = [-(xx * bx + xy * by), -(xy * bx + yy * by)];
            at = [at[0] + delta[0], at[1] + delta[1]];
            if delta[0] * delta[0] + delta[1] * delta[1] < options.precision_px.powi(2) {
                break;
            }
            let swings = (delta[0] + last[0]).abs() < 0.01 && (delta[1] + last[1]).abs() < 0.01;
            if step > 0 && swings {
                at = [at[0] - 0.5 * delta[0], at[1] - 0.5 * delta[1]];
                break;
            }
            last = delta;
        }
        inside(level, at, self.side / 2).then_some(at)
    }

    /// The difference of `level` around `at` to this window, weighted by the window's gradients.
    #[inline(always)]
    fn mismatch(&self, level: &Level, at: [f32; 2]) -> Option<[f32; 2]> {
        let (corner, [u, v]) = corner(level, at, self.side / 2, 0)?;
        let [mut above, mut bx, mut by] = [[0.0; LANES]; 3];
        let row = level.data.get(corner..=corner + LANES)?;
        for x in 0..LANES {
            above[x] = row[x] + u * (row[x + 1] - row[x]);
        }
        for y in 0..self.side {
            let start = corner + (y + 1) * level.stride;
            let row = level.data.get(start..=start + LANES)?;
            let [value, gx, gy] =
                [&self.value, &self.across, &self.down].map(|of| &of[y * LANES..][..LANES]);
            for x in 0..LANES {
                let below = row[x] + u * (row[x + 1] - row[x]);
                let off = above[x] + v * (below - above[x]) - value[x];
                bx[x] += off * gx[x];
                by[x] += off * gy[x];
                above[x] = below;
            }
        }
        Some([bx.iter().sum(), by.iter().sum()])
    }
}

/// Whether a window with that half side around `point` still touches the picture.
#[inline(always)]
fn inside(level: &Level, point: [f32; 2], half: usize) -> bool {
    let half = half as f32;
    let fits = |v: f32, size: usize| v >= -half && v <= (size - 1) as f32 + half;
    fits(point[0], level.width) && fits(point[1], level.height)
}

/// Where the window's first value stands in the level's data, and the fractions right and down of it; `more` pixels are
/// added on every side.
#[inline(always)]
fn corner(level: &Level, point: [f32; 2], half: usize, more: usize) -> Option<(usize, [f32; 2])> {
    if !inside(level, point, half) {
        return None;
    }
    let reach = (half + more) as f32;
    let [x, y] = point.map(|v| v - reach);
    // Counted from the rim's corner, so that cutting is rounding down.
    let (x, y) = (x + RIM as f32, y + RIM as f32);
    let ((left, u), (top, v)) = (split(x), split(y));
    Some((top * level.stride + left, [u, v]))
}

const _: () = assert!(MOST_SIDE + 2 <= LANES && MOST_SIDE + 3 <= RIM);
