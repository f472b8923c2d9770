//! From distances to evidence: how many times likelier each pair is if it belongs together than if it does not.

use super::band::Table;
use super::distance::Distances;
use crate::describe::{Descriptors, Vectors};
use crate::stats::quantile;

/// Old frames on either side among which a minimum is looked for. Not the whole row: in a cycle every lap has its own.
const REACH: usize = 4;

/// Natural logarithms of likelihood ratios, and what rows without clear minima make of the rest.
pub(crate) struct Evidence {
    pub(crate) table: Table<f32>,
    /// 0 where minima are clear, 1 where rows hardly have any.
    pub(crate) poor: f32,
    /// 0 where frames without clear counterpart speak for a gap, 1 where they do not: rows are poor, or the old clip shows
    /// only key poses.
    pub(crate) forgiving: f32,
}

/// Evidence of distances from an old clip that is `stepped` (0 to 1); written over them, as the tables of long clips are large.
pub(crate) fn evidence(distances: Distances, stepped: f32) -> Evidence {
    let Distances { mut table, q, .. } = distances;
    let border = q + 0.55 * (1.0 - q);
    let poor = ((q - 0.55) / 0.25).clamp(0.0, 1.0);
    let forgiving = poor.max(stepped);
    let mut floor = vec![];
    for i in 0..table.band().rows() {
        let row = table.row_mut(i);
        lowest_near(row, &mut floor);
        for (d, f) in row.iter_mut().zip(&floor) {
            let f = f.max(0.05);
            let above = (4.0 * ((*d / f).powi(2) - 1.0).max(0.0)).min(4.0);
            *d = (9.0 * (border - *d)).clamp(-2.5, 2.5) - above + 2.0 * forgiving;
        }
    }
    Evidence {
        table,
        poor,
        forgiving,
    }
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

/// How surely a clip shows only key poses, each held and then exchanged at once: the frames between its poses, which a later
/// clip shows, stand nowhere in it. 0 to 1.
pub(crate) fn stepped(clip: &Descriptors) -> f32 {
    let n = clip.mask.len();
    if n < 16 {
        return 0.0;
    }
    let between = |set: &Vectors, j: usize| {
        let square = set.dot(j, set, j) + set.dot(j - 1, set, j - 1) - 2.0 * set.dot(j - 1, set, j);
        square.max(0.0)
    };
    let steps: Vec<f32> = (1..n)
        .map(|j| (between(&clip.mask, j) + between(&clip.edges, j)).sqrt())
        .collect();
    let still = 0.25 * quantile(&mut steps.clone(), 0.97);
    let moves: Vec<bool> = steps.iter().map(|&s| s > still).collect();
    let moving = moves.iter().filter(|&&m| m).count();
    let alone = (0..moves.len())
        .filter(|&j| {
            let before = j > 0 && moves[j - 1];
            moves[j] && !before && !moves.get(j + 1).copied().unwrap_or(false)
        })
        .count();
    if moving < 3 {
        return 0.0;
    }
    let rests = 1.0 - moving as f32 / moves.len() as f32;
    let lone = alone as f32 / moving as f32;
    ((rests - 0.6) / 0.15).clamp(0.0, 1.0) * ((lone - 0.5) / 0.3).clamp(0.0, 1.0)
}
