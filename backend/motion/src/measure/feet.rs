//! Feet: slide over a contact, one-frame plant (stomp), high step.

use super::Candidate;
use super::scene::{SIDES, Scene, runs};
use super::series::{V2, clip, largest, median, quantile};

/// When a standing foot slides.
#[derive(Debug, Clone, PartialEq)]
pub struct SlideLimits {
    /// Findings have at least this value, in % of the standing height. Default 3.
    pub limit: f64,
    /// Shortest contact, in frames. Default 4.
    pub frames: usize,
    /// A longer contact is looked at in windows of this many frames. Default 16.
    pub window: usize,
}

impl Default for SlideLimits {
    fn default() -> Self {
        Self {
            limit: 3.0,
            frames: 4,
            window: 16,
        }
    }
}

/// When a foot lands within one frame.
#[derive(Debug, Clone, PartialEq)]
pub struct StompLimits {
    /// Findings have at least this value, in % of the standing height. Default 2.6.
    pub limit: f64,
    /// Movement in the three frames after, as a share of the drop. Default 0.25.
    pub after: f64,
    /// Share that the last frame has in the fall of four frames. Default 0.75.
    pub share: f64,
}

impl Default for StompLimits {
    fn default() -> Self {
        Self {
            limit: 2.6,
            after: 0.25,
            share: 0.75,
        }
    }
}

/// When a step is high.
#[derive(Debug, Clone, PartialEq)]
pub struct LiftLimits {
    /// Findings have at least this value, in % of the standing height. Default 18.
    pub limit: f64,
    /// Longest step, in frames. Default 40.
    pub frames: usize,
}

impl Default for LiftLimits {
    fn default() -> Self {
        Self {
            limit: 18.0,
            frames: 40,
        }
    }
}

/// Foot skate: the sum over frames of `v (2 - 2^(h / limit))` where the foot is at most `limit` above the floor, in the unit of the
/// speeds (Zhang, Starke, Komura, Saito 2018). `heights` and `limit` share a unit, above the floor positive; below it counts as on it.
#[must_use]
pub fn foot_skate(speeds: &[f64], heights: &[f64], limit: f64) -> f64 {
    let near = speeds
        .iter()
        .zip(heights)
        .filter(|(v, h)| v.is_finite() && **h <= limit);
    near.map(|(v, h)| v * (2.0 - (h.max(0.0) / limit).exp2()))
        .sum()
}

/// Foot skate of a side over the whole scene, % of the standing height; the foot counts as low within `low` of the floor.
pub(crate) fn skate(scene: &Scene, side: &str, low: f64) -> Option<f64> {
    let floor = floor(scene)?;
    let (_, ankle, toe) = foot(scene, &format!("ankle.{side}"))?;
    let path = toe.unwrap_or(ankle);
    let speeds: Vec<f64> = path.windows(2).map(|w| (w[1][0] - w[0][0]).abs()).collect();
    let heights: Vec<f64> = path.iter().skip(1).map(|p| floor - p[1]).collect();
    Some(100.0 * foot_skate(&speeds, &heights, low))
}

/// The height of the floor: low toes (or ankles); none without feet.
pub(crate) fn floor(scene: &Scene) -> Option<f64> {
    let of = |what: &str| {
        let places = scene.tracks.iter().filter(|(p, _)| p.starts_with(what));
        let level = quantile(places.flat_map(|(_, t)| t.path.iter().map(|p| p[1])), 0.92);
        level.is_finite().then_some(level)
    };
    of("toe.").or_else(|| of("ankle."))
}

/// The place of a side in `SIDES`, the foot's path and that of its toe, if it has both.
type Foot<'a> = (usize, &'a [V2], Option<&'a [V2]>);

/// The foot of the side of a part such as `ankle.left` or `toe.left`.
fn foot<'a>(scene: &'a Scene, part: &str) -> Option<Foot<'a>> {
    let side = part.split_once('.')?.1;
    let index = SIDES.iter().position(|s| *s == side)?;
    let (ankle, toe) = (
        scene.path(&format!("ankle.{side}")),
        scene.path(&format!("toe.{side}")),
    );
    Some((index, ankle.or(toe)?, ankle.and(toe)))
}

/// Horizontal range of the places over frames, each the mean of up to three.
fn range(path: &[V2], frames: std::ops::Range<usize>) -> Option<f64> {
    let places = &path[frames];
    let smooth: Vec<f64> = if places.len() < 5 {
        places.iter().map(|p| p[0]).collect()
    } else {
        places
            .windows(3)
            .map(|w| (w[0][0] + w[1][0] + w[2][0]) / 3.0)
            .collect()
    };
    let low = -largest(smooth.iter().map(|x| -x))?;
    Some(largest(smooth)? - low)
}

/// The smaller of the ranges of ankle and toe, in %: a foot may roll about either.
fn slide(ankle: &[V2], toe: Option<&[V2]>, frames: std::ops::Range<usize>) -> Option<f64> {
    let own = range(ankle, frames.clone())?;
    Some(100.0 * own.min(toe.and_then(|t| range(t, frames)).unwrap_or(own)))
}

/// Slide of the foot while it stands in the span, % of the standing height.
pub(crate) fn slide_at(
    scene: &Scene,
    part: &str,
    start: usize,
    end: usize,
    limits: &SlideLimits,
) -> Option<f64> {
    let (side, ankle, toe) = foot(scene, part)?;
    let stands = scene.contacts[side].as_ref()?;
    let frames = clip(start as isize, end as isize + 1, scene.frames);
    let standing = runs(&stands[frames.clone()], true);
    let longest = standing
        .into_iter()
        .max_by_key(std::iter::ExactSizeIterator::len)?;
    let from = frames.start + longest.start;
    (longest.len() >= limits.frames.min(3))
        .then(|| slide(ankle, toe, from..from + longest.len()))?
}

pub(crate) fn scan_slide(scene: &Scene, limits: &SlideLimits) -> Vec<Candidate> {
    let mut found = vec![];
    for (index, side) in SIDES.iter().enumerate() {
        let part = format!("ankle.{side}");
        let (Some((_, ankle, toe)), Some(stands)) = (foot(scene, &part), &scene.contacts[index])
        else {
            continue;
        };
        for run in runs(stands, true)
            .into_iter()
            .filter(|r| r.len() >= limits.frames.max(1))
        {
            let len = run.len().min(limits.window.max(1));
            for from in run.start..=run.end - len {
                let value = slide(ankle, toe, from..from + len);
                if let Some(value) = value.filter(|v| *v >= limits.limit) {
                    found.push(Candidate::new(&part, from, from + len - 1, value));
                }
            }
        }
    }
    found
}

/// Drop into frame `f`, in % of the standing height, less where the fall was spread or goes on.
fn plant(path: &[V2], f: usize, limits: &StompLimits, strict: bool) -> Option<f64> {
    let y = |f: usize| path.get(f).map(|p| p[1]).filter(|y| y.is_finite());
    let drop = y(f)? - y(f.checked_sub(1)?)?;
    let highest = (2..=4)
        .filter_map(|k| y(f.checked_sub(k)?))
        .fold(y(f - 1)?, f64::min);
    let share = drop / (y(f)? - highest);
    let after = (1..=3)
        .filter_map(|k| Some((y(f + k)? - y(f + k - 1)?).abs()))
        .fold(0.0, f64::max);
    if drop <= 0.0 || (strict && after > limits.after * drop) {
        return (!strict).then_some(0.0);
    }
    let ends = if strict {
        1.0
    } else {
        (1.0 - after / drop).clamp(0.0, 1.0 - limits.after) / (1.0 - limits.after)
    };
    Some(100.0 * drop * (share / limits.share).min(1.0).powi(2) * ends)
}

/// Drop of the foot in its last frame before it stands, % of the standing height.
pub(crate) fn stomp_at(
    scene: &Scene,
    part: &str,
    start: usize,
    end: usize,
    limits: &StompLimits,
) -> Option<f64> {
    let path = scene.path(part)?;
    let frames = clip(start as isize - 1, end as isize + 2, scene.frames);
    largest(frames.filter_map(|f| plant(path, f, limits, false)))
}

pub(crate) fn scan_stomp(scene: &Scene, limits: &StompLimits) -> Vec<Candidate> {
    let feet = scene.tracks.iter().filter(|(p, _)| p.starts_with("ankle."));
    feet.flat_map(|(part, track)| {
        (4..scene.frames).filter_map(move |f| {
            let value = plant(&track.path, f, limits, true).filter(|v| *v >= limits.limit)?;
            Some(Candidate::new(
                part,
                f - 1,
                (f + 1).min(scene.frames - 1),
                value,
            ))
        })
    })
    .collect()
}

/// Highest place above the line between the ends of the frames, % of the standing height.
fn lift(path: &[V2], start: usize, end: usize) -> Option<f64> {
    let level = |range: std::ops::Range<usize>| median(path[range].iter().map(|p| p[1]));
    let n = path.len();
    let (a, b) = (
        level(clip(start as isize - 2, start as isize + 1, n)),
        level(clip(end as isize, end as isize + 3, n)),
    );
    let line = |f: usize| a + (b - a) * (f - start) as f64 / (end - start).max(1) as f64;
    largest((start..=end.min(n - 1)).map(|f| 100.0 * (line(f) - path[f][1])))
}

/// How high the foot is lifted over the span, % of the standing height.
pub(crate) fn lift_at(scene: &Scene, part: &str, start: usize, end: usize) -> Option<f64> {
    lift(scene.path(part)?, start, end)
}

pub(crate) fn scan_lift(scene: &Scene, limits: &LiftLimits) -> Vec<Candidate> {
    let mut found = vec![];
    for (index, side) in SIDES.iter().enumerate() {
        let part = format!("ankle.{side}");
        let (Some((_, ankle, _)), Some(stands)) = (foot(scene, &part), &scene.contacts[index])
        else {
            continue;
        };
        let standing = runs(stands, true);
        for pair in standing.windows(2) {
            let (start, end) = (pair[0].end, pair[1].start);
            if end - start > limits.frames {
                continue;
            }
            if let Some(value) = lift(ankle, start, end).filter(|v| *v >= limits.limit) {
                found.push(Candidate::new(&part, start, end, value));
            }
        }
    }
    found
}
