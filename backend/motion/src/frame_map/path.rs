//! From posteriors to one answer per frame: a path that never goes back, smoothed between its breaks.

use super::Place;
use super::band::Table;
use super::chain::Posterior;
use super::stretch::BREAK;

/// Old frames on either side of the path whose chance counts for it.
const WITHIN: usize = 2;

/// The answer for each new frame. `trust` is multiplied into every confidence.
pub(crate) fn places(posterior: &Posterior, fixed: &[Option<usize>], trust: f32) -> Vec<Place> {
    let path = best_path(posterior);
    let mut means = vec![];
    let mut out = vec![];
    for (i, at) in path.iter().enumerate() {
        let anchored = fixed.get(i).copied().flatten();
        let (mean, variance, mass) = around(&posterior.pairs, i, at.unwrap_or(0));
        match (anchored, at) {
            (Some(j), _) => {
                means.push(Some((j as f32, 1e-6)));
                out.push(Place::at(j as f32, 1.0));
            }
            (None, Some(_)) => {
                means.push(Some((mean, variance)));
                out.push(Place::at(mean, mass * trust));
            }
            (None, None) => {
                means.push(None);
                out.push(Place::none(posterior.none[i] * trust));
            }
        }
    }
    smooth(&means, posterior.pairs.band().columns(), &mut out);
    out
}

/// The path that never goes back and holds most chance: each frame's is that of the old frames next to it, or of having no
/// counterpart. `None` where the latter is larger.
fn best_path(posterior: &Posterior) -> Vec<Option<usize>> {
    let pairs = &posterior.pairs;
    let band = pairs.band();
    let mut back = Table::filled(band, 0u32);
    // The best sum so far that ends at or before each column, and where it does.
    let mut best: Vec<(f32, u32)> = vec![(0.0, 0); band.columns()];
    for i in 0..band.rows() {
        let run = band.row(i);
        let mut sums: Vec<f32> = vec![];
        for (k, j) in run.clone().enumerate() {
            let (before, from) = best[j];
            back.row_mut(i)[k] = from;
            sums.push(before + near(pairs.row(i), k).max(posterior.none[i]));
        }
        let mut reached = (f32::NEG_INFINITY, 0);
        for (k, j) in run.clone().enumerate() {
            if sums[k] > reached.0 {
                reached = (sums[k], j as u32);
            }
            best[j] = reached;
        }
        best[..run.start].fill((f32::NEG_INFINITY, run.start as u32));
        best[run.end..].fill(reached);
    }
    let mut path = vec![None; band.rows()];
    let mut at = best.last().map_or(0, |b| b.1 as usize);
    for i in (0..band.rows()).rev() {
        let run = band.row(i);
        let k = at.clamp(run.start, run.end - 1) - run.start;
        path[i] = (near(pairs.row(i), k) >= posterior.none[i]).then_some(run.start + k);
        at = back.row(i)[k] as usize;
    }
    path
}

fn near(row: &[f32], k: usize) -> f32 {
    row[k.saturating_sub(1)..(k + 2).min(row.len())]
        .iter()
        .sum()
}

/// Mean, variance and chance of the old frames around `j` on row `i`.
fn around(pairs: &Table<f32>, i: usize, j: usize) -> (f32, f32, f32) {
    let (mut mass, mut sum, mut square) = (0.0f32, 0.0f32, 0.0f32);
    for k in j.saturating_sub(WITHIN)..=j + WITHIN {
        let p = pairs.get(i, k).unwrap_or(0.0);
        let d = k as f32 - j as f32;
        mass += p;
        sum += p * d;
        square += p * d * d;
    }
    if mass <= 0.0 {
        return (j as f32, 1.0, 0.0);
    }
    let mean = sum / mass;
    (
        j as f32 + mean,
        (square / mass - mean * mean).max(0.0),
        mass.min(1.0),
    )
}

/// Least squares with weights `1 / (0.03 + variance)` and a curvature weight of 1, between breaks; then never going back.
fn smooth(means: &[Option<(f32, f32)>], columns: usize, out: &mut [Place]) {
    let mut start = 0;
    while start < means.len() {
        let Some(first) = means[start] else {
            start += 1;
            continue;
        };
        let mut end = start + 1;
        let mut last = first.0;
        while let Some(Some((mean, _))) = means.get(end)
            && (mean - last).abs() <= BREAK
        {
            last = *mean;
            end += 1;
        }
        let stretch: Vec<(f32, f32)> = means[start..end].iter().flatten().copied().collect();
        let mut smoothed = flattest(&stretch);
        rising(&mut smoothed);
        for (place, x) in out[start..end].iter_mut().zip(smoothed) {
            place.old = Some(x.clamp(0.0, columns.saturating_sub(1) as f32));
        }
        start = end;
    }
    let mut highest = 0.0f32;
    for place in out {
        if let Some(x) = &mut place.old {
            highest = highest.max(*x);
            *x = highest;
        }
    }
}

/// Minimises `sum w (x - m)^2 + sum (x[i-1] - 2 x[i] + x[i+1])^2`: five diagonals, solved by Cholesky's L D L'.
fn flattest(stretch: &[(f32, f32)]) -> Vec<f32> {
    let n = stretch.len();
    let mut diagonal: Vec<f64> = vec![0.0; n];
    let (mut one, mut two) = (vec![0.0f64; n], vec![0.0f64; n]);
    let mut x = vec![0.0f64; n];
    for (i, &(mean, variance)) in stretch.iter().enumerate() {
        let weight = 1.0 / (0.03 + f64::from(variance));
        diagonal[i] += weight;
        x[i] = weight * f64::from(mean);
    }
    for i in 1..n.saturating_sub(1) {
        for (k, v) in [(i - 1, 1.0), (i, 4.0), (i + 1, 1.0)] {
            diagonal[k] += v;
        }
        one[i - 1] -= 2.0;
        one[i] -= 2.0;
        two[i - 1] += 1.0;
    }
    // one[i] is the entry (i, i + 1), two[i] is (i, i + 2).
    for i in 0..n {
        let d = diagonal[i];
        let (l1, l2) = (one[i] / d, two[i] / d);
        if i + 1 < n {
            diagonal[i + 1] -= l1 * one[i];
            one[i + 1] -= l1 * two[i];
            x[i + 1] -= l1 * x[i];
        }
        if i + 2 < n {
            diagonal[i + 2] -= l2 * two[i];
            x[i + 2] -= l2 * x[i];
        }
        (one[i], two[i]) = (l1, l2);
    }
    for i in (0..n).rev() {
        x[i] /= diagonal[i];
    }
    for i in (0..n).rev() {
        if i + 1 < n {
            x[i] -= one[i] * x[i + 1];
        }
        if i + 2 < n {
            x[i] -= two[i] * x[i + 2];
        }
    }
    x.into_iter().map(|v| v as f32).collect()
}

/// The mean of the smallest row above that never falls and the largest below.
fn rising(x: &mut [f32]) {
    let mut above = x.to_vec();
    for i in 1..above.len() {
        above[i] = above[i].max(above[i - 1]);
    }
    for i in (0..x.len().saturating_sub(1)).rev() {
        x[i] = x[i].min(x[i + 1]);
    }
    for (x, a) in x.iter_mut().zip(above) {
        *x = 0.5 * (*x + a);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_row_stays_and_a_kink_is_eased() {
        let straight: Vec<(f32, f32)> = (0..9).map(|i| (i as f32, 0.2)).collect();
        let out = flattest(&straight);
        assert!(
            out.iter()
                .enumerate()
                .all(|(i, x)| (x - i as f32).abs() < 1e-4),
            "{out:?}"
        );
        let mut kink = straight;
        kink[4].0 = 5.0;
        let out = flattest(&kink);
        assert!(out[4] > 4.0 && out[4] < 4.9, "{out:?}");
    }
}
