//! Dynamic time warping, the plain way to lay one row on another; what a frame map is measured against.

use crate::wide::wide;

/// The distance (Euclid's) of each of some vectors, `rows`, from each of others, `columns`: row by row, as [`warp`] takes
/// them. Each vector is `numbers` long and follows the one before. `None` unless both hold whole vectors. Each distance is
/// right to 1e-4 of itself.
#[must_use]
pub fn distances(rows: &[f32], columns: &[f32], numbers: usize) -> Option<Vec<f64>> {
    if numbers == 0 || !rows.len().is_multiple_of(numbers) || !columns.len().is_multiple_of(numbers)
    {
        return None;
    }
    let count = columns.len() / numbers;
    let mut all = vec![0.0; rows.len() / numbers * count];
    if count == 0 {
        return Some(all);
    }
    let middle = mean(columns, numbers);
    let (rows, columns) = (less(rows, &middle), less(columns, &middle));
    let products = products(&rows, &columns, numbers);
    let squares: Vec<f32> = columns.chunks_exact(numbers).map(square).collect();
    let each = rows.chunks_exact(numbers).zip(products.chunks_exact(count));
    for ((row, products), all) in each.zip(all.chunks_exact_mut(count)) {
        if from_products(square(row), &squares, products, all) {
            for (column, distance) in columns.chunks_exact(numbers).zip(all) {
                if *distance < 0.0 {
                    *distance = f64::from(square(&less(column, row)).sqrt());
                }
            }
        }
    }
    Some(all)
}

fn mean(vectors: &[f32], numbers: usize) -> Vec<f32> {
    let mut sums = vec![0.0; numbers];
    for vector in vectors.chunks_exact(numbers) {
        for (sum, v) in sums.iter_mut().zip(vector) {
            *sum += v;
        }
    }
    let count = (vectors.len() / numbers) as f32;
    sums.into_iter().map(|sum| sum / count).collect()
}

/// Each vector less another.
fn less(vectors: &[f32], other: &[f32]) -> Vec<f32> {
    let mut all = vectors.to_vec();
    for vector in all.chunks_exact_mut(other.len()) {
        for (v, o) in vector.iter_mut().zip(other) {
            *v -= o;
        }
    }
    all
}

wide! {
    /// The square of a vector's length.
    fn square(vector: &[f32]) -> f32 = square_here
}

#[inline(always)]
fn square_here(vector: &[f32]) -> f32 {
    let (eights, rest) = vector.as_chunks::<8>();
    let mut sums = [0.0; 8];
    for eight in eights {
        for k in 0..8 {
            sums[k] += eight[k] * eight[k];
        }
    }
    sums.iter().sum::<f32>() + rest.iter().map(|v| v * v).sum::<f32>()
}

/// What is left of two squares must be more than this share of them to be told from rounding.
const LITTLE: f32 = 2e-2;

wide! {
    /// The distances of a row from all columns by |a - b|² = |a|² + |b|² - 2ab; -1 where little is left of it. Returns whether
    /// there is one such.
    fn from_products(own: f32, squares: &[f32], products: &[f32], out: &mut [f64]) -> bool = from_products_here
}

#[inline(always)]
fn from_products_here(own: f32, squares: &[f32], products: &[f32], out: &mut [f64]) -> bool {
    let n = out.len();
    let (squares, products) = (&squares[..n], &products[..n]);
    let mut least = 1.0f64;
    for j in 0..n {
        let both = own + squares[j];
        let left = both - 2.0 * products[j];
        let distance = if left > LITTLE * both {
            left.sqrt()
        } else {
            -1.0
        };
        out[j] = f64::from(distance);
        least = if out[j] < least { out[j] } else { least };
    }
    least < 0.0
}

/// The product of each of `rows` with each of `columns`, row by row.
fn products(rows: &[f32], columns: &[f32], numbers: usize) -> Vec<f32> {
    let count = columns.len() / numbers;
    let mut products = vec![0.0; rows.len() / numbers * count];
    let mut turned = vec![[0.0; AT_ONCE]; numbers];
    for (block, some) in columns.chunks(AT_ONCE * numbers).enumerate() {
        for (j, column) in some.chunks_exact(numbers).enumerate() {
            for (numbers, &v) in turned.iter_mut().zip(column) {
                numbers[j] = v;
            }
        }
        let own = block * AT_ONCE..block * AT_ONCE + some.len() / numbers;
        let pairs = rows.chunks(2 * numbers);
        for (pair, out) in pairs.zip(products.chunks_mut(2 * count)) {
            let met = meet(pair, &turned);
            for (met, out) in met.iter().zip(out.chunks_exact_mut(count)) {
                out[own.clone()].copy_from_slice(&met[..own.len()]);
            }
        }
    }
    products
}

/// Columns that meet a pair of rows at once: their sums stay within the processor.
const AT_ONCE: usize = 32;

wide! {
    /// The products of two rows, one after the other (or one alone), with the columns of `turned`: all first numbers, all
    /// second ones ...
    fn meet(rows: &[f32], turned: &[[f32; AT_ONCE]]) -> [[f32; AT_ONCE]; 2] = meet_here
}

#[inline(always)]
fn meet_here(rows: &[f32], turned: &[[f32; AT_ONCE]]) -> [[f32; AT_ONCE]; 2] {
    let (first, second) = rows.split_at(turned.len());
    let second = if second.is_empty() { first } else { second };
    let [mut a, mut b] = [[0.0; AT_ONCE]; 2];
    for ((columns, &p), &q) in turned.iter().zip(first).zip(second) {
        for j in 0..AT_ONCE {
            a[j] += p * columns[j];
            b[j] += q * columns[j];
        }
    }
    [a, b]
}

/// Where a cell's cheapest way comes from.
const DIAGONAL: u8 = 0;
const ALONG: u8 = 1;
const DOWN: u8 = 2;

/// The cost and the path of the cheapest warping of a table of local costs (`rows` by `columns`, row by row) from corner to
/// corner, a step along both sides counting twice (Sakoe & Chiba 1978, symmetric form, P = 0; "symmetric2" of dtw-python).
/// `None` unless the table holds `rows * columns` costs and at least one. Time is that of the table; memory a byte a cell.
#[must_use]
pub fn warp(costs: &[f64], rows: usize, columns: usize) -> Option<(f64, Vec<(usize, usize)>)> {
    if rows == 0 || columns == 0 || costs.len() != rows * columns {
        return None;
    }
    let mut from = vec![ALONG; costs.len()];
    // One more than the columns: nothing comes from beside the table.
    let mut above = vec![f64::INFINITY; columns + 1];
    let mut sum = 0.0;
    for (above, cost) in above[1..].iter_mut().zip(costs) {
        sum += cost;
        *above = sum;
    }
    let mut sums = above.clone();
    for (costs, from) in costs
        .chunks_exact(columns)
        .zip(from.chunks_exact_mut(columns))
        .skip(1)
    {
        from_above(&above, costs, &mut sums[1..], from);
        along(costs, &mut sums[1..], from);
        std::mem::swap(&mut above, &mut sums);
    }
    let (mut i, mut j) = (rows - 1, columns - 1);
    let mut path = vec![(i, j)];
    while (i, j) != (0, 0) {
        match from[i * columns + j] {
            DIAGONAL => (i, j) = (i - 1, j - 1),
            ALONG => j -= 1,
            _ => i -= 1,
        }
        path.push((i, j));
    }
    path.reverse();
    Some((above[columns], path))
}

wide! {
    /// The cheapest way to each cell of a row from the row above; the first of `above` stands beside the table.
    fn from_above(above: &[f64], costs: &[f64], sums: &mut [f64], from: &mut [u8]) = from_above_here
}

#[inline(always)]
fn from_above_here(above: &[f64], costs: &[f64], sums: &mut [f64], from: &mut [u8]) {
    let n = costs.len();
    let (beside, over) = (&above[..n], &above[1..][..n]);
    let (sums, from) = (&mut sums[..n], &mut from[..n]);
    for j in 0..n {
        let (diagonal, down) = (beside[j] + 2.0 * costs[j], over[j] + costs[j]);
        sums[j] = if down < diagonal { down } else { diagonal };
        from[j] = if down < diagonal { DOWN } else { DIAGONAL };
    }
}

/// The ways along the row where they are cheaper; of equally cheap ones the diagonal is kept and the one down is not.
fn along(costs: &[f64], sums: &mut [f64], from: &mut [u8]) {
    let mut left = f64::INFINITY;
    for ((cost, sum), from) in costs.iter().zip(sums).zip(from) {
        let along = left + cost;
        let cheaper = along < *sum || (along == *sum && *from == DOWN);
        *sum = if cheaper { along } else { *sum };
        *from = if cheaper { ALONG } else { *from };
        left = *sum;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_are_those_of_each_pair() {
        let rows: Vec<f32> = (0..3 * 7).map(|k| (k * k % 13) as f32).collect();
        let columns: Vec<f32> = (0..5 * 7).map(|k| (k * 5 % 11) as f32).collect();
        let table = distances(&rows, &columns, 7).unwrap_or_default();
        let pairs = rows.chunks_exact(7).flat_map(|a| {
            columns.chunks_exact(7).map(move |b| {
                let square: f32 = a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum();
                f64::from(square.sqrt())
            })
        });
        assert_eq!(table.len(), 15);
        assert!(pairs.zip(&table).all(|(a, b)| (a - b).abs() < 1e-5));
        assert_eq!(distances(&rows, &columns, 6), None);
        assert_eq!(distances(&rows, &[], 7), Some(vec![]));
        assert_eq!(distances(&rows, &columns, 0), None);
    }

    #[test]
    fn near_and_far_are_told_alike() {
        const NUMBERS: usize = 576;
        // Levels of pictures. The first columns are the rows, the others rows with ever less grain.
        let level = |k: usize| (k * 7919 % 251) as f32;
        let grain = |k: usize| match k / NUMBERS {
            0..3 => 0.0,
            column => ((k * 104_729 % 17) as f32 - 8.0) * 0.5f32.powi(column as i32 / 3),
        };
        let rows: Vec<f32> = (0..3 * NUMBERS).map(level).collect();
        let columns: Vec<f32> = (0..37 * NUMBERS)
            .map(|k| level(k % (3 * NUMBERS)) + grain(k))
            .collect();
        let table = distances(&rows, &columns, NUMBERS).unwrap_or_default();
        assert_eq!(table.len(), 3 * 37);
        for (i, row) in rows.chunks_exact(NUMBERS).enumerate() {
            for (j, column) in columns.chunks_exact(NUMBERS).enumerate() {
                let pairs = row.iter().zip(column);
                let square: f64 = pairs.map(|(a, b)| f64::from(a - b).powi(2)).sum();
                let (want, got) = (square.sqrt(), table[i * 37 + j]);
                assert!((want - got).abs() <= 1e-4 * want, "{i} {j}: {want} {got}");
            }
        }
    }
}
