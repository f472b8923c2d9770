//! Arithmetic on places and numbers over time. A lost place is NaN in both coordinates and makes whatever uses it NaN.

/// A place, in standing heights.
pub(crate) type V2 = [f64; 2];

/// A lost place.
pub(crate) const LOST: V2 = [f64::NAN, f64::NAN];

pub(crate) fn sub(a: V2, b: V2) -> V2 {
    [a[0] - b[0], a[1] - b[1]]
}

pub(crate) fn norm(a: V2) -> f64 {
    a[0].hypot(a[1])
}

pub(crate) fn dot(a: V2, b: V2) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// Places of `a` as seen from `b`.
pub(crate) fn relative(a: &[V2], b: &[V2]) -> Vec<V2> {
    a.iter().zip(b).map(|(a, b)| sub(*a, *b)).collect()
}

/// Way covered into each frame; the first frame has none.
pub(crate) fn gaps(path: &[V2]) -> Vec<f64> {
    let mut out = vec![f64::NAN; path.len().min(1)];
    out.extend(path.windows(2).map(|w| norm(sub(w[1], w[0]))));
    out
}

/// Fourth differences centred on each frame, (1, -4, 6, -4, 1); NaN within two frames of the ends.
pub(crate) fn fourth_differences(path: &[V2]) -> Vec<V2> {
    let mut out = vec![LOST; path.len()];
    for (f, w) in path.windows(5).enumerate() {
        let axis = |i: usize| w[0][i] - 4.0 * w[1][i] + 6.0 * w[2][i] - 4.0 * w[3][i] + w[4][i];
        out[f + 2] = [axis(0), axis(1)];
    }
    out
}

/// The quantile `q` (0..=1) of the finite values, linear between neighbours; NaN of none.
pub(crate) fn quantile(values: impl IntoIterator<Item = f64>, q: f64) -> f64 {
    let mut sorted: Vec<f64> = values.into_iter().filter(|v| v.is_finite()).collect();
    if sorted.is_empty() {
        return f64::NAN;
    }
    sorted.sort_unstable_by(f64::total_cmp);
    let at = q.clamp(0.0, 1.0) * (sorted.len() - 1) as f64;
    let low = at.floor() as usize;
    let high = (low + 1).min(sorted.len() - 1);
    sorted[low] + (sorted[high] - sorted[low]) * (at - low as f64)
}

pub(crate) fn median(values: impl IntoIterator<Item = f64>) -> f64 {
    quantile(values, 0.5)
}

/// Mean of the finite values; NaN of none.
pub(crate) fn mean(values: impl IntoIterator<Item = f64>) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for value in values.into_iter().filter(|v| v.is_finite()) {
        sum += value;
        count += 1.0;
    }
    sum / count
}

/// Standard deviation of the finite values about their mean (divisor n - 1); NaN of fewer than two.
pub(crate) fn deviation(values: &[f64]) -> f64 {
    let m = mean(values.iter().copied());
    let finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let squares: f64 = finite.iter().map(|v| (v - m) * (v - m)).sum();
    (squares / (finite.len() as f64 - 1.0)).sqrt()
}

/// The largest finite value.
pub(crate) fn largest(values: impl IntoIterator<Item = f64>) -> Option<f64> {
    values
        .into_iter()
        .filter(|v| v.is_finite())
        .max_by(f64::total_cmp)
}

/// Root mean square distance of the places from their mean; NaN if one of them is lost or there are none.
pub(crate) fn travel(path: &[V2]) -> f64 {
    let n = path.len() as f64;
    let sum = path
        .iter()
        .fold([0.0, 0.0], |s, p| [s[0] + p[0], s[1] + p[1]]);
    let centre = [sum[0] / n, sum[1] / n];
    (path
        .iter()
        .map(|p| dot(sub(*p, centre), sub(*p, centre)))
        .sum::<f64>()
        / n)
        .sqrt()
}

/// Fills gaps of up to `longest` frames between two seen places on a straight line.
pub(crate) fn bridge(path: &mut [V2], longest: usize) {
    let mut last = None;
    for f in 0..path.len() {
        if path[f][0].is_nan() {
            continue;
        }
        if let Some(from) = last
            && f - from > 1
            && f - from <= longest + 1
        {
            let (a, b): (V2, V2) = (path[from], path[f]);
            for (k, place) in path[from + 1..f].iter_mut().enumerate() {
                let share = (k + 1) as f64 / (f - from) as f64;
                *place = [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share];
            }
        }
        last = Some(f);
    }
}

/// Which values are wild: farther than `n` scaled median absolute deviations from the median of the `2 k + 1` values about them
/// (Hampel 1974; the scale 1.4826 makes the deviation that of a normal distribution). Windows are cut short at the ends.
///
/// Nothing is replaced: a wild value can be the fault that is looked for.
#[must_use]
pub fn hampel(values: &[f64], k: usize, n: f64) -> Vec<bool> {
    (0..values.len())
        .map(|f| {
            let window = &values[f.saturating_sub(k)..(f + k + 1).min(values.len())];
            let centre = median(window.iter().copied());
            let spread = 1.4826 * median(window.iter().map(|v| (v - centre).abs()));
            (values[f] - centre).abs() > n * spread
        })
        .collect()
}

/// The range `from..to` of frames, cut to `0..frames`, signed so that it may begin before the clip.
pub(crate) fn clip(from: isize, to: isize, frames: usize) -> std::ops::Range<usize> {
    let end = usize::try_from(to).unwrap_or(0).min(frames);
    usize::try_from(from).unwrap_or(0).min(end)..end
}
