//! Figures: how often the answers are right.

use std::collections::{BTreeMap, BTreeSet};

use critique::contract::{MatchOutput, Relation};
use critique::tag::Tags;
use domain::{Kind, Principle, Side};

use crate::data::{TuneNote, TuneShot};

/// Right, said, true.
#[derive(Clone, Copy, Default)]
pub struct Counts {
    pub right: f64,
    pub said: f64,
    pub truth: f64,
}

impl Counts {
    pub fn precision(self) -> f64 {
        if self.said > 0.0 {
            self.right / self.said
        } else {
            0.0
        }
    }

    pub fn recall(self) -> f64 {
        if self.truth > 0.0 {
            self.right / self.truth
        } else {
            0.0
        }
    }

    pub fn f1(self) -> f64 {
        let (p, r) = (self.precision(), self.recall());
        if p + r > 0.0 {
            2.0 * p * r / (p + r)
        } else {
            0.0
        }
    }
}

/// Answers of `match` beside the truth.
#[derive(Default)]
pub struct MatchScore {
    pub recurrence: Counts,
    pub relations: BTreeMap<&'static str, Counts>,
    pub habit: Counts,
    pub standing: Counts,
    pub top3: f64,
    /// Scores of links that say still or back, and whether they were right.
    pub scores: Vec<(f64, bool)>,
    pub confusion: BTreeMap<(String, &'static str), usize>,
}

const RELATIONS: [Relation; 5] = [
    Relation::Still,
    Relation::Back,
    Relation::Late,
    Relation::Reversal,
    Relation::Cleared,
];

impl MatchScore {
    pub fn add(&mut self, shot: &TuneShot, answer: &MatchOutput) {
        let truth: BTreeMap<&str, &TuneNote> = shot.notes().map(|n| (n.id.as_str(), n)).collect();
        let concern = |id: Option<&str>| {
            id.and_then(|i| truth.get(i))
                .and_then(|n| n.truth.concern.clone())
        };
        for revision in &shot.revisions {
            for note in &revision.notes {
                let t = &note.truth;
                let links: Vec<_> = answer.links.iter().filter(|l| l.note == note.id).collect();
                let said = links.iter().any(|l| l.relation == Relation::Habit);
                self.habit.said += f64::from(u8::from(said));
                self.habit.truth += f64::from(u8::from(t.habit));
                self.habit.right += f64::from(u8::from(said && t.habit));
                if revision.rev == 1 {
                    continue;
                }
                let first = links
                    .iter()
                    .find(|l| l.relation != Relation::Habit && l.concern_rank == 1);
                let column = first.map_or("none", |l| l.relation.as_str());
                *self
                    .confusion
                    .entry((t.recurrence.clone(), column))
                    .or_default() += 1;
                let recurs = matches!(t.recurrence.as_str(), "still" | "back");
                self.recurrence.truth += f64::from(u8::from(recurs));
                let earlier = first.and_then(|l| concern(l.earlier_note.as_deref()));
                if let Some(link) = first.filter(|_| matches!(column, "still" | "back")) {
                    let right = recurs && earlier.is_some() && earlier == t.concern;
                    self.recurrence.said += 1.0;
                    self.recurrence.right += f64::from(u8::from(right));
                    self.scores.push((link.score, right));
                }
                let among = links.iter().any(|l| {
                    matches!(l.relation, Relation::Still | Relation::Back)
                        && l.concern_rank <= 3
                        && concern(l.earlier_note.as_deref()) == t.concern
                });
                self.top3 += f64::from(u8::from(recurs && among));
                for relation in RELATIONS {
                    let counts = self.relations.entry(relation.as_str()).or_default();
                    let (is, says) = (
                        t.recurrence == relation.as_str(),
                        column == relation.as_str(),
                    );
                    let right = is
                        && says
                        && (relation != Relation::Reversal
                            || earlier == concern(t.reverses.as_deref()));
                    counts.said += f64::from(u8::from(says));
                    counts.truth += f64::from(u8::from(is));
                    counts.right += f64::from(u8::from(right));
                }
            }
        }
        self.standings(shot, answer);
    }

    fn standings(&mut self, shot: &TuneShot, answer: &MatchOutput) {
        for concern in &shot.truth.concerns {
            let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
            for id in &concern.notes {
                if let Some(held) = answer.concerns.iter().find(|c| c.notes.contains(id)) {
                    *counts.entry(held.id.as_str()).or_default() += 1;
                }
            }
            self.standing.truth += 1.0;
            let best = counts.iter().max_by_key(|(_, n)| **n).map(|(id, _)| *id);
            let said = answer
                .concerns
                .iter()
                .find(|c| Some(c.id.as_str()) == best)
                .map(|c| c.standing);
            self.standing.right += f64::from(u8::from(said == Some(concern.standing)));
        }
    }

    /// Expected calibration error over ten equal bins (Naeini et al. 2015, from memory).
    pub fn calibration_error(&self) -> f64 {
        let mut error = 0.0;
        for bin in 0..10 {
            let (low, high) = (f64::from(bin) / 10.0, f64::from(bin + 1) / 10.0);
            let held: Vec<_> = self
                .scores
                .iter()
                .filter(|(s, _)| *s > low && *s <= high)
                .collect();
            let sum = held.iter().fold((0.0, 0.0), |sum, (s, right)| {
                (sum.0 + s, sum.1 + f64::from(u8::from(*right)))
            });
            error += (sum.0 - sum.1).abs();
        }
        error / (self.scores.len() as f64).max(1.0)
    }

    pub fn print(&self, name: &str) {
        let line = |what: &str, value: f64| println!("{name}.{what}\t{value:.3}\tshare");
        line("recurrence.precision", self.recurrence.precision());
        line("recurrence.recall", self.recurrence.recall());
        line("recurrence.f1", self.recurrence.f1());
        line(
            "recurrence.recall_top3",
            self.top3 / self.recurrence.truth.max(1.0),
        );
        for (relation, counts) in &self.relations {
            line(
                &format!("relation.{relation}.precision"),
                counts.precision(),
            );
            line(&format!("relation.{relation}.recall"), counts.recall());
        }
        line("habit.precision", self.habit.precision());
        line("habit.recall", self.habit.recall());
        line(
            "standing.accuracy",
            self.standing.right / self.standing.truth.max(1.0),
        );
        line("calibration_error", self.calibration_error());
    }

    /// True relations by answers.
    pub fn print_confusion(&self, name: &str) {
        let columns = ["still", "back", "late", "reversal", "cleared", "none"];
        println!("{name}.confusion\t{}", columns.join(" "));
        for row in [
            "still", "back", "late", "reversal", "cleared", "new", "praise",
        ] {
            let cells: Vec<String> = columns
                .iter()
                .map(|c| {
                    self.confusion
                        .get(&(row.to_owned(), *c))
                        .copied()
                        .unwrap_or(0)
                        .to_string()
                })
                .collect();
            println!("{name}.confusion.{row}\t{}", cells.join(" "));
        }
    }
}

/// Tags beside the truth.
#[derive(Default)]
pub struct TagScore {
    principles: BTreeMap<Principle, Counts>,
    kinds: BTreeMap<Kind, Counts>,
    part: Counts,
    side: Counts,
    ask: Counts,
}

impl TagScore {
    pub fn add(&mut self, truth: &crate::data::Truth, tags: &Tags) {
        self.principle(truth, tags);
        for kind in Kind::ALL {
            let counts = self.kinds.entry(*kind).or_default();
            counts.said += f64::from(u8::from(tags.kind == *kind));
            counts.truth += f64::from(u8::from(truth.kind == *kind));
            counts.right += f64::from(u8::from(tags.kind == *kind && truth.kind == *kind));
        }
        if let Some(part) = truth.parts.first().filter(|_| !truth.generic) {
            self.part.truth += 1.0;
            if let Some(said) = tags.parts.first() {
                self.part.said += 1.0;
                self.part.right += f64::from(u8::from(said.name == part.name));
                if said.name == part.name && matches!(said.side, Some(Side::Left | Side::Right)) {
                    self.side.said += 1.0;
                    self.side.right += f64::from(u8::from(said.side == part.side));
                }
            }
        }
        let key =
            |what: domain::ask::AskKind, amount: f64| (what as u8, (amount * 100.0).round() as i64);
        let want: BTreeSet<_> = truth.asks.iter().map(|a| key(a.what, a.amount)).collect();
        let have: BTreeSet<_> = tags.asks.iter().map(|a| key(a.what, a.amount)).collect();
        self.ask.truth += want.len() as f64;
        self.ask.said += have.len() as f64;
        self.ask.right += want.intersection(&have).count() as f64;
    }

    fn principle(&mut self, truth: &crate::data::Truth, tags: &Tags) {
        let Some(main) = truth.principles.first() else {
            return;
        };
        if truth.generic || truth.kind == Kind::Question || truth.archetype == "praise" {
            return;
        }
        self.principles.entry(*main).or_default().truth += 1.0;
        for (said, _) in &tags.principles {
            let counts = self.principles.entry(*said).or_default();
            if said == main {
                counts.right += 1.0;
                counts.said += 1.0;
            } else if !truth.principles.contains(said) {
                counts.said += 1.0;
            }
        }
    }

    pub fn macro_f1(&self) -> f64 {
        let held: Vec<f64> = self
            .principles
            .values()
            .filter(|c| c.truth > 0.0)
            .map(|c| c.f1())
            .collect();
        held.iter().sum::<f64>() / (held.len() as f64).max(1.0)
    }

    pub fn print(&self, name: &str) {
        println!("{name}.principle.macro_f1\t{:.3}\tshare", self.macro_f1());
        for (principle, counts) in &self.principles {
            println!("{name}.principle.f1.{principle}\t{:.3}\tshare", counts.f1());
        }
        for (kind, counts) in &self.kinds {
            println!("{name}.kind.f1.{kind}\t{:.3}\tshare", counts.f1());
        }
        println!("{name}.part.precision\t{:.3}\tshare", self.part.precision());
        println!("{name}.part.recall\t{:.3}\tshare", self.part.recall());
        println!("{name}.side.accuracy\t{:.3}\tshare", self.side.precision());
        println!("{name}.ask.precision\t{:.3}\tshare", self.ask.precision());
        println!("{name}.ask.recall\t{:.3}\tshare", self.ask.recall());
    }
}
