//! Figures for the frame number burnt into some shots.

use super::camera::WIDTH;

/// Rows of each figure, three bits a row.
const SHAPES: [[u8; 5]; 10] = [
    [7, 5, 5, 5, 7],
    [2, 6, 2, 2, 7],
    [7, 1, 7, 4, 7],
    [7, 1, 3, 1, 7],
    [5, 5, 7, 1, 1],
    [7, 4, 7, 1, 7],
    [7, 4, 7, 5, 7],
    [7, 1, 2, 2, 2],
    [7, 5, 7, 5, 7],
    [7, 5, 7, 1, 7],
];
/// Pixels a dot.
const DOT: usize = 3;

/// Writes `number` with its left upper corner at (x, y).
pub fn burn_in(rgb: &mut [u8], number: usize, x: usize, y: usize) {
    for (n, figure) in format!("{number:04}").bytes().enumerate() {
        let shape = SHAPES[usize::from(figure - b'0')];
        for (row, bits) in shape.iter().enumerate() {
            for col in 0..3 {
                if bits & (4 >> col) != 0 {
                    dot(rgb, x + (n * 4 + col) * DOT, y + row * DOT);
                }
            }
        }
    }
}

fn dot(rgb: &mut [u8], x: usize, y: usize) {
    for (dx, dy, value) in (0..DOT + 1).flat_map(|dy| {
        (0..DOT + 1).map(move |dx| (dx, dy, if dx < DOT && dy < DOT { 235 } else { 30 }))
    }) {
        let i = ((y + dy) * WIDTH + x + dx) * 3;
        if value == 235 || rgb[i] < 230 {
            rgb[i..i + 3].fill(value);
        }
    }
}
