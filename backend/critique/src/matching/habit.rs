//! The same principle and body area as in earlier shots of the student.

use domain::Principle;

use super::candidates::Thread;
use super::threads::Threads;
use super::{NoteAt, Prepared, follow};
use crate::Critic;
use crate::contract::{Link, Relation};
use crate::lexicon::PRINCIPLES;

/// In so many earlier shots it makes a habit.
const SHOTS: usize = 2;

/// What a concern is about, for comparing shots.
struct About {
    principle: usize,
    area: String,
    first: NoteAt,
}

/// Links from first notes of this shot's concerns to the latest earlier shot with the same habit.
pub(super) fn links(
    critic: &Critic,
    shot: &Prepared,
    threads: &Threads,
    history: &[Prepared],
) -> Vec<Link> {
    if history.len() < SHOTS {
        return vec![];
    }
    let earlier: Vec<Vec<About>> = history
        .iter()
        .map(|past| {
            let (threads, _) = follow(critic, past);
            threads
                .all
                .iter()
                .filter_map(|thread| about(critic, past, thread, &thread.naming))
                .collect()
        })
        .collect();
    threads
        .all
        .iter()
        .filter_map(|thread| {
            let this = about(critic, shot, thread, &thread.naming[..1])?;
            let same = |past: &Vec<About>| {
                past.iter()
                    .position(|a| a.principle == this.principle && a.area == this.area)
            };
            let shots: Vec<(usize, usize)> = earlier
                .iter()
                .enumerate()
                .filter_map(|(n, past)| Some((n, same(past)?)))
                .collect();
            let (latest, which) = *shots.last().filter(|_| shots.len() >= SHOTS)?;
            let note = history[latest].note(earlier[latest][which].first);
            Some(Link {
                note: shot.note(this.first).id.clone(),
                earlier_note: Some(note.id.clone()),
                concern_rank: 1,
                score: f64::from(u32::try_from(shots.len()).unwrap_or(u32::MAX))
                    / (f64::from(u32::try_from(history.len()).unwrap_or(u32::MAX)) + 1.0),
                relation: Relation::Habit,
                reasons: vec![format!(
                    "{} of the {} in {} earlier shots",
                    Principle::ALL[this.principle],
                    this.area,
                    shots.len()
                )],
            })
        })
        .collect()
}

fn about(critic: &Critic, shot: &Prepared, thread: &Thread, notes: &[NoteAt]) -> Option<About> {
    let mut sum = [0.0; PRINCIPLES];
    let mut areas: Vec<(&str, f64)> = vec![];
    for at in notes {
        let note = shot.note(*at);
        sum.iter_mut()
            .zip(note.principles)
            .for_each(|(s, p)| *s += p);
        let area = note
            .parts
            .first()
            .and_then(|p| Some((critic.lexicon.area(p.node.name)?, p.weight)));
        if let Some((area, weight)) = area {
            match areas.iter_mut().find(|(held, _)| *held == area) {
                Some((_, held)) => *held += weight,
                None => areas.push((area, weight)),
            }
        }
    }
    let principle = (0..PRINCIPLES).fold(0, |best, at| if sum[at] > sum[best] { at } else { best });
    let area = areas.iter().fold(None, |best: Option<&(&str, f64)>, a| {
        Some(best.filter(|b| b.1 >= a.1).unwrap_or(a))
    })?;
    (sum[principle] > 0.0).then(|| About {
        principle,
        area: area.0.into(),
        first: thread.naming[0],
    })
}
