//! Which earlier concern of its shot a note is about, and what it is to it.

mod assign;
pub mod candidates;
pub mod carry;
pub mod gate;
mod habit;
mod late;
pub mod opposed;
pub mod pair;
pub mod reasons;
mod threads;

use crate::Critic;
use crate::contract::{Concern, Link, MatchInput, MatchOutput, Relation, Shot};
use crate::note::Analysed;
use crate::scan::Scan;
use crate::tag::tags;
use candidates::{Candidate, candidates};
use carry::Maps;
use threads::Threads;

/// A shot whose notes are taken apart.
pub struct Prepared {
    /// Frames of one revision on another.
    pub maps: Maps,
    /// In order.
    pub revisions: Vec<PreparedRevision>,
}

/// A revision whose notes are taken apart.
pub struct PreparedRevision {
    /// 1-based.
    pub rev: u32,
    /// Its notes.
    pub notes: Vec<Analysed>,
}

/// A note by the places of its revision and of itself in [`Prepared`].
pub type NoteAt = (usize, usize);

impl Prepared {
    /// Takes every note of a shot apart.
    pub fn new(critic: &Critic, shot: &Shot) -> Prepared {
        Prepared::with(shot, |note| {
            let scan = Scan::new(&critic.lexicon, &note.text);
            let tags = tags(&critic.lexicon, &critic.weights, &scan);
            Analysed::new(&critic.lexicon, &critic.weights, note, &scan, &tags)
        })
    }

    /// The same with notes taken apart by the caller.
    pub fn with(shot: &Shot, analyse: impl Fn(&crate::contract::Note) -> Analysed) -> Prepared {
        let mut revisions: Vec<PreparedRevision> = shot
            .revisions
            .iter()
            .map(|r| PreparedRevision {
                rev: r.rev,
                notes: r.notes.iter().map(&analyse).collect(),
            })
            .collect();
        revisions.sort_by_key(|r| r.rev);
        Prepared {
            maps: Maps::new(shot),
            revisions,
        }
    }

    /// The note at a place.
    pub fn note(&self, at: NoteAt) -> &Analysed {
        &self.revisions[at.0].notes[at.1]
    }
}

/// Answers for one shot, with the student's earlier shots (oldest first) for habits.
pub fn match_shot(critic: &Critic, input: &MatchInput) -> MatchOutput {
    let shot = Prepared::new(critic, &input.shot);
    let history: Vec<Prepared> = input
        .student_history
        .iter()
        .map(|s| Prepared::new(critic, s))
        .collect();
    match_prepared(critic, &shot, &history)
}

/// The same with notes already taken apart.
pub fn match_prepared(critic: &Critic, shot: &Prepared, history: &[Prepared]) -> MatchOutput {
    let (threads, mut links) = follow(critic, shot);
    links.extend(habit::links(critic, shot, &threads, history));
    let concerns = threads
        .all
        .iter()
        .enumerate()
        .filter_map(|(number, thread)| {
            Some(Concern {
                id: format!("c{}", number + 1),
                notes: thread
                    .members
                    .iter()
                    .map(|at| shot.note(*at).id.clone())
                    .collect(),
                standing: thread.standing?,
            })
        })
        .collect();
    MatchOutput { links, concerns }
}

/// Goes through the revisions in order.
fn follow(critic: &Critic, shot: &Prepared) -> (Threads, Vec<Link>) {
    let mut threads = Threads::default();
    let mut links = vec![];
    for (index, revision) in shot.revisions.iter().enumerate() {
        let found: Vec<Vec<Candidate>> = revision
            .notes
            .iter()
            .map(|note| candidates(critic, shot, &threads.all, revision.rev, note))
            .collect();
        let chosen = assign::assign(critic, &revision.notes, &found);
        for (number, note) in revision.notes.iter().enumerate() {
            let answer = chosen[number].as_ref();
            links.extend(links_of(
                critic,
                shot,
                &threads,
                index,
                note,
                answer,
                &found[number],
            ));
        }
        threads.take(shot, index, &chosen, &found);
    }
    (threads, links)
}

fn links_of(
    critic: &Critic,
    shot: &Prepared,
    threads: &Threads,
    index: usize,
    note: &Analysed,
    answer: Option<&assign::Chosen>,
    found: &[Candidate],
) -> Vec<Link> {
    let mut links = vec![];
    let rev = shot.revisions[index].rev;
    let link = |candidate: &Candidate, rank: u8, score: f64, relation: Relation| Link {
        note: note.id.clone(),
        earlier_note: Some(shot.note(candidate.earlier).id.clone()),
        concern_rank: rank,
        score,
        relation,
        reasons: reasons::of(critic, shot.note(candidate.earlier), note, &candidate.pair),
    };
    match answer {
        Some(chosen) => {
            let candidate = &found[chosen.candidate];
            let relation = chosen.relation(threads, rev, candidate, note);
            links.push(link(candidate, 1, chosen.score, relation));
        }
        None => {
            if let Some((score, reason)) = late::late(critic, shot, index, note, found) {
                links.push(Link {
                    note: note.id.clone(),
                    earlier_note: None,
                    concern_rank: 1,
                    score,
                    relation: Relation::Late,
                    reasons: vec![reason],
                });
            }
        }
    }
    if !note.opens_nothing() {
        let others = found
            .iter()
            .enumerate()
            .filter(|(at, _)| answer.is_none_or(|c| c.candidate != *at));
        links.extend(
            others
                .zip(2..=3)
                .map(|((_, c), rank)| link(c, rank, c.linked().min(0.49), Relation::Still)),
        );
    }
    links
}
