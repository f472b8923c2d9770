//! How unlike each new frame is to each place on the old timeline.

use super::band::{Band, Table};
use crate::describe::{Descriptors, Vectors};
use crate::stats::{median, spread};

/// Rows the scale of the distances is taken from, at most.
const SCALE_ROWS: usize = 96;

/// How much each descriptor counts: mask, texture, edges.
const WEIGHTS: [f32; 3] = [1.0, 0.5, 1.0];

/// Distances in units of their own median.
pub(crate) struct Distances {
    pub(crate) table: Table<f32>,
    /// Middle row minimum of the whole, 0 for perfect counterparts, near 1 for none at all.
    pub(crate) q: f32,
    /// The same for each descriptor alone: mask, texture, edges.
    pub(crate) q_each: [f32; 3],
}

/// Distances by all three descriptors.
pub(crate) fn distances(old: &Descriptors, new: &Descriptors, band: &Band) -> Distances {
    let sets = [
        (&old.mask, &new.mask),
        (&old.texture, &new.texture),
        (&old.edges, &new.edges),
    ];
    weighted(&sets, &WEIGHTS, band)
}

/// Distances by masks alone.
pub(crate) fn mask_distances(old: &Vectors, new: &Vectors, band: &Band) -> Distances {
    weighted(&[(old, new)], &WEIGHTS[..1], band)
}

fn weighted(sets: &[(&Vectors, &Vectors)], weights: &[f32], band: &Band) -> Distances {
    let lines: Vec<Line<'_>> = sets.iter().map(|(old, new)| Line::of(old, new)).collect();
    let mut q_each = [1.0; 3];
    let mut factors = vec![];
    for ((line, weight), q) in lines.iter().zip(weights).zip(&mut q_each) {
        let (scale, row_minimum) = line.scale(band);
        *q = row_minimum / scale;
        factors.push(weight * (1.0 - *q).clamp(0.02, 0.5) / scale);
    }
    let mut table = Table::filled(band, 0.0f32);
    let mut part = vec![0.0; band.columns()];
    for i in 0..band.rows() {
        let columns = band.row(i);
        for (line, factor) in lines.iter().zip(&factors) {
            let part = &mut part[..columns.len()];
            line.row(i, columns.start, part);
            for (d, p) in table.row_mut(i).iter_mut().zip(&*part) {
                *d += factor * p;
            }
        }
    }
    let scale = sampled_median(&table).max(1e-6);
    let mut minima = vec![];
    for i in 0..band.rows() {
        let mut least = f32::INFINITY;
        for d in table.row_mut(i) {
            *d /= scale;
            least = least.min(*d);
        }
        minima.push(least);
    }
    Distances {
        q: median(&mut minima),
        table,
        q_each,
    }
}

fn sampled_median(table: &Table<f32>) -> f32 {
    let mut all: Vec<f32> = spread(table.band().rows(), SCALE_ROWS)
        .into_iter()
        .flat_map(|i| table.row(i).iter().copied())
        .collect();
    median(&mut all)
}

/// Distances of one descriptor to the broken line through the old frames' vectors, of which each frame has the halves of
/// the two pieces next to it: what lies between two old frames is near both.
struct Line<'a> {
    old: &'a Vectors,
    new: &'a Vectors,
    /// Squared lengths of the old vectors.
    squares: Vec<f32>,
    /// Scalar products of each old vector with the next.
    steps: Vec<f32>,
}

impl<'a> Line<'a> {
    fn of(old: &'a Vectors, new: &'a Vectors) -> Self {
        let n = old.len();
        Self {
            squares: (0..n).map(|j| old.dot(j, old, j)).collect(),
            steps: (1..n).map(|j| old.dot(j - 1, old, j)).collect(),
            old,
            new,
        }
    }

    /// Distances of new frame `i` from the old frames `from..from + out.len()`.
    fn row(&self, i: usize, from: usize, out: &mut [f32]) {
        let n = self.squares.len();
        let (first, last) = (from.saturating_sub(1), (from + out.len() + 1).min(n));
        let mut products = vec![0.0; last - first];
        self.new.dots(i, self.old, first, &mut products);
        let own = self.new.dot(i, self.new, i);
        for (k, d) in out.iter_mut().enumerate() {
            let j = from + k;
            let here = products[j - first];
            let square = own - 2.0 * here + self.squares[j];
            let mut least = square;
            if j > 0 {
                let toward = (
                    products[j - 1 - first],
                    self.squares[j - 1],
                    self.steps[j - 1],
                );
                least = least.min(square - self.gain(here, self.squares[j], toward));
            }
            if j + 1 < n {
                let toward = (products[j + 1 - first], self.squares[j + 1], self.steps[j]);
                least = least.min(square - self.gain(here, self.squares[j], toward));
            }
            *d = least.max(0.0).sqrt();
        }
    }

    /// By how much the squared distance falls on the way from an old vector to its neighbour, at most half of it:
    /// `|b - a - t s|^2 = |b - a|^2 - 2 t (b - a).s + t^2 s.s`, all from scalar products.
    fn gain(&self, here: f32, square: f32, (product, other, step): (f32, f32, f32)) -> f32 {
        let along = product - here - step + square;
        let length = (other - 2.0 * step + square).max(1e-9);
        let t = (along / length).clamp(0.0, 0.5);
        2.0 * t * along - t * t * length
    }

    /// The median distance and the middle row minimum, over a sample of rows.
    fn scale(&self, band: &Band) -> (f32, f32) {
        let (mut all, mut minima) = (vec![], vec![]);
        for i in spread(band.rows(), SCALE_ROWS) {
            let columns = band.row(i);
            let mut row = vec![0.0; columns.len()];
            self.row(i, columns.start, &mut row);
            minima.push(row.iter().copied().fold(f32::INFINITY, f32::min));
            all.extend(row);
        }
        (median(&mut all).max(1e-6), median(&mut minima))
    }
}
