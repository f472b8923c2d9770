//! Dynamic time warping, the plain way to lay one row on another; what a frame map is measured against.

use crate::wide::wide;

/// The distance (Euclid's) of each of some vectors, `rows`, from each of others, `columns`: row by row, as [`warp`] takes
/// them. Each vector is `numbers` long and follows the one before. `None` unless both hold whole vectors.
#[must_use]
pub fn distances(rows: &[f32], columns: &[f32], numbers: usize) -> Option<Vec<f64>> {
    if numbers == 0 || !rows.len().is_multiple_of(numbers) || !columns.len().is_multiple_of(numbers)
    {
        return None;
    }
    let count = columns.len() / numbers;
    let mut squares = vec![0.0; rows.len() / numbers * count];
    let mut turned = vec![0.0; AT_ONCE * count];
    for from in (0..numbers).step_by(AT_ONCE).take_while(|_| count > 0) {
        let some = from..(from + AT_ONCE).min(numbers);
        for (j, column) in columns.chunks_exact(numbers).enumerate() {
            let places = turned[j..].iter_mut().step_by(count);
            for (place, &v) in places.zip(&column[some.clone()]) {
                *place = v;
            }
        }
        let sums = squares.chunks_exact_mut(count);
        for (row, sums) in rows.chunks_exact(numbers).zip(sums) {
            add_squares(&row[some.clone()], &turned, sums);
        }
    }
    Some(squares.iter().map(|&s| f64::from(s.sqrt())).collect())
}

/// Numbers of every column looked at before the next ones: they stay near the processor while all rows meet them.
const AT_ONCE: usize = 16;

wide! {
    /// Adds the squared distance of `row` from each column of `turned`, which holds all first numbers, all second ones ...
    fn add_squares(row: &[f32], turned: &[f32], squares: &mut [f32]) = add_squares_here
}

#[inline(always)]
fn add_squares_here(row: &[f32], turned: &[f32], squares: &mut [f32]) {
    let count = squares.len();
    // Four at a time: the sums are fetched and put back a quarter as often.
    let fours = row.as_chunks::<4>();
    let mut rest = turned;
    for own in fours.0 {
        let (four, after) = rest.split_at(4 * count);
        rest = after;
        let [a, b, c, d] = [0, 1, 2, 3].map(|k| &four[k * count..][..count]);
        for j in 0..count {
            let (a, b) = (own[0] - a[j], own[1] - b[j]);
            let (c, d) = (own[2] - c[j], own[3] - d[j]);
            squares[j] += (a * a + b * b) + (c * c + d * d);
        }
    }
    for (&own, others) in fours.1.iter().zip(rest.chunks_exact(count.max(1))) {
        for (square, &other) in squares.iter_mut().zip(others) {
            *square += (own - other) * (own - other);
        }
    }
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
        assert_eq!(distances(&rows, &columns, 0), None);
    }
}
