//! How well a candidate fits, what a step between two costs, and how sure the result is.

use super::candidates::Candidate;
use super::descriptor::RINGS;
use super::solve::Evidence;
use super::steps::Step;

/// Weights of a candidate's fit: the logarithm of how much likelier its looks are at the true place than elsewhere. Fitted by
/// logistic regression on rendered clips with known truth.
#[derive(Debug, Clone, PartialEq)]
pub struct FitOptions {
    /// The fit of equal looks on the clicked frame. Default 5.91.
    pub equal: f32,
    /// Taken off for each ring's difference. Default 1.61, 1.47, 0, 1.39, 4.01, 4.81.
    pub rings: [f32; RINGS],
    /// Added for each unit of ln(1 + frames to the nearest click). Default 0.32.
    pub age: f32,
    /// Added for that times the rings' mean difference: looks fade with time. Default 0.07.
    pub fade: f32,
    /// The least fit there is; at 0 such a place is as likely as any other. One cause (a turn of the part, another background)
    /// can change all looks for many frames, which are then not so many reasons against the place. Default 0.
    pub least: f32,
    /// How far from the curve through the clicks a point is expected, in pixels a root of a frame. Default 8.
    pub curve_px: f32,
}

impl Default for FitOptions {
    fn default() -> Self {
        Self {
            equal: 5.91,
            rings: [1.61, 1.47, 0.0, 1.39, 4.01, 4.81],
            age: 0.32,
            fade: 0.07,
            least: 0.0,
            curve_px: 8.0,
        }
    }
}

impl FitOptions {
    /// The fit of a candidate `away_px` from the curve through the clicks, `frames` (at least 1) from the nearest one.
    pub(crate) fn of(&self, candidate: &Candidate, frames: usize, away_px: f32) -> f32 {
        let age = (1.0 + frames as f32).ln();
        let rings = &candidate.rings;
        let mean = rings.iter().sum::<f32>() / RINGS as f32;
        let off: f32 = rings.iter().zip(&self.rings).map(|(r, w)| r * w).sum();
        let drift = (away_px / (self.curve_px * (frames.max(1) as f32).sqrt()))
            .powi(2)
            .ln_1p();
        let fit = self.equal - off + self.age * age + self.fade * age * mean - drift;
        fit.max(self.least)
    }
}

/// What a step from a candidate to one of the next frame costs.
#[derive(Debug, Clone, PartialEq)]
pub struct StepOptions {
    /// The distance from where the picture's movement leads that begins to cost, in pixels. Default 1.6.
    pub reach_px: f32,
    /// Weight of ln(1 + (distance / reach)²). Default 1.5.
    pub weight: f32,
    /// Cost of a pixel moved. Default 0.01.
    pub per_px: f32,
    /// How far following forth and back may end from its beginning and still count fully, in pixels. Default 8.
    pub most_error_px: f32,
    /// The share of the better of the two directions; the other has the rest. Default 0.7.
    pub better: f32,
    /// The worse direction counts at most this, in pixels. Default 12.
    pub most_worse_px: f32,
}

impl Default for StepOptions {
    fn default() -> Self {
        Self {
            reach_px: 1.6,
            weight: 1.5,
            per_px: 0.01,
            most_error_px: 8.0,
            better: 0.7,
            most_worse_px: 12.0,
        }
    }
}

impl StepOptions {
    /// From `a`, whose picture goes to `forth`, to `b`, whose picture came from `back`.
    pub(crate) fn cost(&self, (a, forth): ([f32; 2], Step), (b, back): ([f32; 2], Step)) -> f32 {
        let off = |step: Step, to: [f32; 2]| {
            apart(step.to, to) + 0.5 * step.error.min(self.most_error_px)
        };
        let (p, q) = (off(forth, b), off(back, a));
        let r = self.better * p.min(q) + (1.0 - self.better) * p.max(q).min(self.most_worse_px);
        self.weight * (r / self.reach_px).powi(2).ln_1p() + self.per_px * apart(a, b)
    }
}

/// The distance between two places.
pub(crate) fn apart(a: [f32; 2], b: [f32; 2]) -> f32 {
    ((a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2)).sqrt()
}

/// How sure a frame's place is: the logistic of a weighted sum. Fitted together with [`FitOptions`].
#[derive(Debug, Clone, PartialEq)]
pub struct SureOptions {
    /// The sum's constant. Default -3.4.
    pub constant: f32,
    /// Weight of the share of all paths that pass near the place. Default 1.07.
    pub near: f32,
    /// Weight of the least of those shares, where it is seen, on the way from the nearest click: who is taken for another
    /// once stays so.
    /// Default 3.17.
    pub least: f32,
    /// Weight of the candidate's fit. Default 0.27.
    pub fit: f32,
    /// Weight of ln(1 + frames to the nearest click). Default -0.08.
    pub age: f32,
    /// Added where the point is seen. Default 1.43.
    pub seen: f32,
    /// Added where the nearest click's own picture is found, there and back. Default 2.6.
    pub settled: f32,
    /// The fit that stands for a hidden point. Default -4.
    pub hidden_fit: f32,
    /// What passes near: pixels. Default 4.
    pub near_px: f32,
    /// The confidence below which a point is lost. Default 0.5.
    pub lost_below: f32,
    /// What multiplies scores before they become the weights of paths. Default 0.6.
    pub sharpness: f64,
}

impl Default for SureOptions {
    fn default() -> Self {
        Self {
            constant: -3.4,
            near: 1.07,
            least: 3.17,
            fit: 0.27,
            age: -0.08,
            seen: 1.43,
            settled: 2.6,
            hidden_fit: -4.0,
            near_px: 4.0,
            lost_below: 0.5,
            sharpness: 0.6,
        }
    }
}

impl SureOptions {
    /// Confidence, 0 to 1, of a place; 1 on a click.
    pub(crate) fn confidence(&self, evidence: &Evidence) -> f32 {
        if evidence.frames == 0 {
            return 1.0;
        }
        let weight = |held: bool, weight: f32| if held { weight } else { 0.0 };
        let sum = self.constant
            + self.near * evidence.near
            + self.least * evidence.least
            + self.fit * evidence.fit.unwrap_or(self.hidden_fit)
            + self.age * (1.0 + evidence.frames as f32).ln()
            + weight(evidence.fit.is_some(), self.seen)
            + weight(evidence.settled, self.settled);
        1.0 / (1.0 + (-sum).exp())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::track::{CandidateOptions, LookOptions};

    #[test]
    fn looks_that_changed_wholly_count_as_much_as_any() {
        let (looks, options) = (LookOptions::default(), FitOptions::default());
        let click = Candidate::click([0.0; 2], &looks, &CandidateOptions::default());
        let fit = |rings: f32, away_px| {
            let candidate = Candidate {
                rings: [rings; RINGS],
                ..click
            };
            options.of(&candidate, 9, away_px)
        };
        assert!(fit(0.0, 0.0) > fit(0.3, 0.0) && fit(0.3, 0.0) > options.least);
        assert_eq!(fit(0.8, 0.0), options.least);
        assert_eq!(fit(1.0, 300.0), options.least);
    }
}
