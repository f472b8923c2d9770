//! The cells of the change map.

use crate::plane::Plane;

/// Cells across.
pub const COLUMNS: usize = 16;
/// Cells down.
pub const ROWS: usize = 9;
/// Cells of a frame.
pub const CELLS: usize = COLUMNS * ROWS;

/// Mean of `value` over the pixels of each cell that are `seen`; 0 for cells of which less than `least` is seen.
pub(super) fn cell_means(value: &Plane, seen: &Plane, least: f32) -> [f32; CELLS] {
    let (width, height) = (value.width(), value.height());
    let mut out = [0.0; CELLS];
    let whole = (width * height) as f32 / CELLS as f32;
    // Down each column of pixels first: those loops can be vectorised.
    let (mut sums, mut counts) = (vec![0.0f32; width], vec![0.0f32; width]);
    for (row, out) in out.chunks_exact_mut(COLUMNS).enumerate() {
        sums.fill(0.0);
        counts.fill(0.0);
        for y in first(row, height, ROWS)..first(row + 1, height, ROWS) {
            let both = value.row(y).iter().zip(seen.row(y));
            for ((sum, count), (v, s)) in sums.iter_mut().zip(&mut counts).zip(both) {
                *sum += v * s;
                *count += s;
            }
        }
        for (column, out) in out.iter_mut().enumerate() {
            let cell = first(column, width, COLUMNS)..first(column + 1, width, COLUMNS);
            let count: f32 = counts[cell.clone()].iter().sum();
            if count >= least * whole {
                *out = sums[cell].iter().sum::<f32>() / count;
            }
        }
    }
    out
}

/// The first pixel of cell `k` where `pixels` are shared among `cells`.
fn first(k: usize, pixels: usize, cells: usize) -> usize {
    (k * pixels).div_ceil(cells)
}

/// The cells around cell `k`, itself left out, that lie inside.
pub(super) fn neighbours(k: usize) -> impl Iterator<Item = usize> {
    let (x, y) = ((k % COLUMNS) as isize, (k / COLUMNS) as isize);
    (-1..=1isize)
        .flat_map(move |dy| (-1..=1isize).map(move |dx| (x + dx, y + dy)))
        .filter(move |&(u, v)| {
            (u, v) != (x, y) && u >= 0 && v >= 0 && u < COLUMNS as isize && v < ROWS as isize
        })
        .map(|(u, v)| v as usize * COLUMNS + u as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pixel_counts_for_its_cell() {
        // 35 pixels do not divide by 16 columns, nor 20 by 9 rows.
        let value = Plane::from_fn(35, 20, |x, y| (y * 9 / 20 * 16 + x * 16 / 35) as f32);
        let seen = Plane::filled(35, 20, 1.0);
        let means = cell_means(&value, &seen, 0.1);
        assert!(
            means
                .iter()
                .enumerate()
                .all(|(k, m)| (m - k as f32).abs() < 1e-4)
        );
        assert_eq!(
            cell_means(&value, &Plane::filled(35, 20, 0.0), 0.6),
            [0.0; CELLS]
        );
    }
}
