//! Matching by words alone, for comparison: each note to the likest earlier note of its shot, one to one, from a threshold that is
//! the best for the other students.

use critique::contract::{Concern, Link, MatchOutput, Relation};
use critique::yardstick::Corpus;
use domain::Standing;

use crate::data::TuneShot;
use crate::score::MatchScore;

/// How likeness is measured.
#[derive(Clone, Copy)]
pub enum Likeness {
    Bm25,
    Tfidf,
}

/// The best of several thresholds on `rest`, used on `held`.
pub fn score(likeness: Likeness, rest: &[&TuneShot], held: &[&TuneShot], score: &mut MatchScore) {
    let f1 = |threshold: f64| {
        let mut score = MatchScore::default();
        rest.iter()
            .for_each(|s| score.add(s, &answer(likeness, s, threshold)));
        score.recurrence.f1()
    };
    let steps: Vec<f64> = match likeness {
        Likeness::Bm25 => (0..12).map(|n| 0.5 + f64::from(n)).collect(),
        Likeness::Tfidf => (1..13).map(|n| 0.05 * f64::from(n)).collect(),
    };
    let best = steps.iter().copied().fold((0.0, 0.0), |best, t| {
        let value = f1(t);
        if value > best.1 { (t, value) } else { best }
    });
    held.iter()
        .for_each(|s| score.add(s, &answer(likeness, s, best.0)));
}

fn answer(likeness: Likeness, shot: &TuneShot, threshold: f64) -> MatchOutput {
    let mut links = vec![];
    // Note to the first note of its thread.
    let mut earlier: Vec<(&str, &str, &str)> = vec![];
    for revision in &shot.revisions {
        let corpus =
            (!earlier.is_empty()).then(|| Corpus::new(earlier.iter().map(|(_, text, _)| *text)));
        let mut offers: Vec<(f64, usize, usize)> = vec![];
        for (number, note) in revision.notes.iter().enumerate() {
            let scores = corpus.as_ref().map(|c| match likeness {
                Likeness::Bm25 => c.bm25(&note.text),
                Likeness::Tfidf => c.tfidf(&note.text, true),
            });
            offers.extend(
                scores
                    .into_iter()
                    .flatten()
                    .enumerate()
                    .filter(|(_, s)| *s >= threshold)
                    .map(|(at, s)| (s, number, at)),
            );
        }
        offers.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
        let mut chosen: Vec<Option<usize>> = vec![None; revision.notes.len()];
        let mut taken: Vec<&str> = vec![];
        for (score, number, at) in offers {
            let thread = earlier[at].2;
            if chosen[number].is_none() && !taken.contains(&thread) {
                chosen[number] = Some(at);
                taken.push(thread);
                links.push(Link {
                    note: revision.notes[number].id.clone(),
                    earlier_note: Some(earlier[at].0.into()),
                    concern_rank: 1,
                    score,
                    relation: Relation::Still,
                    reasons: vec![],
                });
            }
        }
        for (note, choice) in revision.notes.iter().zip(chosen) {
            let thread = choice.map_or(note.id.as_str(), |at| earlier[at].2);
            earlier.push((&note.id, &note.text, thread));
        }
    }
    let concerns = earlier.iter().map(|(id, ..)| Concern {
        id: (*id).into(),
        notes: vec![(*id).into()],
        standing: Standing::Noted,
    });
    MatchOutput {
        links,
        concerns: concerns.collect(),
    }
}
