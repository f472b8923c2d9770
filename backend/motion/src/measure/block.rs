//! One block: after a rest all parts start on the same frame.

use super::Candidate;
use super::scene::Scene;
use super::series::{V2, clip, gaps, largest, mean, norm, relative, sub};

/// When parts start as one.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockLimits {
    /// Findings have at least this value (1: all on the same frame). Default 0.9.
    pub limit: f64,
    /// Deviation of the onsets, in frames, at which nothing is left of a block. Default 5.
    pub apart: f64,
    /// Fewest parts with an onset. Default 3.
    pub fewest: usize,
    /// What is left of the value with that many parts. Default 0.85.
    pub with_fewest: f64,
    /// Rest: its speed as a share of what follows. Default 0.18.
    pub rest: f64,
    /// Smallest movement of a part that has an onset, in standing heights. Default 0.012.
    pub least: f64,
    /// The same in deviations of the noise. Default 8.
    pub least_noise: f64,
    /// A part has left its rest at this distance, in standing heights. Default 0.0015.
    pub leaves: f64,
    /// The same in deviations of the noise. Default 2.2.
    pub leaves_noise: f64,
}

impl Default for BlockLimits {
    fn default() -> Self {
        Self {
            limit: 0.9,
            apart: 5.0,
            fewest: 3,
            with_fewest: 0.85,
            rest: 0.18,
            least: 0.012,
            least_noise: 8.0,
            leaves: 0.0015,
            leaves_noise: 2.2,
        }
    }
}

/// Frames of rest that are looked at before, and of movement after.
const BEFORE: usize = 6;
const AFTER: usize = 16;

/// A part as the one below it carries it: hip, trunk, head, both arms.
struct Link {
    path: Vec<V2>,
    sigma: f64,
}

fn links(scene: &Scene) -> Vec<Link> {
    let between = |part: &str, root: &str| {
        let (a, b) = (scene.tracks.get(part)?, scene.tracks.get(root)?);
        Some(Link {
            path: relative(&a.path, &b.path),
            sigma: a.sigma.hypot(b.sigma),
        })
    };
    let hip = scene.tracks.get("hip").map(|t| Link {
        path: t.path.clone(),
        sigma: t.sigma,
    });
    let others = [
        between("neck", "hip").or_else(|| between("chest", "hip")),
        between("head", "neck").or_else(|| between("head", "chest")),
        between("wrist.left", "shoulder.left"),
        between("wrist.right", "shoulder.right"),
    ];
    hip.into_iter()
        .chain(others.into_iter().flatten())
        .collect()
}

/// When a part leaves its rest before frame `from`, to a fraction of a frame, and how sure that is, 0..1; none if it hardly moves.
///
/// A level just above the noise, the same for all: a share of how far each goes later would call the wide movements late.
fn onset(link: &Link, from: usize, limits: &BlockLimits) -> Option<(f64, f64)> {
    let frames = link.path.len();
    let rest = &link.path[clip(from as isize - BEFORE as isize, from as isize, frames)];
    let centre = [
        mean(rest.iter().map(|p| p[0])),
        mean(rest.iter().map(|p| p[1])),
    ];
    // Smoothing does not move an onset that all parts are smoothed alike by.
    let smooth = |f: usize| -> Option<V2> {
        let [a, b, c] = *link.path.get(f.checked_sub(1)?..f + 2)? else {
            return None;
        };
        Some([
            (a[0] + 2.0 * b[0] + c[0]) / 4.0,
            (a[1] + 2.0 * b[1] + c[1]) / 4.0,
        ])
    };
    let out = |f: usize| smooth(f).map_or(f64::NAN, |p| norm(sub(p, centre)));
    let range = clip(from as isize - 2, (from + AFTER) as isize, frames);
    let far = largest(range.clone().map(out))?;
    if far < limits.least.max(limits.least_noise * link.sigma) {
        return None;
    }
    let level = limits.leaves.max(limits.leaves_noise * link.sigma);
    let f = range
        .clone()
        .find(|f| *f > 0 && out(*f) >= level && out(*f + 1) >= level)?;
    let (a, b) = (out(f - 1), out(f));
    // Noise moves the crossing of a slow start by more frames than that of a fast one.
    let slope = (out(f + 1) - a) / 2.0;
    let weight = slope * slope / (slope * slope + link.sigma * link.sigma);
    Some((
        (f - 1) as f64 + ((level - a) / (b - a)).clamp(0.0, 1.0),
        weight,
    ))
}

fn block(links: &[Link], from: usize, limits: &BlockLimits) -> Option<f64> {
    let onsets: Vec<(f64, f64)> = links
        .iter()
        .filter_map(|l| onset(l, from, limits))
        .collect();
    if onsets.len() < limits.fewest.max(2) {
        return None;
    }
    let few = if onsets.len() == limits.fewest {
        limits.with_fewest
    } else {
        1.0
    };
    let all: f64 = onsets.iter().map(|(_, w)| w).sum();
    let centre = onsets.iter().map(|(t, w)| t * w).sum::<f64>() / all;
    let squares = onsets
        .iter()
        .map(|(t, w)| w * (t - centre) * (t - centre))
        .sum::<f64>()
        / all;
    let spread = (squares * onsets.len() as f64 / (onsets.len() as f64 - 1.0)).sqrt();
    Some((1.0 - (spread / limits.apart).min(1.0)) * few)
}

/// Speed of all links together, in standing heights a frame.
fn speeds(links: &[Link], frames: usize) -> Vec<f64> {
    let mut sum = vec![0.0; frames];
    for link in links {
        for (s, g) in sum.iter_mut().zip(gaps(&link.path)) {
            *s += if g.is_finite() { g } else { 0.0 };
        }
    }
    sum
}

/// Speed before frame `f` as a share of the speed after it.
fn contrast(speeds: &[f64], f: usize) -> f64 {
    let over = |range: std::ops::Range<usize>| mean(speeds[range].iter().copied());
    let (f, n) = (f as isize, speeds.len());
    over(clip(f - 4, f, n)) / over(clip(f + 2, f + 10, n))
}

/// 1 if all parts start at once after the rest at the start of the span, 0 if they spread over several frames.
pub(crate) fn at(scene: &Scene, start: usize, limits: &BlockLimits) -> Option<f64> {
    let links = links(scene);
    let speeds = speeds(&links, scene.frames);
    let near = clip(start as isize - 3, start as isize + 5, scene.frames);
    let from = near
        .filter(|f| contrast(&speeds, *f).is_finite())
        .rfind(|f| contrast(&speeds, *f) < limits.rest)
        .unwrap_or(start);
    block(&links, from.min(start + 1), limits)
}

pub(crate) fn scan(scene: &Scene, limits: &BlockLimits) -> Vec<Candidate> {
    let links = links(scene);
    let speeds = speeds(&links, scene.frames);
    let rests: Vec<bool> = (0..scene.frames)
        .map(|f| f >= 4 && contrast(&speeds, f) < limits.rest)
        .collect();
    super::scene::runs(&rests, true)
        .into_iter()
        .filter_map(|run| {
            let from = run.end - 1;
            let value = block(&links, from, limits).filter(|v| *v >= limits.limit)?;
            Some(Candidate::new(
                super::scene::BODY,
                from,
                (from + 7).min(scene.frames - 1),
                value,
            ))
        })
        .collect()
}
