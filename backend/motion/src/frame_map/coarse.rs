//! Long clips: first a map of every so many frames, then only the band around it in full.

use std::ops::Range;

use super::band::{Band, Table};
use super::chain::{Steps, posterior};
use super::distance::distances;
use super::evidence::{evidence, stepped};
use crate::describe::Descriptors;

/// Where a table is worked out in full, and how wide the band around a coarse map is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandOptions {
    /// Tables of at most this many cells are worked out whole.
    pub whole_cells: usize,
    /// Frames of each clip in the coarse map, at most.
    pub coarse_frames: usize,
    /// Old frames kept on either side of what the coarse map thinks possible.
    pub margin: usize,
    /// Cells worked out at most: a band that would have more is cut around the likeliest places.
    pub most_cells: usize,
    /// A coarse pair of at least this chance is possible.
    pub possible: f32,
}

impl Default for BandOptions {
    /// A million cells, 480 frames, 24 frames, three million cells, 1e-4.
    fn default() -> Self {
        Self {
            whole_cells: 1_000_000,
            coarse_frames: 480,
            margin: 24,
            most_cells: 3_000_000,
            possible: 1e-4,
        }
    }
}

/// The cells worth working out. `fixed` are the old frames that new frames must meet.
pub(crate) fn band(
    old: &Descriptors,
    new: &Descriptors,
    steps: &Steps,
    fixed: &[Option<usize>],
    options: &BandOptions,
) -> Band {
    let (columns, rows) = (old.len(), new.len());
    if rows.saturating_mul(columns) <= options.whole_cells {
        return Band::whole(rows, columns);
    }
    let stride = rows.max(columns).div_ceil(options.coarse_frames.max(2));
    let (thin_old, thin_new) = (old.thinned(stride), new.thinned(stride));
    let whole = Band::whole(thin_new.len(), thin_old.len());
    let evidence = evidence(distances(&thin_old, &thin_new, &whole), stepped(&thin_old));
    let steps = steps.forgiving(evidence.forgiving);
    let pairs = posterior(&evidence.table, &steps, &[]).pairs;
    let margin = options.margin + 2 * stride;
    let mut wanted: Vec<Range<usize>> = (0..rows)
        .map(|i| {
            let near = (i / stride).saturating_sub(1)..(i / stride + 2).min(whole.rows());
            near.map(|k| possible(&pairs, k, options.possible))
                .filter(|r| r.start < r.end)
                .map(|r| {
                    let end = ((r.end - 1) * stride + margin + 1).min(columns);
                    (r.start * stride).saturating_sub(margin)..end
                })
                .reduce(|a, b| a.start.min(b.start)..a.end.max(b.end))
                .unwrap_or(0..0)
        })
        .collect();
    for (row, fixed) in wanted.iter_mut().zip(fixed) {
        if let Some(j) = fixed {
            let own = j.saturating_sub(margin)..(j + margin + 1).min(columns);
            *row = if row.start >= row.end {
                own
            } else {
                row.start.min(own.start)..row.end.max(own.end)
            };
        }
    }
    let band = Band::around(&wanted, columns);
    if band.cells() <= options.most_cells {
        return band;
    }
    let half = (options.most_cells / rows / 2).max(1);
    let mut centre = 0.0f32;
    for (i, row) in wanted.iter_mut().enumerate() {
        centre = centre.max(likeliest(&pairs, (i / stride).min(whole.rows() - 1)) * stride as f32);
        let at = fixed.get(i).copied().flatten().unwrap_or(centre as usize);
        *row = at.saturating_sub(half)..(at + half + 1).min(columns);
    }
    Band::around(&wanted, columns)
}

/// The mean column of a coarse row; 0 where nothing is likely.
fn likeliest(pairs: &Table<f32>, i: usize) -> f32 {
    let row = pairs.row(i);
    let sum: f32 = row.iter().sum();
    let moment: f32 = row.iter().enumerate().map(|(j, p)| j as f32 * p).sum();
    if sum > 0.01 { moment / sum } else { 0.0 }
}

fn possible(pairs: &Table<f32>, i: usize, least: f32) -> Range<usize> {
    let row = pairs.row(i);
    let first = row.iter().position(|&p| p >= least);
    let last = row.iter().rposition(|&p| p >= least);
    match (first, last) {
        (Some(first), Some(last)) => first..last + 1,
        _ => 0..0,
    }
}
