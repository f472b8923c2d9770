//! The concerns a note may be about, and how likely each is.

use super::gate::{self, Facts};
use super::pair::{self, Pair};
use super::{NoteAt, Prepared};
use crate::Critic;
use crate::note::Analysed;
use domain::Standing;

/// How many concerns are looked at closely.
const CLOSELY: usize = 4;

/// A thread of notes while the revisions are gone through.
#[derive(Clone, Debug, Default)]
pub struct Thread {
    /// Notes that name the fault, and praise that closes it.
    pub members: Vec<NoteAt>,
    /// Those that name the fault.
    pub naming: Vec<NoteAt>,
    /// The revision in which it was last spoken of.
    pub last: u32,
    /// Whether praise or its opposite closed it.
    pub closed: bool,
    /// Whether its opposite was asked for: another thread goes on.
    pub reversed: bool,
    /// After the revisions seen so far.
    pub standing: Option<Standing>,
}

/// A concern that a note may be about.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// Which thread.
    pub thread: usize,
    /// The thread's likest note.
    pub earlier: NoteAt,
    /// The note beside it.
    pub pair: Pair,
    /// Log-odds of the same matter.
    pub logit: f64,
    /// What the gate sees.
    pub gate: [f64; gate::COUNT],
    /// Probabilities of [`gate::CLASSES`].
    pub odds: [f64; 4],
    /// Confidence with which the fault was measured absent since the thread was last spoken of.
    pub absent: f64,
}

impl Candidate {
    /// How likely the note is about this concern at all.
    pub fn linked(&self) -> f64 {
        1.0 - self.odds[0]
    }
}

/// The likeliest concerns for a note of revision `rev`, likeliest first.
pub fn candidates(
    critic: &Critic,
    shot: &Prepared,
    threads: &[Thread],
    rev: u32,
    note: &Analysed,
) -> Vec<Candidate> {
    let mut found: Vec<Candidate> = threads
        .iter()
        .enumerate()
        .filter(|(_, thread)| !thread.reversed)
        .filter_map(|(number, thread)| likest(critic, shot, number, thread, rev, note))
        .collect();
    found.sort_by(|a, b| b.logit.total_cmp(&a.logit));
    let logits: Vec<f64> = found.iter().map(|c| c.logit).collect();
    found.truncate(CLOSELY);
    for (at, candidate) in found.iter_mut().enumerate() {
        let thread = &threads[candidate.thread];
        candidate.absent = absent(note, thread.last, rev);
        let other = logits
            .iter()
            .enumerate()
            .find(|(other, _)| *other != at)
            .map(|(_, logit)| logit);
        candidate.gate = gate::features(&Facts {
            note,
            pair: &candidate.pair,
            logit: candidate.logit,
            margin: other.map(|o| candidate.logit - o),
            idle: rev.saturating_sub(thread.last + 1),
            absent: candidate.absent,
        });
        candidate.odds = critic.weights.gate_odds(&candidate.gate);
    }
    found
}

fn likest(
    critic: &Critic,
    shot: &Prepared,
    number: usize,
    thread: &Thread,
    rev: u32,
    note: &Analysed,
) -> Option<Candidate> {
    thread
        .naming
        .iter()
        .map(|at| {
            let earlier = shot.note(*at);
            let span = shot.maps.carry(earlier.span, shot.revisions[at.0].rev, rev);
            let pair = pair::features(&critic.lexicon, earlier, span, note);
            Candidate {
                thread: number,
                earlier: *at,
                logit: critic.weights.pair_logit(&pair.features),
                pair,
                gate: [0.0; gate::COUNT],
                odds: [1.0, 0.0, 0.0, 0.0],
                absent: 0.0,
            }
        })
        .max_by(|a, b| a.logit.total_cmp(&b.logit))
}

/// Confidence with which a note's fault was measured absent in the revisions between `last` and `rev`.
fn absent(note: &Analysed, last: u32, rev: u32) -> f64 {
    let idle = note
        .evidence
        .iter()
        .filter(|e| e.rev > last && e.rev < rev && e.present == Some(false));
    idle.map(|e| e.confidence).sum()
}
