//! Dynamic time warping, the plain way to lay one row on another; what a frame map is measured against.

/// The cost and the path of the cheapest warping of a table of local costs (`rows` by `columns`, row by row) from corner to
/// corner, a step along both sides counting twice (Sakoe & Chiba 1978, symmetric form, P = 0; "symmetric2" of dtw-python).
/// `None` unless the table holds `rows * columns` costs and at least one. Time and memory are those of the table.
#[must_use]
pub fn warp(costs: &[f64], rows: usize, columns: usize) -> Option<(f64, Vec<(usize, usize)>)> {
    if rows == 0 || columns == 0 || costs.len() != rows * columns {
        return None;
    }
    let mut sums = vec![f64::INFINITY; costs.len()];
    let mut from = vec![0u8; costs.len()];
    for i in 0..rows {
        for j in 0..columns {
            let at = i * columns + j;
            let cost = costs[at];
            if at == 0 {
                sums[0] = cost;
                continue;
            }
            let mut least = (f64::INFINITY, 0);
            if i > 0 && j > 0 {
                least = (sums[at - columns - 1] + 2.0 * cost, 0);
            }
            if j > 0 && sums[at - 1] + cost < least.0 {
                least = (sums[at - 1] + cost, 1);
            }
            if i > 0 && sums[at - columns] + cost < least.0 {
                least = (sums[at - columns] + cost, 2);
            }
            (sums[at], from[at]) = least;
        }
    }
    let (mut i, mut j) = (rows - 1, columns - 1);
    let mut path = vec![(i, j)];
    while (i, j) != (0, 0) {
        match from[i * columns + j] {
            0 => (i, j) = (i - 1, j - 1),
            1 => j -= 1,
            _ => i -= 1,
        }
        path.push((i, j));
    }
    path.reverse();
    Some((sums[costs.len() - 1], path))
}
