//! In step (twinning): both hands do the same thing at the same time.

use super::Candidate;
use super::scene::Scene;
use super::series::{LOST, V2, clip, dot, mean, norm};

/// When two hands are in step.
#[derive(Debug, Clone, PartialEq)]
pub struct StepLimits {
    /// Findings have at least this value, a correlation. Default 0.955.
    pub limit: f64,
    /// Slowest mean speed of either hand, in standing heights a frame. Default 0.006.
    pub least: f64,
    /// Frames of the window. Default 20.
    pub frames: usize,
}

impl Default for StepLimits {
    fn default() -> Self {
        Self {
            limit: 0.955,
            least: 0.006,
            frames: 20,
        }
    }
}

/// Velocities weighted (1, 1, -1, -1) / 4 about the gap into each frame.
fn velocities(path: &[V2]) -> Vec<V2> {
    let mut out = vec![LOST; path.len()];
    for (f, w) in path.windows(4).enumerate() {
        let axis = |i: usize| (w[3][i] + w[2][i] - w[1][i] - w[0][i]) / 4.0;
        out[f + 2] = [axis(0), axis(1)];
    }
    out
}

/// The other hand.
pub(super) fn other(part: &str) -> Option<String> {
    let (what, side) = part.split_once('.')?;
    let other = match side {
        "left" => "right",
        "right" => "left",
        _ => return None,
    };
    Some(format!("{what}.{other}"))
}

/// Correlation of two rows of velocities about 0, as they are or with the second mirrored left to right, the larger.
fn correlation(a: &[V2], b: &[V2]) -> Option<f64> {
    let sum = |f: &dyn Fn(&V2, &V2) -> f64| {
        a.iter()
            .zip(b)
            .map(|(a, b)| f(a, b))
            .filter(|v| v.is_finite())
            .sum::<f64>()
    };
    let scale =
        (sum(&|a, b| dot(*a, *a) + 0.0 * b[0]) * sum(&|a, b| dot(*b, *b) + 0.0 * a[0])).sqrt();
    let plain = sum(&|a, b| dot(*a, *b));
    let mirrored = sum(&|a, b| a[1] * b[1] - a[0] * b[0]);
    (scale > 0.0).then(|| plain.max(mirrored) / scale)
}

/// Both hands' velocities, unless one of them is not traced.
fn pair(scene: &Scene, part: &str) -> Option<[Vec<V2>; 2]> {
    let (a, b) = (scene.carried(part)?, scene.carried(&other(part)?)?);
    Some([velocities(&a.path), velocities(&b.path)])
}

fn window(pair: &[Vec<V2>; 2], range: std::ops::Range<usize>, least: f64) -> Option<f64> {
    let [a, b] = pair.each_ref().map(|v| &v[range.clone()]);
    let fast = |v: &[V2]| mean(v.iter().map(|v| norm(*v))) >= least;
    let known = a
        .iter()
        .zip(b)
        .filter(|(a, b)| a[0].is_finite() && b[0].is_finite())
        .count();
    (known * 4 >= range.len() * 3 && fast(a) && fast(b)).then(|| correlation(a, b))?
}

/// Correlation of the hand's velocities with the other's over the span, -1..=1.
pub(crate) fn at(
    scene: &Scene,
    part: &str,
    start: usize,
    end: usize,
    limits: &StepLimits,
) -> Option<f64> {
    let pair = pair(scene, part)?;
    window(
        &pair,
        clip(start as isize, end as isize + 1, scene.frames),
        limits.least / 3.0,
    )
}

pub(crate) fn scan(scene: &Scene, limits: &StepLimits) -> Vec<Candidate> {
    let what = if scene.tracks.contains_key("wrist.left") {
        "wrist.left"
    } else {
        "hand.left"
    };
    let Some(pair) = pair(scene, what) else {
        return vec![];
    };
    let last = scene.frames.saturating_sub(limits.frames);
    let found = (0..=last).filter_map(|from| {
        let range = clip(from as isize, (from + limits.frames) as isize, scene.frames);
        let value = window(&pair, range.clone(), limits.least).filter(|v| *v >= limits.limit)?;
        Some(Candidate::new(what, from, range.end - 1, value))
    });
    found.collect()
}
