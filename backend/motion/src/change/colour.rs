//! Which colours stand where: proof against another light, which changes colours but not which are the same.
//!
//! What differs from the picture at rest is sorted into a dozen colours, each clip its own. A table of which old colour
//! usually meets which new one says how surprising each pixel's meeting is.

use super::near::union;
use crate::plane::Plane;
use crate::wide::wide;

/// Colours told apart in each clip.
const COLOURS: usize = 12;
/// The class of what is at rest; the colours follow.
const REST: u8 = 0;
/// The class of what may be either, or is not seen.
pub(super) const UNSURE: u8 = COLOURS as u8 + 1;
/// All classes but the unsure one.
const SURE: usize = COLOURS + 1;
/// A difference from the picture at rest below this many levels is rest ...
const AT_REST: f32 = 9.0;
/// ... and below this unsure.
const DIFFERS: f32 = 16.0;
/// Colour differences count so much more than light.
const COLOUR: f32 = 1.5;
/// Pixels the centres are found from, at least and at most.
const SAMPLE: (usize, usize) = (400, 24_000);

/// Light and colour differences at full size.
pub(super) struct Full {
    pub(super) light: Plane,
    pub(super) colours: [Plane; 2],
}

impl Full {
    /// The pixels `which` as points.
    fn points(&self, which: &[usize]) -> Points {
        let of = |plane: &Plane, weight: f32| {
            let data = plane.data();
            which.iter().map(|&i| weight * data[i]).collect()
        };
        Points {
            along: [
                of(&self.light, 1.0),
                of(&self.colours[0], COLOUR),
                of(&self.colours[1], COLOUR),
            ],
        }
    }

    /// How far each pixel is from that of `still`: the largest of light's and colours' differences.
    fn differences(&self, still: &Self) -> Vec<f32> {
        let apart = |a: &Plane, b: &Plane, weight: f32, out: &mut [f32]| {
            for (out, (a, b)) in out.iter_mut().zip(a.data().iter().zip(b.data())) {
                *out = out.max(weight * (a - b).abs());
            }
        };
        let mut out = vec![0.0; self.light.data().len()];
        apart(&self.light, &still.light, 1.0, &mut out);
        for (own, rest) in self.colours.iter().zip(&still.colours) {
            apart(own, rest, COLOUR, &mut out);
        }
        out
    }
}

/// Colours as points: light and both colour differences, these weighted.
#[derive(Default)]
struct Points {
    along: [Vec<f32>; 3],
}

impl Points {
    fn len(&self) -> usize {
        self.along[0].len()
    }

    fn at(&self, i: usize) -> [f32; 3] {
        self.along.each_ref().map(|values| values[i])
    }

    fn add(&mut self, more: &Self) {
        for (values, more) in self.along.iter_mut().zip(&more.along) {
            values.extend_from_slice(more);
        }
    }

    /// Every so many-th.
    fn every(&self, step: usize) -> Self {
        let thinned = |values: &Vec<f32>| values.iter().copied().step_by(step).collect();
        Self {
            along: self.along.each_ref().map(thinned),
        }
    }

    /// For each point which of `centres` is nearest, the first of equals, and how far that is, squared.
    fn nearest(&self, centres: &[[f32; 3]]) -> (Vec<u32>, Vec<f32>) {
        let (mut which, mut away) = (vec![0; self.len()], vec![f32::INFINITY; self.len()]);
        let parts = which.chunks_mut(BLOCK).zip(away.chunks_mut(BLOCK));
        for (block, (which, away)) in parts.enumerate() {
            let own = block * BLOCK..block * BLOCK + which.len();
            let points = self.along.each_ref().map(|values| &values[own.clone()]);
            nearest(centres, points, which, away);
        }
        (which, away)
    }
}

/// Points worked on at once, so that they stay at hand while all centres are gone through.
const BLOCK: usize = 512;

wide! {
    fn nearest(centres: &[[f32; 3]], points: [&[f32]; 3], which: &mut [u32], away: &mut [f32]) = nearest_here
}

#[inline(always)]
fn nearest_here(centres: &[[f32; 3]], points: [&[f32]; 3], which: &mut [u32], away: &mut [f32]) {
    let n = which.len();
    let ([x, y, z], away) = (points.map(|values| &values[..n]), &mut away[..n]);
    for (k, c) in (0u32..).zip(centres) {
        for i in 0..n {
            let d = (x[i] - c[0]).powi(2) + (y[i] - c[1]).powi(2) + (z[i] - c[2]).powi(2);
            let nearer = d < away[i];
            away[i] = if nearer { d } else { away[i] };
            which[i] = if nearer { k } else { which[i] };
        }
    }
}

/// The colours of what moves in one clip.
pub(super) struct Palette {
    centres: Vec<[f32; 3]>,
}

impl Palette {
    /// Finds the colours in frames, each with the picture at rest beneath it; `None` where too little differs.
    pub(super) fn of(frames: &[(Full, Full)]) -> Option<Self> {
        let mut points = Points::default();
        for (frame, still) in frames {
            let differences = frame.differences(still).into_iter().enumerate();
            let moving = differences.filter(|&(_, d)| d >= DIFFERS);
            let moving: Vec<usize> = moving.map(|(i, _)| i).collect();
            points.add(&frame.points(&moving));
        }
        if points.len() < SAMPLE.0 {
            return None;
        }
        let points = points.every(points.len().div_ceil(SAMPLE.1));
        Some(Self {
            centres: centres(&points),
        })
    }

    /// The class of each pixel; `seen` is 1 where there is one.
    pub(super) fn classes(&self, frame: &Full, still: &Full, seen: Option<&Plane>) -> Vec<u8> {
        let differences = frame.differences(still);
        let mut classes: Vec<u8> = differences.iter().map(|&d| rough(d)).collect();
        if let Some(seen) = seen {
            for (class, &seen) in classes.iter_mut().zip(seen.data()) {
                *class = if seen < 0.5 { UNSURE } else { *class };
            }
        }
        let moving = classes.iter().enumerate().filter(|(_, c)| **c == MOVING);
        let moving: Vec<usize> = moving.map(|(i, _)| i).collect();
        let (nearest, _) = frame.points(&moving).nearest(&self.centres);
        for (i, centre) in moving.into_iter().zip(nearest) {
            classes[i] = centre as u8 + 1;
        }
        classes
    }
}

/// Stands for the colours until it is known which.
const MOVING: u8 = u8::MAX;

/// The class of a pixel so far from the picture at rest.
#[inline(always)]
fn rough(difference: f32) -> u8 {
    let differs = if difference < DIFFERS { UNSURE } else { MOVING };
    if difference < AT_REST { REST } else { differs }
}

/// Lloyd's algorithm (1982). Each start lies where half of the squared distance to the earlier ones is passed.
fn centres(points: &Points) -> Vec<[f32; 3]> {
    let mut centres = vec![points.at(points.len() / 2)];
    let (_, mut far) = points.nearest(&centres);
    while centres.len() < COLOURS {
        let half: f64 = far.iter().map(|&d| f64::from(d)).sum::<f64>() / 2.0;
        let mut sum = 0.0;
        let at = far.iter().position(|&d| {
            sum += f64::from(d);
            sum >= half
        });
        let next = points.at(at.unwrap_or(0));
        centres.push(next);
        let (_, to_next) = points.nearest(&[next]);
        for (far, to_next) in far.iter_mut().zip(to_next) {
            *far = far.min(to_next);
        }
    }
    for _ in 0..12 {
        let mut sums = vec![[0.0f64; 4]; centres.len()];
        let (nearest, _) = points.nearest(&centres);
        for (i, centre) in nearest.into_iter().enumerate() {
            let sum = &mut sums[centre as usize];
            for (s, v) in sum.iter_mut().zip(points.at(i)) {
                *s += f64::from(v);
            }
            sum[3] += 1.0;
        }
        for (c, s) in centres.iter_mut().zip(&sums) {
            if s[3] > 0.0 {
                *c = [0, 1, 2].map(|k| (s[k] / s[3]) as f32);
            }
        }
    }
    centres
}

/// How often each new class met each old one where both were sure of their surroundings.
pub(super) struct Meetings {
    counts: [[f64; SURE]; SURE],
}

impl Meetings {
    pub(super) fn none() -> Self {
        Self {
            counts: [[0.0; SURE]; SURE],
        }
    }

    /// Counts one pair of frames.
    pub(super) fn add(&mut self, new: &[u8], old: &[u8], width: usize) {
        let height = new.len() / width;
        for y in 1..height.saturating_sub(1) {
            for x in 1..width - 1 {
                let i = y * width + x;
                let (a, b) = (new[i], old[i]);
                if a != UNSURE && b != UNSURE && uniform(new, i, width) && uniform(old, i, width) {
                    self.counts[a as usize][b as usize] += 1.0;
                }
            }
        }
    }

    /// How surprising each meeting is, 0 to 1: how much rarer it is than chance would have it.
    pub(super) fn surprise(&self) -> Surprise {
        let total: f64 = self.counts.iter().flatten().sum::<f64>().max(1.0);
        let new: Vec<f64> = self
            .counts
            .iter()
            .map(|r| r.iter().sum::<f64>() / total)
            .collect();
        let old: Vec<f64> = (0..SURE)
            .map(|b| self.counts.iter().map(|r| r[b]).sum::<f64>() / total)
            .collect();
        let mut of = [[0.0f32; SURE]; SURE];
        for a in 0..SURE {
            for b in 0..SURE {
                let ratio = (self.counts[a][b] / total + 1e-6) / (new[a] * old[b] + 1e-5);
                of[a][b] = ((-ratio.ln() - 0.5) / 2.0).clamp(0.0, 1.0) as f32;
            }
        }
        Surprise::of(&of)
    }
}

fn uniform(classes: &[u8], i: usize, width: usize) -> bool {
    let own = classes[i];
    [i - width, i, i + width]
        .iter()
        .all(|&m| classes[m - 1] == own && classes[m] == own && classes[m + 1] == own)
}

/// The least surprise of a class among sets of classes, looked up.
pub(super) struct Surprise {
    /// For a new class, by the set of old ones; and for an old class, by the set of new ones.
    forth: Vec<f32>,
    back: Vec<f32>,
}

const SETS: usize = 1 << (SURE + 1);

impl Surprise {
    fn of(table: &[[f32; SURE]; SURE]) -> Self {
        let mut turned = [[0.0; SURE]; SURE];
        for (a, row) in table.iter().enumerate() {
            for (b, v) in row.iter().enumerate() {
                turned[b][a] = *v;
            }
        }
        Self {
            forth: least(table),
            back: least(&turned),
        }
    }

    /// Per pixel how surprising the new classes are above the old ones nearby, and the old ones beneath the new ones nearby.
    /// `old` are the classes of the old frames it may be.
    pub(super) fn compare(
        &self,
        new: &[u8],
        old: &[&[u8]],
        width: usize,
        height: usize,
    ) -> (Plane, Plane) {
        let sets = |classes: &[u8]| {
            let alone: Vec<u16> = classes.iter().map(|&c| 1 << c).collect();
            union(&alone, width, height)
        };
        let mut old_sets = vec![0u16; new.len()];
        for classes in old {
            for (s, o) in old_sets.iter_mut().zip(sets(classes)) {
                *s |= o;
            }
        }
        let new_sets = sets(new);
        let forth = Plane::from_fn(width, height, |x, y| {
            let i = y * width + x;
            look(&self.forth, new[i], old_sets[i])
        });
        let back = Plane::from_fn(width, height, |x, y| {
            let i = y * width + x;
            old.iter()
                .map(|classes| look(&self.back, classes[i], new_sets[i]))
                .fold(1.0, f32::min)
        });
        (forth, back)
    }
}

fn look(table: &[f32], class: u8, set: u16) -> f32 {
    if class == UNSURE {
        0.0
    } else {
        table[class as usize * SETS + set as usize]
    }
}

/// For each class and set of the other's classes the least value; 0 with the unsure one among them.
fn least(table: &[[f32; SURE]; SURE]) -> Vec<f32> {
    let mut out = vec![1.0f32; SURE * SETS];
    for (class, row) in table.iter().enumerate() {
        let out = &mut out[class * SETS..(class + 1) * SETS];
        for set in 1..SETS {
            let lowest = set.trailing_zeros() as usize;
            let own = row.get(lowest).copied().unwrap_or(0.0);
            out[set] = own.min(out[set & (set - 1)]);
        }
    }
    out
}
