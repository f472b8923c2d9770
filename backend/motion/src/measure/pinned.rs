//! Pinned and still hips: a part stays where it is while the chest travels.

use super::Candidate;
use super::scene::Scene;
use super::series::{V2, clip, travel};

/// When a head or a hand is pinned.
#[derive(Debug, Clone, PartialEq)]
pub struct PinnedLimits {
    /// Findings have at least this value (1: it does not move at all). Default 0.8.
    pub limit: f64,
    /// Least travel of the chest, in standing heights. Default 0.04.
    pub least: f64,
    /// The same on a note. Default 0.004.
    pub asked: f64,
    /// Findings: largest travel of what is pinned, in standing heights. Default 0.02.
    pub still: f64,
    /// Taken off a hand, which stays behind more naturally than a head. Default 0.07.
    pub hand: f64,
}

impl Default for PinnedLimits {
    fn default() -> Self {
        Self {
            limit: 0.8,
            least: 0.04,
            asked: 0.004,
            still: 0.02,
            hand: 0.07,
        }
    }
}

/// When hips are still.
#[derive(Debug, Clone, PartialEq)]
pub struct HipsLimits {
    /// Findings have at least this value (1: they do not move at all). Default 0.75.
    pub limit: f64,
    /// Least travel of the chest, in standing heights. Default 0.012.
    pub least: f64,
    /// Frames of the window. Default 20.
    pub frames: usize,
}

impl Default for HipsLimits {
    fn default() -> Self {
        Self {
            limit: 0.75,
            least: 0.012,
            frames: 20,
        }
    }
}

/// 1 less the travel of `part` as a share of that of `chest`, if the chest travels at least `least`.
fn stays(part: &[V2], chest: &[V2], least: f64) -> Option<f64> {
    let (own, all) = (travel(part), travel(chest));
    (all >= least)
        .then(|| 1.0 - own / all)
        .filter(|v| v.is_finite())
}

/// The middle of a span: what is pinned is let go at the ends.
fn middle(start: usize, end: usize, frames: usize) -> std::ops::Range<usize> {
    let off = ((end - start + 1) / 5).min(5);
    clip((start + off) as isize, (end + 1 - off) as isize, frames)
}

/// How much the part stays behind over the span: 1 fixed in the picture, 0 travels as far as the chest, below 0 farther.
pub(crate) fn at(scene: &Scene, part: &str, start: usize, end: usize, least: f64) -> Option<f64> {
    let (own, chest) = (scene.absolute(part)?, scene.chest()?);
    let range = middle(start, end, scene.frames);
    (range.len() >= 4).then(|| stays(&own.path[range.clone()], &chest.path[range], least))?
}

pub(crate) fn scan_pinned(scene: &Scene, limits: &PinnedLimits) -> Vec<Candidate> {
    let Some(chest) = scene.chest() else {
        return vec![];
    };
    let floor = super::feet::floor(scene);
    let mut found = vec![];
    for part in scene
        .tracks
        .keys()
        .filter(|p| *p == "head" || super::is_hand(scene, p))
    {
        let off = if part == "head" { 0.0 } else { limits.hand };
        let path = &scene.tracks[part].path;
        for (from, len) in (0..scene.frames).flat_map(|f| [10, 13, 16].map(|len| (f, len))) {
            let Some(own) = path.get(from..from + len) else {
                continue;
            };
            if off > 0.0 && len < 16 {
                continue;
            }
            let leans =
                off > 0.0 && floor.is_some_and(|floor| own.iter().any(|p| floor - p[1] < 0.06));
            let still = travel(own) <= limits.still;
            let value = stays(own, &chest.path[from..from + len], limits.least)
                .filter(|_| still)
                .map(|v| v - off);
            if let Some(value) = value.filter(|v| *v >= limits.limit && !leans) {
                found.push(Candidate::new(part, from, from + len - 1, value));
            }
        }
    }
    found
}

pub(crate) fn scan_hips(scene: &Scene, limits: &HipsLimits) -> Vec<Candidate> {
    let (Some(hip), Some(chest)) = (scene.path("hip"), scene.chest()) else {
        return vec![];
    };
    let windows = hip
        .windows(limits.frames.max(2))
        .zip(chest.path.windows(limits.frames.max(2)));
    windows
        .enumerate()
        .filter_map(|(from, (hip, chest))| {
            let value = stays(hip, chest, limits.least).filter(|v| *v >= limits.limit)?;
            Some(Candidate::new("hip", from, from + hip.len() - 1, value))
        })
        .collect()
}
