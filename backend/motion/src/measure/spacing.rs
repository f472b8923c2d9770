//! Uneven spacing: the gaps alternate, large, small, large, where the movement asks for none of it.

use super::Candidate;
use super::scene::{Moving, Scene};
use super::series::{clip, gaps, largest, mean, median};

/// When spacing is uneven.
#[derive(Debug, Clone, PartialEq)]
pub struct SpacingLimits {
    /// Findings have at least this value, as a share of the mean gap. Default 0.19.
    pub limit: f64,
    /// Smallest mean gap, in standing heights a frame. Default 0.004.
    pub least: f64,
    /// The same in deviations of the noise. Default 4.
    pub least_noise: f64,
    /// Findings: the weakest alternation in the window, as a share of the middle one. Default 0.3.
    pub weakest: f64,
    /// Findings: the middle alternation in deviations of the noise. Default 3.
    pub clear_noise: f64,
    /// A small gap below this share of the large ones about it is a frame held, not uneven spacing. Default 0.12.
    pub held: f64,
}

impl Default for SpacingLimits {
    fn default() -> Self {
        Self {
            limit: 0.19,
            least: 0.004,
            least_noise: 4.0,
            weakest: 0.3,
            clear_noise: 3.0,
            held: 0.12,
        }
    }
}

/// How much each gap stands out from the two beside it, as half the swing of an alternation.
fn swings(gaps: &[f64]) -> Vec<f64> {
    let mut out = vec![f64::NAN; gaps.len()];
    for (f, w) in gaps.windows(3).enumerate() {
        out[f + 1] = (2.0 * w[1] - w[0] - w[2]) / 4.0;
    }
    out
}

/// Whether every other frame is a copy of the one before: drawn on twos, which is a choice.
fn on_twos(gaps: &[f64], limits: &SpacingLimits) -> bool {
    let of = |parity: usize| median(gaps.iter().skip(parity).step_by(2).copied());
    let (a, b) = (of(0), of(1));
    a.min(b) < limits.held * a.max(b)
}

fn fast_enough(gaps: &[f64], sigma: f64, limits: &SpacingLimits) -> bool {
    mean(gaps.iter().copied()) >= limits.least.max(limits.least_noise * sigma)
}

/// The alternation that is kept up over the span (the gaps multiplied by +1, -1, +1 ...), as a share of the mean gap.
pub(crate) fn at(
    scene: &Scene,
    part: &str,
    start: usize,
    end: usize,
    limits: &SpacingLimits,
) -> Option<f64> {
    let moving = scene.absolute(part)?;
    let all = gaps(&moving.raw);
    let range = clip(start as isize, end as isize + 1, scene.frames);
    let window = &all[range.clone()];
    if !fast_enough(window, moving.sigma, limits) || on_twos(window, limits) {
        return None;
    }
    let swings = &swings(&all)[range];
    let kept = |len: usize| {
        swings
            .windows(len)
            .filter_map(|w| {
                let sum: f64 = w
                    .iter()
                    .enumerate()
                    .map(|(i, s)| if i % 2 == 0 { *s } else { -*s })
                    .sum();
                let value = (sum / len as f64).abs();
                value.is_finite().then_some(value)
            })
            .collect::<Vec<_>>()
    };
    let known = swings.iter().filter(|s| s.is_finite()).count();
    let len = (known * 3 / 4).clamp(5, 10);
    let value = largest(kept(len.min(known.max(1))))?;
    (known >= 4).then(|| value / mean(window.iter().copied()))
}

fn uneven(
    moving: &Moving<'_>,
    gaps: &[f64],
    swings: &[f64],
    range: std::ops::Range<usize>,
    limits: &SpacingLimits,
) -> Option<f64> {
    let (window, swings) = (&gaps[range.clone()], &swings[range]);
    let alternates = swings.windows(2).all(|w| w[0] * w[1] < 0.0);
    if !alternates || !fast_enough(window, moving.sigma, limits) || on_twos(window, limits) {
        return None;
    }
    let middle = median(swings.iter().map(|s| s.abs()));
    let weakest = swings.iter().map(|s| s.abs()).fold(f64::INFINITY, f64::min);
    // Six frames in a row alternate by chance more often than ten.
    let value =
        middle / mean(window.iter().copied()) * (0.9 + 0.1 * (window.len() as f64 - 6.0) / 4.0);
    let clear = middle >= limits.clear_noise * moving.sigma;
    (clear && weakest >= limits.weakest * middle && value >= limits.limit).then_some(value)
}

pub(crate) fn scan(scene: &Scene, limits: &SpacingLimits) -> Vec<Candidate> {
    let mut found = vec![];
    for part in scene.tracks.keys() {
        let Some(moving) = scene.absolute(part) else {
            continue;
        };
        let gaps = gaps(&moving.raw);
        let swings = swings(&gaps);
        for from in 0..scene.frames {
            for to in (from + 6..=from + 10).take_while(|to| *to <= scene.frames) {
                if let Some(value) = uneven(&moving, &gaps, &swings, from..to, limits) {
                    found.push(Candidate::new(part, from, to - 1, value));
                }
            }
        }
    }
    found
}
