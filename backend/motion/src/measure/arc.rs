//! Straight path: a hand goes from pose to pose on a line instead of an arc.

use super::Candidate;
use super::scene::{Moving, Scene};
use super::series::{V2, clip, dot, norm, sub};

/// When a path is straight.
#[derive(Debug, Clone, PartialEq)]
pub struct ArcLimits {
    /// Findings have at least this value (1 is a line). Default 0.965.
    pub limit: f64,
    /// Findings: shortest chord in standing heights. Default 0.16.
    pub least: f64,
    /// Findings: shortest chord in deviations of the noise. Default 25.
    pub least_noise: f64,
    /// Shortest chord that a note can ask about, in standing heights. Default 0.03.
    pub asked: f64,
    /// Taken off a finding that does not kink at both ends. Default 0.03.
    pub smooth_ends: f64,
    /// What kinks, in degrees. Default 12.
    pub kink: f64,
}

impl Default for ArcLimits {
    fn default() -> Self {
        Self {
            limit: 0.965,
            least: 0.16,
            least_noise: 25.0,
            asked: 0.03,
            smooth_ends: 0.03,
            kink: 12.0,
        }
    }
}

/// Largest distance of the places from the line between the first and the last, as a share of the length of that line.
pub(crate) fn sagitta(path: &[V2]) -> Option<f64> {
    let (first, last) = (*path.first()?, *path.last()?);
    let chord = sub(last, first);
    let length = norm(chord);
    let normal = [-chord[1] / length, chord[0] / length];
    let far = path
        .iter()
        .map(|p| dot(sub(*p, first), normal).abs())
        .fold(0.0, |a: f64, b| if b.is_nan() { b } else { a.max(b) });
    let share = far / length;
    share.is_finite().then_some(share)
}

/// 1 less the sagitta over the span; none if the part hardly moves or is lost.
pub(crate) fn at(
    scene: &Scene,
    part: &str,
    start: usize,
    end: usize,
    limits: &ArcLimits,
) -> Option<f64> {
    let moving = scene.absolute(part)?;
    let path = &moving.path[clip(start as isize, end as isize + 1, scene.frames)];
    let chord = norm(sub(*path.last()?, *path.first()?));
    let least = limits.asked.max(6.0 * moving.sigma);
    (path.len() >= 4 && chord >= least).then(|| sagitta(path).map(|s| (1.0 - s).max(0.0)))?
}

/// Turn of the path at a frame in degrees, over two frames before and after; 0 where it hardly moves, as turns come easily there.
fn turn(path: &[V2], f: usize, least: f64) -> f64 {
    let (Some(before), Some(after)) = (f.checked_sub(2).map(|b| path[b]), path.get(f + 2)) else {
        return 0.0;
    };
    let (a, b) = (sub(path[f], before), sub(*after, path[f]));
    if norm(a).min(norm(b)) < least {
        return 0.0;
    }
    (a[0] * b[1] - a[1] * b[0])
        .atan2(dot(a, b))
        .abs()
        .to_degrees()
}

fn straight(moving: &Moving<'_>, from: usize, to: usize, limits: &ArcLimits) -> Option<f64> {
    let path = &moving.path[from..=to];
    let chord = sub(path[path.len() - 1], path[0]);
    let length = norm(chord);
    let long = length >= limits.least.max(limits.least_noise * moving.sigma);
    if !long {
        return None;
    }
    let forward = path.windows(2).all(|w| dot(sub(w[1], w[0]), chord) > 0.0);
    let kinks = [from, to]
        .into_iter()
        .all(|f| turn(&moving.path, f, limits.least / 8.0) >= limits.kink);
    let value = 1.0 - sagitta(path)? - if kinks { 0.0 } else { limits.smooth_ends };
    (forward && value >= limits.limit).then_some(value)
}

pub(crate) fn scan(scene: &Scene, limits: &ArcLimits) -> Vec<Candidate> {
    let mut found = vec![];
    for part in scene.tracks.keys().filter(|p| super::is_hand(scene, p)) {
        let Some(moving) = scene.absolute(part) else {
            continue;
        };
        for from in 0..scene.frames {
            for to in (from + 8..=from + 16)
                .step_by(2)
                .take_while(|to| *to < scene.frames)
            {
                if let Some(value) = straight(&moving, from, to, limits) {
                    found.push(Candidate::new(part, from, to, value));
                }
            }
        }
    }
    found
}
