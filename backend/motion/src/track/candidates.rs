//! Where a point may be on each frame: what two sweeps over time carry along, and places that look like a click.

use super::clip::Prepared;
use super::descriptor::{Likeness, Look, LookOptions, RINGS, Template, Turns};
use super::score::apart;
use super::steps::{Follower, Pair, Step};

/// Which candidates are kept.
#[derive(Debug, Clone, PartialEq)]
pub struct CandidateOptions {
    /// Most that a sweep carries to the next frame. Default 22.
    pub carried: usize,
    /// Best places by looks added to what the sweeps found. Default 11.
    pub peaks: usize,
    /// Candidates of a sweep closer than this are one, in pixels. Default 1.5.
    pub merge_carried_px: f32,
    /// Candidates of a frame closer than this are one, in pixels. Default 1.
    pub merge_px: f32,
    /// A point that following does not bring back to within this is not carried on, in pixels. Default 6.
    pub most_error_px: f32,
    /// How much of its history's score a candidate keeps, and how much its looks count. Default 0.75 and 0.25.
    pub keeps: f32,
    /// See `keeps`.
    pub looks: f32,
    /// Most history counted. Default 6.
    pub most_history: f32,
    /// Taken off the score of a place found by looks alone. Default 1.
    pub without_history: f32,
}

impl Default for CandidateOptions {
    fn default() -> Self {
        Self {
            carried: 22,
            peaks: 11,
            merge_carried_px: 1.5,
            merge_px: 1.0,
            most_error_px: 6.0,
            keeps: 0.75,
            looks: 0.25,
            most_history: 6.0,
            without_history: 1.0,
        }
    }
}

/// A place where the point may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Candidate {
    pub(crate) at: [f32; 2],
    /// Differences of the rings to the click that it is most like, 0 to 1.
    pub(crate) rings: [f32; RINGS],
    pub(crate) likeness: f32,
    /// Score of its history within a sweep.
    pub(crate) score: f32,
    /// Where its picture goes to in the next frame, if a sweep asked.
    pub(crate) next: Option<Step>,
    /// Where its picture came from in the frame before, if a sweep asked.
    pub(crate) before: Option<Step>,
}

impl Candidate {
    /// A click: like itself, with the best history there is.
    pub(crate) fn click(at: [f32; 2], looks: &LookOptions, options: &CandidateOptions) -> Self {
        Self {
            at,
            rings: [0.0; RINGS],
            likeness: looks.equal,
            score: options.most_history,
            next: None,
            before: None,
        }
    }
}

/// What is looked at to judge the looks of a place: a frame, and the clicks that count there.
pub(crate) struct Looks<'a> {
    pub(crate) frame: &'a Prepared,
    pub(crate) turns: &'a Turns,
    pub(crate) templates: &'a [&'a Template],
    pub(crate) options: &'a LookOptions,
}

impl Looks<'_> {
    /// The place as a candidate without history.
    pub(crate) fn candidate(&self, at: [f32; 2]) -> Candidate {
        let look = Look::at(self.frame, at, self.turns);
        let nothing = Likeness {
            rings: [1.0; RINGS],
            likeness: f32::NEG_INFINITY,
        };
        let best = self
            .templates
            .iter()
            .map(|template| template.compare(&look, self.options))
            .fold(nothing, |best, next| {
                if next.likeness > best.likeness {
                    next
                } else {
                    best
                }
            });
        Candidate {
            at,
            rings: best.rings,
            likeness: best.likeness,
            score: 0.0,
            next: None,
            before: None,
        }
    }
}

/// The candidates a sweep has on the frame it comes to: its old ones followed there, and that frame's peaks.
pub(crate) fn carry(
    steps: impl Iterator<Item = (Candidate, Step)>,
    peaks: &[Candidate],
    looks: &Looks<'_>,
    options: &CandidateOptions,
) -> Vec<Candidate> {
    let followed = steps
        .filter(|(_, step)| step.error < options.most_error_px)
        .map(|(parent, step)| {
            let mut child = looks.candidate(step.to);
            child.score = options.keeps * parent.score.min(options.most_history)
                + options.looks * child.likeness;
            child
        });
    let found = peaks.iter().map(|&peak| Candidate {
        score: options.looks * peak.likeness - options.without_history,
        ..peak
    });
    let mut all: Vec<Candidate> = followed.chain(found).collect();
    all.sort_by(|a, b| b.score.total_cmp(&a.score));
    merged(&all, options.merge_carried_px, options.carried)
}

/// The candidates of a frame: those of both sweeps and the best peaks.
pub(crate) fn union(
    forward: &[Candidate],
    backward: &[Candidate],
    peaks: &[Candidate],
    options: &CandidateOptions,
) -> Vec<Candidate> {
    let mut best = peaks.to_vec();
    best.sort_by(|a, b| b.likeness.total_cmp(&a.likeness));
    best.truncate(options.peaks);
    let all: Vec<Candidate> = forward
        .iter()
        .chain(backward)
        .chain(&best)
        .copied()
        .collect();
    merged(&all, options.merge_px, usize::MAX)
}

/// The first `most` of those that are no closer than `within` to an earlier one.
fn merged(all: &[Candidate], within: f32, most: usize) -> Vec<Candidate> {
    let mut kept: Vec<Candidate> = Vec::new();
    for candidate in all {
        if kept.len() == most {
            break;
        }
        if kept.iter().all(|k| apart(k.at, candidate.at) >= within) {
            kept.push(*candidate);
        }
    }
    kept
}

/// Follows every candidate of the pair's first frame, unless a sweep has asked already.
pub(crate) fn steps(
    pair: &Pair<'_>,
    candidates: &[Candidate],
    known: impl Fn(&Candidate) -> Option<Step>,
    follower: &mut Follower<'_>,
) -> Vec<Step> {
    candidates
        .iter()
        .map(|c| known(c).unwrap_or_else(|| follower.step(pair, c.at)))
        .collect()
}
