//! While a note is typed: what it says, and the earlier concern it seems to be about.

use crate::contract::{Note, Relation};
use crate::lexicon::Cue;
use crate::matching::gate::{self, Facts};
use crate::matching::opposed::{self, Opposed};
use crate::matching::pair::{self, Pair};
use crate::matching::reasons;
use crate::note::Analysed;
use crate::scan::Scan;
use crate::tag::{Tags, tags};
use crate::{Critic, Lexicon};

/// At most so many earlier concerns are proposed.
const MOST: usize = 3;
/// Less likely ones are not proposed.
const LEAST: f64 = 0.2;

/// An earlier note, taken apart once and kept; its span lies on the frames of the revision the new note is about.
#[derive(Clone, Debug)]
pub struct Earlier {
    /// The note.
    pub note: Analysed,
    /// Its span on the present frames.
    pub span: (f64, f64),
    /// Its concern; the same number for all notes of one.
    pub concern: usize,
    /// Whether its concern was cleared.
    pub cleared: bool,
    /// Revisions since its concern was last spoken of, the present one not counted.
    pub idle: u32,
}

impl Earlier {
    /// A note on its own frames, of an open concern that was spoken of last time.
    pub fn open(note: Analysed, concern: usize) -> Earlier {
        Earlier {
            span: note.span,
            note,
            concern,
            cleared: false,
            idle: 0,
        }
    }
}

/// An earlier concern the new note seems to be about, by its likest note.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// Place in the list given.
    pub earlier: usize,
    /// What the new one is to it.
    pub relation: Relation,
    /// How likely, 0..1.
    pub score: f64,
    /// Whether that is likely enough to be said.
    pub said: bool,
    /// Why, in words.
    pub reasons: Vec<String>,
    /// Of a reversal: what each of the two pulls to.
    pub opposed: Option<Opposed>,
}

impl Critic {
    /// Takes a note apart, for keeping.
    pub fn analyse(&self, note: &Note) -> Analysed {
        self.analyse_with_tags(note).0
    }

    fn analyse_with_tags(&self, note: &Note) -> (Analysed, Tags) {
        let scan = Scan::new(&self.lexicon, &note.text);
        let tags = tags(&self.lexicon, &self.weights, &scan);
        (
            Analysed::new(&self.lexicon, &self.weights, note, &scan, &tags),
            tags,
        )
    }

    /// What a note being typed says, and which earlier concerns it seems to be about, likeliest first. A concern is as likely as its
    /// likest note.
    pub fn propose(&self, note: &Note, earlier: &[Earlier]) -> (Tags, Vec<Proposal>) {
        let (new, tags) = self.analyse_with_tags(note);
        let mut likely = likeliest(self, &new, earlier);
        likely.truncate(MOST + 1);
        let proposals = likely
            .iter()
            .enumerate()
            .map(|(at, (number, logit, pair))| {
                let other = likely
                    .iter()
                    .enumerate()
                    .find(|(o, _)| *o != at)
                    .map(|(_, (_, logit, _))| *logit);
                proposal(self, &new, &earlier[*number], *number, *logit, pair, other)
            })
            .filter(|p| p.score >= LEAST)
            .take(MOST)
            .collect();
        (tags, proposals)
    }
}

/// The likest note of each concern, likeliest concern first; one more than can be proposed, for the margin.
fn likeliest(critic: &Critic, new: &Analysed, earlier: &[Earlier]) -> Vec<(usize, f64, Pair)> {
    let lexicon: &Lexicon = &critic.lexicon;
    let mut best: Vec<(usize, f64, Pair)> = vec![];
    for (number, held) in earlier.iter().enumerate() {
        let outline = pair::outline(lexicon, &held.note, held.span, new);
        // Most are so unlike that their words need no reading.
        let least = best
            .get(MOST)
            .map_or(f64::NEG_INFINITY, |(_, logit, _)| *logit);
        if critic.weights.pair_bound(&outline) < least {
            continue;
        }
        let pair = outline.compare(&held.note, new);
        let logit = critic.weights.pair_logit(&pair.features);
        let same = |(other, ..): &(usize, f64, Pair)| earlier[*other].concern == held.concern;
        match best.iter().position(same) {
            Some(at) if best[at].1 >= logit => continue,
            Some(at) => drop(best.remove(at)),
            None => {}
        }
        let at = best.partition_point(|(_, other, _)| *other >= logit);
        if at <= MOST {
            best.insert(at, (number, logit, pair));
            best.truncate(MOST + 1);
        }
    }
    best
}

fn proposal(
    critic: &Critic,
    new: &Analysed,
    held: &Earlier,
    number: usize,
    logit: f64,
    pair: &Pair,
    other: Option<f64>,
) -> Proposal {
    let facts = Facts {
        note: new,
        pair,
        logit,
        margin: other.map(|o| logit - o),
        idle: held.idle,
        absent: 0.0,
    };
    let odds = critic.weights.gate_odds(&gate::features(&facts));
    let class = (1..4).fold(1, |best, at| if odds[at] > odds[best] { at } else { best });
    let relation = match class {
        2 => Relation::Cleared,
        3 => Relation::Reversal,
        _ if held.cleared || (held.idle > 0 && new.has(Cue::Back)) => Relation::Back,
        _ => Relation::Still,
    };
    let score = 1.0 - odds[0];
    Proposal {
        earlier: number,
        relation,
        score,
        said: score >= critic.weights.source.threshold.least(new.tagged, class),
        reasons: reasons::of(critic, &held.note, new, pair),
        opposed: (relation == Relation::Reversal)
            .then(|| opposed::between(&critic.lexicon, &held.note, new))
            .flatten(),
    }
}
