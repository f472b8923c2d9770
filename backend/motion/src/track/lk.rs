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
    /// How fast pixels count less away from the window's middle: the sigma of a Gaussian, in pixels, at least 0.1. Default
    /// infinite, as Bouguet has it: all count alike.
    pub focus_px: f32,
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
            focus_px: f32::INFINITY,
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
    weights: Weights,
}

impl Windows {
    /// Room for the windows of such a search.
    pub(crate) fn new(options: &LkOptions) -> Self {
        let levels = 0..options.levels.max(1);
        let side = (options.window_px | 1).clamp(3, MOST_SIDE);
        Self {
            levels: levels.map(|_| Window::new(side)).collect(),
            weights: weights(side, options.focus_px),
        }
    }

    /// Becomes the windows around `point` of a picture.
    pub(crate) fn cut(&mut self, from: &Pyramid, point: [f32; 2], options: &LkOptions) {
        for window in &mut self.levels {
            window.good = false;
        }
        for (index, (window, level)) in self.levels.iter_mut().zip(&from.levels).enumerate() {
            let at = point.map(|v| v / (1 << index) as f32);
            cut(window, level, at, &self.weights, options.flat);
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
    fn cut(window: &mut Window, level: &Level, point: [f32; 2], weights: &Weights, flat: f32) = Window::cut
}

wide! {
    fn find(window: &Window, level: &Level, start: [f32; 2], options: &LkOptions) -> Option<[f32; 2]> = Window::find
}

/// A row of a window.
type Row = [f32; LANES];

/// A window's picture with a pixel more on every side.
type Wide = [[f32; LANES + 2]; MOST_SIDE + 2];

/// How much each pixel of a window counts; 0 past its side.
type Weights = [Row; MOST_SIDE];

fn weights(side: usize, focus_px: f32) -> Weights {
    let mut along = [0.0; LANES];
    for (i, weight) in along.iter_mut().enumerate().take(side) {
        let away = (i as f32 - (side / 2) as f32) / focus_px.max(0.1);
        *weight = (-0.5 * away * away).exp();
    }
    std::array::from_fn(|y| along.map(|weight| along[y] * weight))
}

/// The part of a picture around a point, with its gradients and the inverse of their matrix; a row takes [`LANES`] numbers.
///
/// Loops run along whole rows, element by element, and sums are kept a column each: so they are vectorised.
struct Window {
    side: usize,
    /// Whether it says anything.
    good: bool,
    value: [Row; MOST_SIDE],
    /// Gradients times the weight.
    across: [Row; MOST_SIDE],
    down: [Row; MOST_SIDE],
    /// xx, xy and yy of the inverse.
    inverse: [f32; 3],
}

impl Window {
    fn new(side: usize) -> Self {
        Self {
            side,
            good: false,
            value: [[0.0; LANES]; MOST_SIDE],
            across: [[0.0; LANES]; MOST_SIDE],
            down: [[0.0; LANES]; MOST_SIDE],
            inverse: [0.0; 3],
        }
    }

    /// Becomes the window around `point`; it is good unless the point stands too far outside or the window is too flat.
    #[inline(always)]
    fn cut(&mut self, level: &Level, point: [f32; 2], weights: &Weights, flat: f32) {
        let mut wide = [[0.0; LANES + 2]; MOST_SIDE + 2];
        self.good = self.read(level, point, &mut wide).is_some();
        if self.good {
            let matrix = self.differentiate(&wide, weights);
            self.good = self.invert(matrix, flat);
        }
    }

    /// The picture around `point`, a pixel more on every side.
    #[inline(always)]
    fn read(&self, level: &Level, point: [f32; 2], wide: &mut Wide) -> Option<()> {
        let (corner, [u, v]) = corner(level, point, self.side / 2, 1)?;
        let mut above = between(level, corner, u)?;
        for (y, out) in wide.iter_mut().enumerate().take(self.side + 2) {
            let below = between(level, corner + (y + 1) * level.stride, u)?;
            for x in 0..LANES {
                out[x] = above[x] + v * (below[x] - above[x]);
            }
            above = below;
        }
        Some(())
    }

    /// Values and gradients by the kernel of Scharr (3 10 3 over 32); returns xx, xy and yy of the gradients' matrix.
    #[inline(always)]
    fn differentiate(&mut self, wide: &Wide, weights: &Weights) -> [f32; 3] {
        let [mut xx, mut xy, mut yy] = [[0.0; LANES]; 3];
        let rows = self.value.iter_mut().zip(&mut self.across);
        let rows = rows.zip(&mut self.down).zip(weights);
        let rows = rows.zip(wide.windows(3));
        for ((((value, across), down), weight), around) in rows.take(self.side) {
            let [a, b, c] = [&around[0], &around[1], &around[2]];
            let [mut v, mut wx, mut wy] = [[0.0; LANES]; 3];
            for x in 0..LANES {
                v[x] = b[x + 1];
                let corners = 3.0 * (a[x + 2] - a[x] + c[x + 2] - c[x]);
                let gx = (corners + 10.0 * (b[x + 2] - b[x])) / 32.0;
                let corners = 3.0 * (c[x] - a[x] + c[x + 2] - a[x + 2]);
                let gy = (corners + 10.0 * (c[x + 1] - a[x + 1])) / 32.0;
                wx[x] = gx * weight[x];
                wy[x] = gy * weight[x];
                xx[x] += wx[x] * gx;
                xy[x] += wx[x] * gy;
                yy[x] += wy[x] * gy;
            }
            (*value, *across, *down) = (v, wx, wy);
        }
        [xx, xy, yy].map(|columns| columns.iter().sum())
    }

    /// Inverts the gradients' matrix; false if its least eigenvalue is too small.
    #[inline(always)]
    fn invert(&mut self, [xx, xy, yy]: [f32; 3], flat: f32) -> bool {
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
        let [mut bx, mut by] = [[0.0; LANES]; 2];
        let mut above = between(level, corner, u)?;
        let rows = self.value.iter().zip(&self.across).zip(&self.down);
        for (y, ((value, gx), gy)) in rows.enumerate().take(self.side) {
            let below = between(level, corner + (y + 1) * level.stride, u)?;
            for x in 0..LANES {
                let off = above[x] + v * (below[x] - above[x]) - value[x];
                bx[x] += off * gx[x];
                by[x] += off * gy[x];
            }
            above = below;
        }
        Some([bx.iter().sum(), by.iter().sum()])
    }
}

/// The values a share `u` right of those of the level's data from `start` on; `None` past its end.
#[inline(always)]
fn between(level: &Level, start: usize, u: f32) -> Option<Row> {
    let row = level.data.get(start..)?.first_chunk::<{ LANES + 1 }>()?;
    let mut out = [0.0; LANES];
    for x in 0..LANES {
        out[x] = row[x] + u * (row[x + 1] - row[x]);
    }
    Some(out)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Plane;

    /// A patterned dot of radius 7 moved to the right by `by` before a pattern that moves as far to the left.
    fn dot(by: f32) -> Pyramid {
        let pattern = |x: f32, y: f32| 30.0 * ((x / 2.1).sin() + (y / 2.7 + x / 9.0).cos());
        let plane = Plane::from_fn(96, 64, |x, y| {
            let (x, y) = (x as f32 - 48.0, y as f32 - 32.0);
            let inside = (7.5 - (x - by).hypot(y)).clamp(0.0, 1.0);
            let (own, behind) = (150.0 + pattern(x - by, y), 110.0 + pattern(y, x + by));
            behind + inside * (own - behind)
        });
        Pyramid::new(&plane, 2)
    }

    #[test]
    fn what_lies_behind_a_small_part_pulls_less_at_it() {
        let followed = |focus_px: f32| {
            let options = LkOptions {
                levels: 2,
                focus_px,
                ..LkOptions::default()
            };
            let start = [48.0, 32.0];
            follow(&dot(0.0), &dot(0.8), start, start, &options)
        };
        let off = |to: Followed| (to.x - 48.8).hypot(to.y - 32.0);
        let (alike, focused) = (followed(f32::INFINITY), followed(3.0));
        assert!(alike.found && focused.found);
        let (alike, focused) = (off(alike), off(focused));
        assert!(focused < 0.1, "{focused}");
        assert!(alike > 2.0 * focused, "{alike} against {focused}");
        // A pixel alone tells no place.
        assert!(!followed(0.0).found && !followed(f32::NAN).found);
    }
}
