//! From distances to evidence: how many times likelier each pair is if it belongs together than if it does not.

use super::band::Table;
use super::distance::Distances;

/// Old frames on either side among which a minimum is looked for. Not the whole row: in a cycle every lap has its own.
const REACH: usize = 4;

/// Natural logarithms of likelihood ratios, and what rows without clear minima make of the rest.
pub(crate) struct Evidence {
    pub(crate) table: Table<f32>,
    /// 0 where minima are clear, 1 where rows hardly have any: then nothing is evidence for a missing counterpart.
    pub(crate) poor: f32,
}

pub(crate) fn evidence(distances: &Distances) -> Evidence {
    let q = distances.q;
    let border = q + 0.55 * (1.0 - q);
    let poor = ((q - 0.55) / 0.25).clamp(0.0, 1.0);
    let mut table = distances.table.clone();
    let mut floor = vec![];
    for i in 0..table.band().rows() {
        let row = table.row_mut(i);
        lowest_near(row, &mut floor);
        for (d, f) in row.iter_mut().zip(&floor) {
            let f = f.max(0.05);
            let above = (4.0 * ((*d / f).powi(2) - 1.0).max(0.0)).min(4.0);
            *d = (9.0 * (border - *d)).clamp(-2.5, 2.5) - above + 2.0 * poor;
        }
    }
    Evidence { table, poor }
}

fn lowest_near(row: &[f32], out: &mut Vec<f32>) {
    out.clear();
    out.extend_from_slice(row);
    for shift in 1..=REACH.min(row.len().saturating_sub(1)) {
        let n = row.len() - shift;
        for k in 0..n {
            out[k] = out[k].min(row[k + shift]);
            out[k + shift] = out[k + shift].min(row[k]);
        }
    }
}
