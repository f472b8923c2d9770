//! How many frames one movement is behind another.

use super::series::mean;

/// How many samples `b` is later than `a` (below 0: earlier), to a fraction of a sample: the maximum of their cross-correlation over
/// lags of at most `most`, refined by the parabola through it and its neighbours. Samples that are not finite count as the mean.
///
/// None if the rows are not of one length, shorter than 3, or one of them is constant. Good to about 0.05 samples on smooth rows.
#[must_use]
pub fn lag(a: &[f64], b: &[f64], most: usize) -> Option<f64> {
    if a.len() != b.len() || a.len() < 3 {
        return None;
    }
    let centred = |row: &[f64]| -> Vec<f64> {
        let m = mean(row.iter().copied());
        row.iter()
            .map(|v| if v.is_finite() { v - m } else { 0.0 })
            .collect()
    };
    let (a, b) = (centred(a), centred(b));
    let size = |row: &[f64]| row.iter().map(|v| v * v).sum::<f64>();
    let scale = (size(&a) * size(&b)).sqrt();
    if !(scale > 0.0 && scale.is_finite()) {
        return None;
    }
    let most = most.min(a.len() - 2) as isize;
    let at = |lag: isize| -> f64 {
        let by = lag.unsigned_abs();
        let (early, late) = if lag >= 0 { (&a, &b) } else { (&b, &a) };
        early
            .iter()
            .zip(&late[by..])
            .map(|(x, y)| x * y)
            .sum::<f64>()
            / scale
    };
    let best =
        (-most..=most).max_by(|x, y| at(*x).total_cmp(&at(*y)).then(y.abs().cmp(&x.abs())))?;
    let (before, top, after) = (at(best - 1), at(best), at(best + 1));
    let bow = before - 2.0 * top + after;
    let off = if bow < 0.0 {
        (0.5 * (before - after) / bow).clamp(-0.5, 0.5)
    } else {
        0.0
    };
    Some(best as f64 + off)
}
