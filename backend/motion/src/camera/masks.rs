//! How two cameras lie to each other when the sets have nothing in common: by what moves in them.

use super::register::{Search, register};
use crate::describe::{MASK_CELLS, Vectors, mask_vector, soft_mask};
use crate::frame_map::band::Band;
use crate::frame_map::chain::{Steps, posterior};
use crate::frame_map::distance::mask_distances;
use crate::frame_map::evidence::evidence;
use crate::frame_map::path::places;
use crate::plane::Plane;
use crate::progress::{Step, Stopped};
use crate::similarity::Similarity;
use crate::stats::spread;
use crate::view::{HALF, View};

/// Rounds of mapping and registering, at most.
const ROUNDS: usize = 7;
/// A map that moves less than this, in widths, is found.
const FOUND: f32 = 0.002;
/// Matched pairs registered at once.
const PAIRS: usize = 10;
/// Frames of each clip that are looked at; longer clips are thinned.
const MOST_FRAMES: usize = 240;
/// Masks reach from 0 to 1; contrasts, which the registration is made for, about three times as far.
const RANGE: f32 = 3.0;

const SEARCH: Search = Search {
    levels: &[2, 1],
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

/// Soft masks of some of a clip's frames, a quarter of the size of the working picture.
struct Masks {
    planes: Vec<Box<[u8]>>,
}

impl Masks {
    fn of(view: &View<'_>, stride: usize, each: &mut Step<'_>) -> Result<Self, Stopped> {
        let still = view.still(None);
        let mut planes = vec![];
        for i in (0..view.len()).step_by(stride) {
            let mask = soft_mask(&view.half_tones(i), &still).shrunk(2);
            planes.push(
                mask.data()
                    .iter()
                    .map(|v| (v * 255.0 + 0.5) as u8)
                    .collect(),
            );
            each()?;
        }
        Ok(Self { planes })
    }

    fn len(&self) -> usize {
        self.planes.len()
    }

    fn plane(&self, i: usize) -> Plane {
        let (width, height) = (HALF.0 / 2, HALF.1 / 2);
        Plane::from_bytes(width, height, &self.planes[i]).map_or_else(
            || Plane::filled(width, height, 0.0),
            |p| p.map(|v| v / 255.0),
        )
    }

    fn mean(&self) -> Plane {
        let some = spread(self.len(), 41);
        let mut sum = Plane::filled(HALF.0 / 2, HALF.1 / 2, 0.0);
        let share = RANGE / some.len().max(1) as f32;
        for i in some {
            for (s, m) in sum.data_mut().iter_mut().zip(self.plane(i).data()) {
                *s += m * share;
            }
        }
        sum.blurred(1.5)
    }

    fn vectors(&self, map: &Similarity) -> Vectors {
        let mut out = Vectors::for_frames(self.len(), MASK_CELLS);
        for i in 0..self.len() {
            out.push(&mask_vector(&map.warp(&self.plane(i))));
        }
        out.finish();
        out
    }
}

/// The cameras met on the way, best first.
pub(crate) fn candidates(
    old: &View<'_>,
    new: &View<'_>,
    each: &mut Step<'_>,
) -> Result<Vec<Candidate>, Stopped> {
    let stride = old.len().max(new.len()).div_ceil(MOST_FRAMES);
    let (old, new) = (Masks::of(old, stride, each)?, Masks::of(new, stride, each)?);
    let whole = register(&[(&new.mean(), &old.mean())], Similarity::IDENTITY, &SEARCH);
    let band = Band::whole(new.len(), old.len());
    let new_vectors = new.vectors(&Similarity::IDENTITY);
    let mut met = vec![];
    for start in [Similarity::IDENTITY, whole] {
        let mut map = start;
        for _ in 0..ROUNDS {
            let old_vectors = old.vectors(&map);
            let distances = mask_distances(&old_vectors, &new_vectors, &band);
            met.push(Candidate {
                map,
                q: distances.q,
            });
            let evidence = evidence(distances, 0.0);
            let mut steps = Steps::default().forgiving(evidence.forgiving);
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
    old: &Masks,
    new: &Masks,
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
