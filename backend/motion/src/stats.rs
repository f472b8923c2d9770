//! Order statistics.

/// The value below which the share `q` of `values` lies (nearest rank, reorders them); 0 of none. NaN counts as largest.
#[must_use]
pub fn quantile(values: &mut [f32], q: f32) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let rank = ((values.len() - 1) as f32 * q.clamp(0.0, 1.0)).round() as usize;
    *values.select_nth_unstable_by(rank, |a, b| a.total_cmp(b)).1
}

/// The middle value (reorders them); 0 of none.
#[must_use]
pub fn median(values: &mut [f32]) -> f32 {
    quantile(values, 0.5)
}

/// At most `most` indices out of `0..len`, evenly spread, first and last among them.
#[must_use]
pub fn spread(len: usize, most: usize) -> Vec<usize> {
    if len <= most {
        return (0..len).collect();
    }
    let last = most.max(2) - 1;
    (0..=last).map(|k| k * (len - 1) / last).collect()
}
