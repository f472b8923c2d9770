//! A note taken apart once, so that it can be compared with thousands.

use domain::{Kind, Principle, Side, parts};

use crate::contract::{Evidence, Note};
use crate::lexicon::{Cue, Lexicon, PRINCIPLES, TraitId};
use crate::scan::Scan;
use crate::tag::Tags;
use crate::weights::Weights;

/// What the likelihood by words adds beside a principle that was clicked.
const BESIDE_CLICKED: f64 = 0.35;
/// Principles less likely than this do not count.
const LEAST: f64 = 0.08;
/// What a fault's direction counts beside a direction that is said.
const TRAIT_DIRECTION: f64 = 0.6;
/// A note of so few stems is short.
const SHORT: usize = 3;

/// A part with the weight it has in its note.
#[derive(Clone, Debug, PartialEq)]
pub struct NotePart {
    /// Node of the tree.
    pub node: &'static parts::PartNode,
    /// Its place in [`parts::PARTS`].
    pub(crate) place: usize,
    /// Its side, if said.
    pub side: Option<Side>,
    /// 0..1; 1 for what was clicked.
    pub weight: f64,
}

/// Sorted numbers of stems with values, of length 1 as a vector (or empty).
pub type Sparse = Vec<(u32, f64)>;

/// A note taken apart.
#[derive(Clone, Debug)]
pub struct Analysed {
    /// Its id.
    pub id: String,
    /// First and last frame.
    pub span: (f64, f64),
    /// How much it is about each principle; zero when that is unknown.
    pub principles: [f64; PRINCIPLES],
    /// √(aᵀRa) of the principles.
    pub(crate) principle_norm: f64,
    /// At most two parts, weightiest first.
    pub parts: Vec<NotePart>,
    /// Weights of its stems.
    pub(crate) words: Sparse,
    /// The same for the lexicon's stems alone.
    pub(crate) content: Sparse,
    /// Faults, of length 1 as a vector (or empty).
    pub(crate) traits: Vec<(TraitId, f64)>,
    /// The way the note pulls, by axis.
    pub(crate) directions: Vec<f64>,
    /// Which turns of phrase it holds, by their places in [`Cue::ALL`].
    pub(crate) cues: u32,
    /// How likely it is praise, 0..1.
    pub praise: f64,
    /// How likely it is a question, 0..1.
    pub question: f64,
    /// Three stems or fewer.
    pub(crate) short: bool,
    /// Whether a person tagged it.
    pub tagged: bool,
    /// What was measured.
    pub evidence: Vec<Evidence>,
}

impl NotePart {
    /// The part of that name; none if the tree has no such node.
    pub(crate) fn named(name: &str, side: Option<Side>, weight: f64) -> Option<NotePart> {
        let place = parts::PARTS.iter().position(|node| node.name == name)?;
        Some(NotePart {
            node: &parts::PARTS[place],
            place,
            side,
            weight,
        })
    }
}

impl Analysed {
    /// Takes a note apart, with the tags its words have.
    pub fn new(
        lexicon: &Lexicon,
        weights: &Weights,
        note: &Note,
        scan: &Scan,
        tags: &Tags,
    ) -> Analysed {
        let principles = principles(note, tags);
        Analysed {
            id: note.id.clone(),
            #[expect(clippy::cast_precision_loss, reason = "frames are far below 2^52")]
            span: (note.span.0 as f64, note.span.1 as f64),
            principle_norm: related(lexicon, &principles, &principles).sqrt(),
            principles,
            parts: note_parts(lexicon, note, tags),
            words: sparse(weights, scan, |_| true),
            content: sparse(weights, scan, |stem| lexicon.is_content(stem)),
            traits: unit(tags.traits.clone()),
            directions: directions(lexicon, scan),
            cues: Cue::ALL
                .iter()
                .filter(|c| scan.has(**c))
                .fold(0, |bits, c| bits | 1 << c.index()),
            praise: kind_odds(note, tags, Kind::Keep),
            question: kind_odds(note, tags, Kind::Question),
            short: scan.stems.len() <= SHORT,
            tagged: note.kind.is_some() || note.principles.is_some() || note.parts.is_some(),
            evidence: note.evidence.clone(),
        }
    }

    /// Whether it holds a turn of phrase.
    pub fn has(&self, cue: Cue) -> bool {
        self.cues & (1 << cue.index()) != 0
    }

    /// Whether it is praise or a question and so opens no concern.
    pub fn opens_nothing(&self) -> bool {
        self.praise > 0.5 || self.question > 0.5
    }

    /// Its main principle, by place in [`Principle::ALL`]; none when that is unknown.
    pub fn main_principle(&self) -> Option<usize> {
        let best = (0..PRINCIPLES).fold(0, |best, at| {
            if self.principles[at] > self.principles[best] {
                at
            } else {
                best
            }
        });
        (self.principles[best] > 0.0).then_some(best)
    }
}

/// aᵀRb.
pub(crate) fn related(lexicon: &Lexicon, a: &[f64; PRINCIPLES], b: &[f64; PRINCIPLES]) -> f64 {
    let mut sum = 0.0;
    for (i, x) in a.iter().enumerate().filter(|(_, x)| **x > 0.0) {
        for (j, y) in b.iter().enumerate().filter(|(_, y)| **y > 0.0) {
            sum += x * y * lexicon.related(i, j);
        }
    }
    sum
}

fn principles(note: &Note, tags: &Tags) -> [f64; PRINCIPLES] {
    let clicked = note.principles.as_deref().unwrap_or_default();
    let share = if clicked.is_empty() {
        1.0
    } else {
        BESIDE_CLICKED
    };
    let mut principles = tags
        .principle_odds
        .map(|p| if p > LEAST { share * p } else { 0.0 });
    for (principle, held) in Principle::ALL.iter().zip(&mut principles) {
        if clicked.contains(principle) {
            *held += 1.0;
        }
    }
    principles
}

/// Parts are compared as the words name them: a clicked wrist is the hand that "wrist" says.
fn note_parts(lexicon: &Lexicon, note: &Note, tags: &Tags) -> Vec<NotePart> {
    let said = || {
        tags.parts
            .iter()
            .filter_map(|p| NotePart::named(p.name, p.side, p.weight))
    };
    let clicked: Vec<NotePart> = note
        .parts
        .iter()
        .flatten()
        .filter_map(|p| {
            let said = lexicon.part_word(&p.name).map(|(node, _)| node.name);
            NotePart::named(said.unwrap_or(&p.name), p.side, 1.0)
        })
        .take(2)
        .collect();
    if clicked.is_empty() {
        return said().take(2).collect();
    }
    clicked
        .into_iter()
        .map(|part| {
            // A part clicked without its side has the one the words give it.
            let side = part.side.or_else(|| {
                said()
                    .find(|s| s.node.name == part.node.name)
                    .and_then(|s| s.side)
            });
            NotePart { side, ..part }
        })
        .collect()
}

/// What was clicked is nearly certain; an urgency is given only to what wants something.
fn kind_odds(note: &Note, tags: &Tags, kind: Kind) -> f64 {
    let by_words = tags.kind_odds[kind as usize];
    match (note.kind, note.weight) {
        (Some(clicked), _) if clicked == kind => 0.97,
        (Some(_), _) => 0.04,
        (None, Some(_)) => by_words.min(0.04),
        (None, None) => by_words,
    }
}

fn directions(lexicon: &Lexicon, scan: &Scan) -> Vec<f64> {
    let mut pulls = vec![0.0; lexicon.axes.len()];
    for found in &scan.directions {
        pulls[found.meaning.0] += f64::from(found.meaning.1);
    }
    for found in &scan.traits {
        for (axis, way) in &lexicon.traits[found.meaning].direction {
            pulls[*axis] += TRAIT_DIRECTION * way;
        }
    }
    pulls
}

/// (1 + ln tf) · idf of every stem that passes, at length 1. Sides are left out: the parts carry them.
fn sparse(weights: &Weights, scan: &Scan, pass: impl Fn(&str) -> bool) -> Sparse {
    let mut counts: Vec<(u32, f64, f64)> = vec![];
    for stem in scan.stems.iter().filter(|s| pass(s) && !is_side(s)) {
        let (number, idf) = weights
            .idf(stem)
            .unwrap_or_else(|| (unseen(stem), weights.unseen_idf()));
        match counts.iter_mut().find(|(held, ..)| *held == number) {
            Some((_, count, _)) => *count += 1.0,
            None => counts.push((number, 1.0, idf)),
        }
    }
    counts.sort_by_key(|(number, ..)| *number);
    unit(
        counts
            .into_iter()
            .map(|(number, count, idf)| (number, (1.0 + count.ln()) * idf))
            .collect(),
    )
}

/// Stems of the words for sides.
pub(crate) fn is_side(stem: &str) -> bool {
    matches!(
        stem,
        "left" | "right" | "l" | "r" | "lft" | "rgt" | "lh" | "rh" | "leftmost" | "rightmost"
    )
}

/// A number for a stem that no text of the tune set held: FNV-1a with the highest bit set.
fn unseen(stem: &str) -> u32 {
    stem.bytes().fold(0x811c_9dc5_u32, |hash, b| {
        (hash ^ u32::from(b)).wrapping_mul(0x0100_0193)
    }) | 0x8000_0000
}

fn unit<K>(mut vector: Vec<(K, f64)>) -> Vec<(K, f64)> {
    let length = vector.iter().map(|(_, v)| v * v).sum::<f64>().sqrt();
    if length > 0.0 {
        vector.iter_mut().for_each(|(_, v)| *v /= length);
    }
    vector
}

/// The cosine of two sorted vectors of length 1.
pub(crate) fn cosine<K: Ord>(a: &[(K, f64)], b: &[(K, f64)]) -> f64 {
    let (mut i, mut j, mut sum) = (0, 0, 0.0);
    while i < a.len() && j < b.len() {
        match a[i].0.cmp(&b[j].0) {
            std::cmp::Ordering::Less => i += 1,
            std::cmp::Ordering::Greater => j += 1,
            std::cmp::Ordering::Equal => {
                sum += a[i].1 * b[j].1;
                i += 1;
                j += 1;
            }
        }
    }
    sum
}
