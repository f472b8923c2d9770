//! Finding the similarity that lays one picture on another.
//!
//! Robust Gauss-Newton over a pyramid (Lucas & Kanade 1981; Baker & Matthews 2004, forwards additive), with the weights of
//! Geman & McClure 1987: what moves by itself is outvoted by what stays.

use crate::plane::Plane;
use crate::similarity::Similarity;
use crate::stats::median;

/// How a registration is searched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Search {
    /// Sizes gone through, as parts of the full one: 4 is a quarter.
    pub levels: &'static [usize],
    /// Most steps at each size.
    pub steps: usize,
    /// A residual of this many median ones counts a quarter.
    pub outlier: f32,
    /// Added to that, in units of the pictures' values.
    pub outlier_floor: f32,
    /// Steps shorter than this end the search, in widths.
    pub still: f32,
}

impl Default for Search {
    fn default() -> Self {
        Self {
            levels: &[4, 2, 1],
            steps: 12,
            outlier: 1.5,
            outlier_floor: 0.05,
            still: 5e-5,
        }
    }
}

/// The similarity `p` near `start` for which each pair's second picture at `p(x)` is most like its first at `x`. All pairs
/// have one size. A direction in which the pictures say nothing is hardly moved along.
#[must_use]
pub fn register(pairs: &[(&Plane, &Plane)], start: Similarity, search: &Search) -> Similarity {
    let mut p = start;
    for &level in search.levels {
        let small: Vec<Slope> = pairs
            .iter()
            .map(|(fixed, moved)| Slope::of(fixed.shrunk(level), moved.shrunk(level)))
            .collect();
        for _ in 0..search.steps {
            let Some(step) = step(&small, &p, search) else {
                break;
            };
            p = Similarity {
                a: p.a + step[0],
                b: p.b + step[1],
                tx: p.tx + step[2],
                ty: p.ty + step[3],
            };
            if step.iter().all(|s| s.abs() < search.still) {
                break;
            }
        }
    }
    if [p.a, p.b, p.tx, p.ty].iter().all(|v| v.is_finite()) {
        p
    } else {
        start
    }
}

/// A pair of pictures with the slopes of the second.
struct Slope {
    fixed: Plane,
    moved: Plane,
    across: Plane,
    down: Plane,
}

impl Slope {
    fn of(fixed: Plane, moved: Plane) -> Self {
        let slope = [-0.5, 0.0, 0.5];
        Self {
            across: moved.filtered_across(&slope),
            down: moved.filtered_down(&slope),
            fixed,
            moved,
        }
    }
}

/// What the pixels of one pair say at a map: residuals, slopes of the second picture, and 1 where it has a pixel, else 0.
struct Sayings {
    off: Plane,
    across: Plane,
    down: Plane,
    seen: Plane,
}

impl Sayings {
    fn at(pair: &Slope, p: &Similarity) -> Self {
        let (width, height) = (pair.fixed.width(), pair.fixed.height());
        let mut off = p.warp(&pair.moved);
        for (o, f) in off.data_mut().iter_mut().zip(pair.fixed.data()) {
            *o -= f;
        }
        Self {
            off,
            across: p.warp(&pair.across),
            down: p.warp(&pair.down),
            seen: p.within(0.0, width, height),
        }
    }

    /// Sizes of some of the residuals.
    fn sizes(&self) -> impl Iterator<Item = f32> {
        let both = self.off.data().iter().zip(self.seen.data());
        both.step_by(ASKED)
            .filter(|&(_, &s)| s > 0.0)
            .map(|(e, _)| e.abs())
    }
}

/// Every so many-th residual is asked for the middle one; prime, so that they do not stand in columns.
const ASKED: usize = 3;

/// Pixels summed side by side, so that the sums can be vectorised.
const LANES: usize = 4;

/// The normal equations of a step: the upper triangle of the matrix, row by row, then the right side.
#[derive(Default)]
struct Normal([f64; 14]);

impl Normal {
    /// Adds all that the pixels of one pair say; a residual of `k` counts a quarter.
    fn add(&mut self, said: &Sayings, k: f32) {
        let (width, height) = (said.off.width(), said.off.height());
        let (cx, cy) = ((width as f32 - 1.0) / 2.0, (height as f32 - 1.0) / 2.0);
        let (side, inverse) = (width as f32, 1.0 / k);
        for y in 0..height {
            let [e, gx, gy, seen] =
                [&said.off, &said.across, &said.down, &said.seen].map(|plane| plane.row(y));
            let v = (y as f32 - cy) / side;
            let mut sums = [[0.0f32; LANES]; 14];
            for x in (0..width).step_by(LANES) {
                for lane in 0..LANES.min(width - x) {
                    let i = x + lane;
                    let u = (i as i32 as f32 - cx) / side;
                    let off = e[i] * inverse;
                    let trust = 1.0 / (1.0 + off * off);
                    let weight = seen[i] * trust * trust;
                    // Slopes are per pixel; in widths, as the parameters are, they are `side` times that.
                    let (gx, gy) = (gx[i] * side, gy[i] * side);
                    let j = [gx * u + gy * v, gy * u - gx * v, gx, gy];
                    let w = j.map(|j| weight * j);
                    let terms = [
                        w[0] * j[0],
                        w[0] * j[1],
                        w[0] * j[2],
                        w[0] * j[3],
                        w[1] * j[1],
                        w[1] * j[2],
                        w[1] * j[3],
                        w[2] * j[2],
                        w[2] * j[3],
                        w[3] * j[3],
                        w[0] * e[i],
                        w[1] * e[i],
                        w[2] * e[i],
                        w[3] * e[i],
                    ];
                    for (sum, term) in sums.iter_mut().zip(terms) {
                        sum[lane] += term;
                    }
                }
            }
            for (total, lanes) in self.0.iter_mut().zip(&sums) {
                *total += f64::from(lanes.iter().sum::<f32>());
            }
        }
    }

    /// The step, unless the equations do not determine it.
    fn step(&self) -> Option<[f32; 4]> {
        const AT: [[usize; 4]; 4] = [[0, 1, 2, 3], [1, 4, 5, 6], [2, 5, 7, 8], [3, 6, 8, 9]];
        let mut matrix = AT.map(|row| row.map(|at| self.0[at]));
        let right = [10, 11, 12, 13].map(|at| -self.0[at]);
        // A plain set leaves directions free: the ridge keeps them where they are.
        let ridge = 2e-4 * (0..4).map(|r| matrix[r][r]).sum::<f64>() + 1e-3;
        for (r, row) in matrix.iter_mut().enumerate() {
            row[r] += ridge;
        }
        solve(matrix, right).map(|x| x.map(|v| v as f32))
    }
}

fn step(pairs: &[Slope], p: &Similarity, search: &Search) -> Option<[f32; 4]> {
    let said: Vec<Sayings> = pairs.iter().map(|pair| Sayings::at(pair, p)).collect();
    let mut sizes: Vec<f32> = said.iter().flat_map(Sayings::sizes).collect();
    if sizes.len() < 64 / ASKED {
        return None;
    }
    let k = search.outlier * median(&mut sizes) + search.outlier_floor;
    let mut normal = Normal::default();
    for said in &said {
        normal.add(said, k);
    }
    normal.step()
}

/// Solves four equations by Gaussian elimination with pivots; `None` when they do not determine the unknowns.
fn solve(mut a: [[f64; 4]; 4], mut b: [f64; 4]) -> Option<[f64; 4]> {
    for k in 0..4 {
        let pivot = (k..4).max_by(|&r, &s| a[r][k].abs().total_cmp(&a[s][k].abs()))?;
        a.swap(k, pivot);
        b.swap(k, pivot);
        if a[k][k].abs() < 1e-12 || !a[k][k].is_finite() {
            return None;
        }
        let (pivot, at) = (a[k], b[k]);
        for (row, right) in a.iter_mut().zip(&mut b).skip(k + 1) {
            let share = row[k] / pivot[k];
            for (v, p) in row.iter_mut().zip(pivot).skip(k) {
                *v -= share * p;
            }
            *right -= share * at;
        }
    }
    let mut x = [0.0; 4];
    for k in (0..4).rev() {
        let rest: f64 = (k + 1..4).map(|c| a[k][c] * x[c]).sum();
        x[k] = (b[k] - rest) / a[k][k];
    }
    Some(x)
}

/// Pearson's correlation of `fixed` with `moved` at `p`, over the pixels `p` puts inside; 0 where either is constant.
#[must_use]
pub fn likeness(fixed: &Plane, moved: &Plane, p: &Similarity) -> f32 {
    let seen = p.within(0.01, moved.width(), moved.height());
    let moved = p.warp(moved);
    let mut n = 0.0f64;
    let (mut sa, mut sb, mut saa, mut sbb, mut sab) = (0.0f64, 0.0, 0.0, 0.0, 0.0);
    for ((a, b), seen) in fixed.data().iter().zip(moved.data()).zip(seen.data()) {
        let seen = f64::from(*seen);
        let (a, b) = (f64::from(*a), f64::from(*b));
        n += seen;
        sa += seen * a;
        sb += seen * b;
        saa += seen * a * a;
        sbb += seen * b * b;
        sab += seen * a * b;
    }
    let (va, vb) = (saa - sa * sa / n, sbb - sb * sb / n);
    if n < 16.0 || va < 1e-6 || vb < 1e-6 {
        return 0.0;
    }
    ((sab - sa * sb / n) / (va * vb).sqrt()) as f32
}

/// The share of pixels whose residual is below `limit` at `p`.
#[must_use]
pub fn agreement(fixed: &Plane, moved: &Plane, p: &Similarity, limit: f32) -> f32 {
    let seen = p.within(0.0, moved.width(), moved.height());
    let moved = p.warp(moved);
    let (mut all, mut close) = (0.0f32, 0.0f32);
    for ((a, b), seen) in fixed.data().iter().zip(moved.data()).zip(seen.data()) {
        all += seen;
        close += seen * f32::from(u8::from((b - a).abs() < limit));
    }
    close / all.max(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blobs() -> Plane {
        Plane::from_fn(256, 144, |x, y| {
            let (x, y) = (x as f32, y as f32);
            (x * 0.11).sin() * (y * 0.17).cos() + 0.5 * (x * 0.037 + y * 0.05).sin()
        })
    }

    #[test]
    fn a_known_similarity_is_found_again() {
        let fixed = blobs();
        let truth = Similarity {
            a: 0.03,
            b: -0.02,
            tx: 0.021,
            ty: -0.012,
        };
        let moved = truth.inverse().warp(&fixed);
        let found = register(
            &[(&fixed, &moved)],
            Similarity::IDENTITY,
            &Search::default(),
        );
        assert!(found.distance(&truth) * 256.0 < 0.15, "{found:?}");
        assert!(likeness(&fixed, &moved, &found) > 0.99);
    }

    #[test]
    fn a_plain_picture_moves_nothing() {
        let flat = Plane::filled(64, 36, 0.3);
        let found = register(&[(&flat, &flat)], Similarity::IDENTITY, &Search::default());
        assert_eq!(found, Similarity::IDENTITY);
    }
}
