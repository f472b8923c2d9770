//! Linear stop: a moving part stands from one frame to the next, without easing.

use super::Candidate;
use super::scene::{Moving, Scene};
use super::series::{clip, gaps, largest, median};

/// When a stop is dead.
#[derive(Debug, Clone, PartialEq)]
pub struct StopLimits {
    /// Findings have at least this value, as a share of the speed, 0..=1. Default 0.65.
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
            limit: 0.65,
            least: 0.014,
            least_noise: 6.0,
            rest: 0.22,
            drift: 0.18,
        }
    }
}

/// Half of the largest loss of speed over one frame and over two, as a share of the largest speed: 1 stops dead.
fn loss(gaps: &[f64]) -> Option<f64> {
    let fastest = largest(gaps.iter().copied())?;
    let over = |frames: usize| largest(gaps.windows(frames + 1).map(|w| w[0] - w[frames]));
    (fastest > 0.0).then_some((over(1)? + over(2)?) / 2.0 / fastest)
}

/// Share of the speed lost at once where the part stops in the span; none if it is too slow there.
pub(crate) fn at(scene: &Scene, part: &str, start: usize, end: usize, limits: &StopLimits) -> Option<f64> {
    let moving = scene.carried(part)?;
    let gaps = gaps(&moving.raw);
    let window = &gaps[clip(start as isize - 3, end as isize + 4, scene.frames)];
    let fast = largest(window.iter().copied())?;
    (fast >= 0.5 * limits.least && fast >= limits.least_noise / 2.0 * moving.sigma).then(|| loss(window))?
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
        && still.iter().all(|p| apart(p) <= (limits.drift * speed).max(3.0 * moving.sigma))
}

pub(crate) fn scan(scene: &Scene, limits: &StopLimits) -> Vec<Candidate> {
    let mut found = vec![];
    for part in scene.tracks.keys().filter(|p| super::leads(scene, p)) {
        let Some(moving) = scene.carried(part) else {
            continue;
        };
        let gaps = gaps(&moving.raw);
        for f in (0..scene.frames).filter(|f| stops(&moving, &gaps, *f, limits)) {
            let window = &gaps[clip(f as isize - 2, f as isize + 5, scene.frames)];
            if let Some(value) = loss(window).filter(|v| *v >= limits.limit) {
                found.push(Candidate::new(part, f.saturating_sub(1), (f + 4).min(scene.frames - 1), value));
            }
        }
    }
    found
}
