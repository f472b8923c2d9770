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

/// What one pixel says: residual, slope across, slope down, place (u, v).
type Saying = (f32, f32, f32, f32, f32);

fn step(pairs: &[Slope], p: &Similarity, search: &Search) -> Option<[f32; 4]> {
    let mut sayings: Vec<Saying> = vec![];
    for pair in pairs {
        listen(pair, p, &mut sayings);
    }
    if sayings.len() < 64 {
        return None;
    }
    let mut sizes: Vec<f32> = sayings.iter().map(|s| s.0.abs()).collect();
    let k = search.outlier * median(&mut sizes) + search.outlier_floor;
    let mut normal = [[0.0f64; 4]; 4];
    let mut right = [0.0f64; 4];
    for &(e, gx, gy, u, v) in &sayings {
        let weight = (1.0 + (e / k).powi(2)).powi(-2);
        let j = [gx * u + gy * v, gy * u - gx * v, gx, gy];
        for ((row, right), jr) in normal.iter_mut().zip(&mut right).zip(j) {
            for (n, jc) in row.iter_mut().zip(j) {
                *n += f64::from(weight * jr * jc);
            }
            *right -= f64::from(weight * jr * e);
        }
    }
    // A plain set leaves directions free: the ridge keeps them where they are.
    let ridge = 2e-4 * (0..4).map(|r| normal[r][r]).sum::<f64>() + 1e-3;
    for (r, row) in normal.iter_mut().enumerate() {
        row[r] += ridge;
    }
    solve(normal, right).map(|x| x.map(|v| v as f32))
}

fn listen(pair: &Slope, p: &Similarity, sayings: &mut Vec<Saying>) {
    let (width, height) = (pair.fixed.width(), pair.fixed.height());
    let side = width as f32;
    let (cx, cy) = ((side - 1.0) / 2.0, (height as f32 - 1.0) / 2.0);
    let fixed = pair.fixed.data();
    p.for_each(width, height, |i, x, y| {
        let inside = x >= 0.0 && y >= 0.0 && x <= side - 1.0 && y <= height as f32 - 1.0;
        if inside {
            let (u, v) = ((i % width) as f32 - cx, (i / width) as f32 - cy);
            let tap = pair.moved.tap(x, y);
            let e = pair.moved.tapped(&tap) - fixed[i];
            // Slopes are per pixel; in widths, as the parameters are, they are `side` times that.
            let gx = pair.across.tapped(&tap) * side;
            let gy = pair.down.tapped(&tap) * side;
            sayings.push((e, gx, gy, u / side, v / side));
        }
    });
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
    let mut n = 0.0f64;
    let (mut sa, mut sb, mut saa, mut sbb, mut sab) = (0.0f64, 0.0, 0.0, 0.0, 0.0);
    let (right, bottom) = (moved.width() as f32 - 1.0, moved.height() as f32 - 1.0);
    p.for_each(fixed.width(), fixed.height(), |i, x, y| {
        if x >= -0.01 && y >= -0.01 && x <= right + 0.01 && y <= bottom + 0.01 {
            let (a, b) = (f64::from(fixed.data()[i]), f64::from(moved.sample(x, y)));
            n += 1.0;
            sa += a;
            sb += b;
            saa += a * a;
            sbb += b * b;
            sab += a * b;
        }
    });
    let (va, vb) = (saa - sa * sa / n, sbb - sb * sb / n);
    if n < 16.0 || va < 1e-6 || vb < 1e-6 {
        return 0.0;
    }
    ((sab - sa * sb / n) / (va * vb).sqrt()) as f32
}

/// The share of pixels whose residual is below `limit` at `p`.
#[must_use]
pub fn agreement(fixed: &Plane, moved: &Plane, p: &Similarity, limit: f32) -> f32 {
    let (mut seen, mut close) = (0.0f32, 0.0f32);
    let (right, bottom) = (moved.width() as f32 - 1.0, moved.height() as f32 - 1.0);
    p.for_each(fixed.width(), fixed.height(), |i, x, y| {
        if x >= 0.0 && y >= 0.0 && x <= right && y <= bottom {
            seen += 1.0;
            close += f32::from(u8::from(
                (moved.sample(x, y) - fixed.data()[i]).abs() < limit,
            ));
        }
    });
    close / seen.max(1.0)
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
