//! One concern to a note and one note to a concern, likeliest first.

use super::candidates::Candidate;
use super::threads::Threads;
use crate::Critic;
use crate::contract::Relation;
use crate::lexicon::Cue;
use crate::note::Analysed;

/// From so much measured absence on a fault was gone in between.
const GONE: f64 = 0.5;

/// The concern chosen for a note.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chosen {
    /// Place among the note's candidates.
    pub candidate: usize,
    /// How likely, 0..1.
    pub score: f64,
    /// Class of the gate: 1 recurs, 2 cleared, 3 reversal.
    pub class: usize,
}

impl Chosen {
    /// What the note is to the concern.
    pub fn relation(
        &self,
        threads: &Threads,
        rev: u32,
        candidate: &Candidate,
        note: &Analysed,
    ) -> Relation {
        let thread = &threads.all[candidate.thread];
        let idle = rev > thread.last + 1;
        match self.class {
            2 => Relation::Cleared,
            3 => Relation::Reversal,
            _ if thread.closed => Relation::Back,
            _ if idle && (candidate.absent >= GONE || note.has(Cue::Back)) => Relation::Back,
            _ => Relation::Still,
        }
    }
}

/// Chooses for every note of a revision.
pub(super) fn assign(
    critic: &Critic,
    notes: &[Analysed],
    found: &[Vec<Candidate>],
) -> Vec<Option<Chosen>> {
    let threshold = &critic.weights.source.threshold;
    let mut offers: Vec<(usize, Chosen)> = vec![];
    for (number, note) in notes.iter().enumerate() {
        for (at, candidate) in found[number].iter().enumerate() {
            let class = likeliest_link(candidate);
            if candidate.linked() >= threshold.least(note.tagged, class) {
                offers.push((
                    number,
                    Chosen {
                        candidate: at,
                        score: candidate.linked(),
                        class,
                    },
                ));
            }
        }
    }
    offers.sort_by(|a, b| b.1.score.total_cmp(&a.1.score));
    let mut chosen: Vec<Option<Chosen>> = vec![None; notes.len()];
    let mut taken: Vec<usize> = vec![];
    for (number, offer) in offers {
        let thread = found[number][offer.candidate].thread;
        if chosen[number].is_none() && !taken.contains(&thread) {
            chosen[number] = Some(offer);
            taken.push(thread);
        }
    }
    chosen
}

fn likeliest_link(candidate: &Candidate) -> usize {
    (1..4).fold(1, |best, at| {
        if candidate.odds[at] > candidate.odds[best] {
            at
        } else {
            best
        }
    })
}
