//! Jump (pop): a part leaves its path for one or two frames and comes back, or a frame is held back.

use super::Candidate;
use super::scene::{BODY, Moving, Scene};
use super::series::{V2, clip, dot, fourth_differences, gaps, largest, median, norm, quantile};

/// When a displacement is a jump.
#[derive(Debug, Clone, PartialEq)]
pub struct JumpLimits {
    /// Findings have at least this value, in times of what is usual about the frame. Default 2.6.
    pub limit: f64,
    /// Findings: share of the fourth differences that a displacement explains, 0..=1. Default 0.72.
    pub fit: f64,
    /// Findings: smallest displacement in standing heights. Default 0.005.
    pub least: f64,
    /// Findings: smallest displacement in deviations of the noise. Default 4.
    pub least_noise: f64,
    /// What is usual about a frame is never taken to be less than this, in standing heights. Default 0.004.
    pub usual: f64,
    /// Share of the parts that must jump at once to call it the body. Default 0.6.
    pub body_share: f64,
}

impl Default for JumpLimits {
    fn default() -> Self {
        Self {
            limit: 2.6,
            fit: 0.72,
            least: 0.005,
            least_noise: 4.0,
            usual: 0.004,
            body_share: 0.6,
        }
    }
}

/// The traces of a displacement of one and of two frames in the fourth differences, from two frames before it on.
const SHAPES: [&[f64]; 2] = [
    &[1.0, -4.0, 6.0, -4.0, 1.0],
    &[1.0, -3.0, 2.0, 2.0, -3.0, 1.0],
];

/// A displacement of `frames` frames from `start` on.
#[derive(Debug, Clone, Copy)]
struct Jump {
    start: usize,
    frames: usize,
    /// Standing heights.
    size: f64,
    fit: f64,
    value: f64,
}

/// The displacement that explains the fourth differences about a frame best (least squares), and how much of them it explains.
fn displacement(fourth: &[V2], start: usize, shape: &[f64]) -> Option<(f64, f64)> {
    let window = fourth.get(start.checked_sub(2)?..start - 2 + shape.len())?;
    let weight: f64 = shape.iter().map(|w| w * w).sum();
    let axis = |i: usize| window.iter().zip(shape).map(|(d, w)| d[i] * w).sum::<f64>() / weight;
    let size = norm([axis(0), axis(1)]);
    let all: f64 = window.iter().map(|d| dot(*d, *d)).sum();
    (all > 0.0).then(|| (size, size * size * weight / all))
}

/// What is usual about a frame: upper quartile of the displacements 5 to 13 frames away, and a share of the speed.
fn usual(fourth: &[V2], gaps: &[f64], start: usize, sigma: f64, limits: &JumpLimits) -> f64 {
    let (f, n) = (start as isize, fourth.len());
    let around = fourth[clip(f - 12, f - 4, n)]
        .iter()
        .chain(&fourth[clip(f + 6, f + 14, n)]);
    let tremble = quantile(around.map(|d| norm(*d) / 6.0), 0.75);
    let speed = median(
        gaps[clip(f - 8, f - 1, n)]
            .iter()
            .chain(&gaps[clip(f + 4, f + 10, n)])
            .copied(),
    );
    let known = |v: f64| if v.is_finite() { v } else { 0.0 };
    known(tremble) + 0.05 * known(speed) + 1.2 * sigma + limits.usual
}

/// The better of the one-frame and the two-frame jump at every frame of `range`.
fn jumps(moving: &Moving<'_>, range: std::ops::Range<usize>, limits: &JumpLimits) -> Vec<Jump> {
    let fourth = fourth_differences(&moving.raw);
    let gaps = gaps(&moving.raw);
    let best = |start: usize| {
        let usual = usual(&fourth, &gaps, start, moving.sigma, limits);
        let of = |(i, shape): (usize, &&[f64])| {
            let (size, fit) = displacement(&fourth, start, shape)?;
            let value = size / usual * (fit / 0.9).min(1.0).powi(3);
            Some(Jump {
                start,
                frames: i + 1,
                size,
                fit,
                value,
            })
        };
        SHAPES
            .iter()
            .enumerate()
            .filter_map(of)
            .max_by(|a, b| a.value.total_cmp(&b.value))
    };
    range.filter_map(best).collect()
}

/// Times the usual displacement about the span, of the largest jump in it.
pub(crate) fn at(
    scene: &Scene,
    part: &str,
    start: usize,
    end: usize,
    limits: &JumpLimits,
) -> Option<f64> {
    let moving = scene.carried(part)?;
    let range = clip(start as isize - 1, end as isize + 2, scene.frames);
    largest(jumps(&moving, range, limits).iter().map(|j| j.value))
}

fn strong(moving: &Moving<'_>, limits: &JumpLimits) -> Vec<Jump> {
    let least = limits.least.max(limits.least_noise * moving.sigma);
    let mut jumps = jumps(moving, 0..moving.raw.len(), limits);
    jumps.retain(|j| j.fit > limits.fit && j.size > least && j.value >= limits.limit);
    jumps
}

/// All jumps; those of most parts at once are the body's.
pub(crate) fn scan(scene: &Scene, limits: &JumpLimits) -> Vec<Candidate> {
    let mut found = vec![];
    let mut at_once = vec![0_usize; scene.frames];
    for part in scene.tracks.keys() {
        let candidate = |j: Jump| Candidate::new(part, j.start, j.start + j.frames - 1, j.value);
        found.extend(
            scene
                .carried(part)
                .iter()
                .flat_map(|m| strong(m, limits))
                .map(candidate),
        );
        let mut own = vec![false; scene.frames];
        for jump in scene.absolute(part).iter().flat_map(|m| strong(m, limits)) {
            own[clip(
                jump.start as isize - 1,
                jump.start as isize + 2,
                scene.frames,
            )]
            .fill(true);
        }
        for (count, _) in at_once.iter_mut().zip(own).filter(|(_, own)| *own) {
            *count += 1;
        }
    }
    let most = limits.body_share * scene.tracks.len() as f64;
    let body = |f: usize| scene.tracks.len() >= 3 && at_once[f] as f64 >= most;
    if let Some(middle) = scene.absolute(BODY) {
        let together = strong(&middle, limits)
            .into_iter()
            .filter(|j| body(j.start));
        let together: Vec<Jump> = together.collect();
        found.retain(|c| !together.iter().any(|j| c.start.abs_diff(j.start) <= 2));
        found.extend(
            together
                .iter()
                .map(|j| Candidate::new(BODY, j.start, j.start + j.frames - 1, j.value)),
        );
    }
    found
}
