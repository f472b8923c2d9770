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
    let mut sums = [0.0f32; CELLS];
    let mut counts = [0.0f32; CELLS];
    let across: Vec<usize> = (0..width).map(|x| x * COLUMNS / width).collect();
    for y in 0..height {
        let first = y * ROWS / height * COLUMNS;
        for ((v, s), c) in value.row(y).iter().zip(seen.row(y)).zip(&across) {
            sums[first + c] += v * s;
            counts[first + c] += s;
        }
    }
    let whole = (width * height) as f32 / CELLS as f32;
    let mut out = [0.0; CELLS];
    for ((o, sum), count) in out.iter_mut().zip(sums).zip(counts) {
        if count >= least * whole {
            *o = sum / count;
        }
    }
    out
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
