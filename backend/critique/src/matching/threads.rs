//! Threads of notes while the revisions are gone through, and where each stands by the rules of `domain`.

use domain::Verdict;
use domain::standing::{Said, next};

use super::Prepared;
use super::assign::Chosen;
use super::candidates::{Candidate, Thread};
use crate::contract::Relation;
use crate::lexicon::Cue;

/// All threads of a shot so far.
#[derive(Default)]
pub(super) struct Threads {
    /// In the order of their first notes.
    pub all: Vec<Thread>,
}

impl Threads {
    /// Takes the notes of a revision in, with what was chosen for each.
    pub fn take(
        &mut self,
        shot: &Prepared,
        index: usize,
        chosen: &[Option<Chosen>],
        found: &[Vec<Candidate>],
    ) {
        let revision = &shot.revisions[index];
        let known = self.all.len();
        let mut said = vec![vec![Said::Nothing]; known];
        let mut opening = vec![];
        for (number, note) in revision.notes.iter().enumerate() {
            let at = (index, number);
            let Some(choice) = &chosen[number] else {
                if !note.opens_nothing() {
                    opening.push(at);
                }
                continue;
            };
            let candidate = &found[number][choice.candidate];
            let relation = choice.relation(self, revision.rev, candidate, note);
            let thread = &mut self.all[candidate.thread];
            said[candidate.thread] = words(thread, relation, note.has(Cue::Eased));
            if relation == Relation::Reversal {
                thread.reversed = true;
                opening.push(at);
            } else {
                thread.members.push(at);
            }
            if matches!(relation, Relation::Still | Relation::Back) {
                thread.naming.push(at);
            }
            thread.closed = matches!(relation, Relation::Cleared | Relation::Reversal);
            thread.last = revision.rev;
        }
        for (thread, words) in self.all.iter_mut().zip(said) {
            thread.standing = words.into_iter().fold(thread.standing, next);
        }
        self.all.extend(opening.into_iter().map(|at| Thread {
            members: vec![at],
            naming: vec![at],
            last: revision.rev,
            standing: next(None, Said::Named),
            ..Thread::default()
        }));
    }
}

/// What a note says of its thread. A fault that came back without having been cleared was gone in between: it counts as cleared there.
fn words(thread: &Thread, relation: Relation, eased: bool) -> Vec<Said> {
    match relation {
        Relation::Cleared | Relation::Reversal => vec![Said::Judged(Verdict::Cleared)],
        Relation::Back if !thread.closed => vec![Said::Judged(Verdict::Cleared), Said::Named],
        _ if eased => vec![Said::Judged(Verdict::Eased)],
        _ => vec![Said::Named],
    }
}
