//! Linear stop: a moving part stands from one frame to the next, without easing.

use super::Candidate;
use super::scene::{Moving, Scene};
use super::series::{clip, gaps, largest, median};

/// When a stop is dead.
#[derive(Debug, Clone, PartialEq)]
pub struct StopLimits {
    /// Findings have at least this value, as a share of the speed, 0..=1. Default 0.62.
    pub limit: f64,
    /// Slowest movement that can stop dead, in standing heights a frame. Default 0.014.
    pub least: f64,
    /// The same in deviations of the noise. Default 6.
    pub least_noise: f64,
    /// Findings: what is left of the speed in the three frames after the stop, as a share. Default 0.22.
    pub rest: f64,
    /// Findings: how far the part still goes after that, in frames at its speed before. Default 0.18.
    pub drift: f64,
}

impl Default for StopLimits {
    fn default() -> Self {
        Self {
            limit: 0.62,
            least: 0.014,
            least_noise: 6.0,
            rest: 0.22,
            drift: 0.18,
        }
    }
}

/// Frames before a stop whose speed it is measured by: the last frames of an ease-out lose most of what is left of it, little of what
/// it was.
const BEFORE: isize = 3;

fn fastest(gaps: &[f64], f: usize) -> Option<f64> {
    largest(
        gaps[clip(f as isize - BEFORE, f as isize + 2, gaps.len())]
            .iter()
            .copied(),
    )
}

/// Half of the largest loss of speed over one frame and over two at frame `f`, as a share of the largest speed shortly before, less
/// what goes on after it: 1 stops dead.
fn loss(gaps: &[f64], f: usize) -> Option<f64> {
    let at = f as isize;
    let fastest = fastest(gaps, f)?;
    let window = &gaps[clip(at - 1, at + 4, gaps.len())];
    let over = |frames: usize| largest(window.windows(frames + 1).map(|w| w[0] - w[frames]));
    let after = median(gaps[clip(at + 2, at + 5, gaps.len())].iter().copied());
    let value = (over(1)? + over(2)?) / 2.0 / fastest * (1.0 - after / fastest);
    value.is_finite().then_some(value.max(0.0))
}

/// Share of the speed lost at once where the part stops in the span; none if it is too slow there.
pub(crate) fn at(
    scene: &Scene,
    part: &str,
    start: usize,
    end: usize,
    limits: &StopLimits,
) -> Option<f64> {
    let moving = scene.carried(part)?;
    let gaps = gaps(&moving.raw);
    let range = clip(start as isize - 2, end as isize + 3, scene.frames);
    let most = largest(range.clone().filter_map(|f| fastest(&gaps, f)))?;
    let least = (0.5 * limits.least).max(0.5 * limits.least_noise * moving.sigma);
    let fast = |f: &usize| fastest(&gaps, *f).is_some_and(|s| s >= least && s >= 0.4 * most);
    largest(range.filter(fast).filter_map(|f| loss(&gaps, f)))
}

/// A part that moves at `f` and stands right after.
fn stops(moving: &Moving<'_>, gaps: &[f64], f: usize, limits: &StopLimits) -> bool {
    let Some(before) = f.checked_sub(2).and_then(|from| gaps.get(from..=f)) else {
        return false;
    };
    let speed = median(before.iter().copied());
    let Some(after) = gaps.get(f + 2..f + 5) else {
        return false;
    };
    let rest = (limits.rest * speed).max(3.0 * moving.sigma);
    let Some(still) = moving.raw.get(f + 2..f + 8) else {
        return false;
    };
    let apart = |p: &[f64; 2]| (p[0] - still[0][0]).hypot(p[1] - still[0][1]);
    speed >= limits.least.max(limits.least_noise * moving.sigma)
        && after.iter().all(|g| *g <= rest)
        && still
            .iter()
            .all(|p| apart(p) <= (limits.drift * speed).max(3.0 * moving.sigma))
}

pub(crate) fn scan(scene: &Scene, limits: &StopLimits) -> Vec<Candidate> {
    let mut found = vec![];
    for part in scene.tracks.keys().filter(|p| super::leads(scene, p)) {
        let Some(moving) = scene.carried(part) else {
            continue;
        };
        let gaps = gaps(&moving.raw);
        for f in (0..scene.frames).filter(|f| stops(&moving, &gaps, *f, limits)) {
            if let Some(value) = loss(&gaps, f).filter(|v| *v >= limits.limit) {
                found.push(Candidate::new(
                    part,
                    f.saturating_sub(1),
                    (f + 4).min(scene.frames - 1),
                    value,
                ));
            }
        }
    }
    found
}
