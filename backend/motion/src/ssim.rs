//! Structural similarity: how alike two pictures look.

use crate::plane::Plane;

/// Side of the window.
const WINDOW: usize = 7;

/// The mean structural similarity of two planes of one size, -1 to 1, for values that span `range` (255 for levels): windows of
/// 7 x 7 of even weight inside the picture, unbiased covariances, K1 = 0.01, K2 = 0.03 (Wang, Bovik, Sheikh & Simoncelli 2004).
/// `None` for planes of different size or smaller than the window.
#[must_use]
pub fn ssim(a: &Plane, b: &Plane, range: f64) -> Option<f64> {
    let (width, height) = (a.width(), a.height());
    if (width, height) != (b.width(), b.height()) || width < WINDOW || height < WINDOW {
        return None;
    }
    let (c1, c2) = ((0.01 * range).powi(2), (0.03 * range).powi(2));
    let count = (WINDOW * WINDOW) as f64;
    let mut columns = vec![[0.0f64; 5]; width];
    let mut total = 0.0;
    for y in 0..height {
        add_row(&mut columns, a.row(y), b.row(y), 1.0);
        if y >= WINDOW {
            add_row(&mut columns, a.row(y - WINDOW), b.row(y - WINDOW), -1.0);
        }
        if y + 1 < WINDOW {
            continue;
        }
        for window in columns.windows(WINDOW) {
            let mut sum = [0.0f64; 5];
            for column in window {
                for (s, c) in sum.iter_mut().zip(column) {
                    *s += c;
                }
            }
            let [ma, mb, aa, bb, ab] = sum.map(|s| s / count);
            let unbiased = count / (count - 1.0);
            let (va, vb) = (unbiased * (aa - ma * ma), unbiased * (bb - mb * mb));
            let covariance = unbiased * (ab - ma * mb);
            total += (2.0 * ma * mb + c1) * (2.0 * covariance + c2)
                / ((ma * ma + mb * mb + c1) * (va + vb + c2));
        }
    }
    Some(total / ((width + 1 - WINDOW) * (height + 1 - WINDOW)) as f64)
}

/// Adds a row's values, squares and products to the sums of each column.
fn add_row(columns: &mut [[f64; 5]], a: &[f32], b: &[f32], sign: f64) {
    for ((column, &a), &b) in columns.iter_mut().zip(a).zip(b) {
        let (a, b) = (f64::from(a), f64::from(b));
        for (sum, v) in column.iter_mut().zip([a, b, a * a, b * b, a * b]) {
            *sum += sign * v;
        }
    }
}
