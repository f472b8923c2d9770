//! How two cameras lie to each other when the sets have nothing in common: by what moves in them.

use super::register::{Search, register};
use crate::describe::{Vectors, mask_vector, soft_mask};
use crate::frame_map::band::Band;
use crate::frame_map::chain::{Steps, posterior};
use crate::frame_map::distance::mask_distances;
use crate::frame_map::evidence::evidence;
use crate::frame_map::path::places;
use crate::plane::Plane;
use crate::progress::{Step, Stopped};
use crate::similarity::Similarity;
use crate::stats::spread;
use crate::view::{Tones, View};

/// Rounds of mapping and registering, at most.
const ROUNDS: usize = 7;
/// A map that moves less than this, in widths, is found.
const FOUND: f32 = 0.002;
/// Matched pairs registered at once.
const PAIRS: usize = 10;
/// Masks reach from 0 to 1; contrasts, which the registration is made for, about three times as far.
const RANGE: f32 = 3.0;

const SEARCH: Search = Search {
    levels: &[4, 2],
    steps: 8,
    outlier: 1.5,
    outlier_floor: 0.05,
    still: 5e-5,
};

/// A camera and how well masks match under it (0 best).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Candidate {
    pub(crate) map: Similarity,
    pub(crate) q: f32,
}

struct Masks<'a> {
    view: &'a View<'a>,
    still: Tones,
}

impl Masks<'_> {
    fn plane(&self, i: usize) -> Plane {
        soft_mask(&self.view.half_tones(i), &self.still)
    }
}

/// The cameras met on the way, best first.
pub(crate) fn candidates(
    old: &View<'_>,
    new: &View<'_>,
    band: &Band,
    each: &mut Step<'_>,
) -> Result<Vec<Candidate>, Stopped> {
    let (old, new) = (
        Masks {
            view: old,
            still: old.still(None),
        },
        Masks {
            view: new,
            still: new.still(None),
        },
    );
    let (mean_old, mean_new) = (mean(&old, each)?, mean(&new, each)?);
    let whole = register(
        &[(&mean_new, &mean_old)],
        Similarity::IDENTITY,
        &Search {
            levels: &[4, 2, 1],
            ..SEARCH
        },
    );
    let new_vectors = vectors(&new, &Similarity::IDENTITY, each)?;
    let mut met = vec![];
    for start in [Similarity::IDENTITY, whole] {
        let mut map = start;
        for _ in 0..ROUNDS {
            let old_vectors = vectors(&old, &map, each)?;
            let distances = mask_distances(&old_vectors, &new_vectors, band);
            met.push(Candidate {
                map,
                q: distances.q,
            });
            let evidence = evidence(&distances);
            let mut steps = Steps::default().for_poor_rows(evidence.poor);
            steps.gap *= 0.05;
            let found = places(&posterior(&evidence.table, &steps, &[]), &[], 1.0);
            let matched: Vec<(usize, usize)> = found
                .iter()
                .enumerate()
                .filter_map(|(i, p)| p.old.map(|j| (i, j.round() as usize)))
                .collect();
            let next = register_pairs(&old, &new, &matched, map);
            each()?;
            let moved = next.distance(&map);
            map = next;
            if moved < FOUND {
                break;
            }
        }
    }
    met.sort_by(|a, b| a.q.total_cmp(&b.q));
    Ok(met)
}

fn register_pairs(
    old: &Masks<'_>,
    new: &Masks<'_>,
    matched: &[(usize, usize)],
    map: Similarity,
) -> Similarity {
    let planes: Vec<(Plane, Plane)> = spread(matched.len(), PAIRS)
        .into_iter()
        .map(|k| {
            let (i, j) = matched[k];
            (
                new.plane(i).map(|v| v * RANGE),
                old.plane(j).map(|v| v * RANGE),
            )
        })
        .collect();
    let pairs: Vec<(&Plane, &Plane)> = planes.iter().map(|(a, b)| (a, b)).collect();
    if pairs.is_empty() {
        return map;
    }
    let found = register(&pairs, map, &SEARCH);
    let sane = found.a.abs() < 0.5 && found.b.abs() < 0.35 && found.tx.hypot(found.ty) < 0.4;
    if sane { found } else { map }
}

fn mean(masks: &Masks<'_>, each: &mut Step<'_>) -> Result<Plane, Stopped> {
    let some = spread(masks.view.len(), 41);
    let mut sum = Plane::filled(crate::view::HALF.0, crate::view::HALF.1, 0.0);
    let share = RANGE / some.len().max(1) as f32;
    for i in some {
        for (s, m) in sum.data_mut().iter_mut().zip(masks.plane(i).data()) {
            *s += m * share;
        }
        each()?;
    }
    Ok(sum.blurred(3.0))
}

fn vectors(masks: &Masks<'_>, map: &Similarity, each: &mut Step<'_>) -> Result<Vectors, Stopped> {
    let n = masks.view.len();
    let mut out = Vectors::for_frames(n, 32 * 18);
    for i in 0..n {
        out.push(&mask_vector(&map.warp(&masks.plane(i))));
        each()?;
    }
    out.finish();
    Ok(out)
}
