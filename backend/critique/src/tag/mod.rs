//! From a note's words: principles, parts with sides, kind, urgency, faults and requests, each with a score.

pub mod features;

use domain::ask::Ask;
use domain::{Kind, Principle, Urgency};

use crate::lexicon::{Cue, Lexicon, PRINCIPLES, TraitId};
use crate::scan::{SaidPart, Scan};
use crate::weights::Weights;

/// The likeliest principle is said from this probability on.
const BEST_FROM: f64 = 0.18;
/// Any other is said from here on.
const OTHERS_FROM: f64 = 0.40;
/// Without a word of the lexicon the likeliest one is said only from here on.
const GUESS_FROM: f64 = 0.35;

/// What a note says.
#[derive(Clone, Debug)]
pub struct Tags {
    /// Principles it names, likeliest first, with scores of .5 to 1.
    pub principles: Vec<(Principle, f64)>,
    /// Probability of every principle; all zero when it names none.
    pub principle_odds: [f64; PRINCIPLES],
    /// Parts, weightiest first.
    pub parts: Vec<SaidPart>,
    /// What it wants.
    pub kind: Kind,
    /// Probability of every kind, in the order of [`Kind::ALL`].
    pub kind_odds: [f64; 4],
    /// How much it weighs; none for praise and questions.
    pub urgency: Option<Urgency>,
    /// Faults it names, with weights.
    pub traits: Vec<(TraitId, f64)>,
    /// Measurable requests.
    pub asks: Vec<Ask>,
}

/// Reads the tags off a scanned text.
pub fn tags(lexicon: &Lexicon, weights: &Weights, scan: &Scan) -> Tags {
    let mut principle_odds = [0.0; PRINCIPLES];
    let found = weights
        .source
        .principle
        .probabilities(&features::principle(lexicon, scan));
    let known = !scan.traits.is_empty() || !scan.principles.is_empty();
    let best = found.iter().copied().fold(0.0, f64::max);
    if known || best >= GUESS_FROM {
        principle_odds.copy_from_slice(&found);
    }
    let mut kind_odds = [0.0; 4];
    kind_odds.copy_from_slice(&weights.source.kind.probabilities(&features::kind(scan)));
    let kind = Kind::ALL[likeliest(&kind_odds)];
    Tags {
        principles: said(&principle_odds),
        principle_odds,
        parts: scan.parts.clone(),
        kind,
        kind_odds,
        urgency: urgency(kind, scan),
        traits: features::trait_weights(scan).into_iter().collect(),
        asks: scan.asks.clone(),
    }
}

fn likeliest(odds: &[f64]) -> usize {
    (0..odds.len()).fold(0, |best, at| if odds[at] > odds[best] { at } else { best })
}

fn said(odds: &[f64; PRINCIPLES]) -> Vec<(Principle, f64)> {
    let best = likeliest(odds);
    let mut said: Vec<(Principle, f64)> = Principle::ALL
        .iter()
        .enumerate()
        .filter(|(at, _)| odds[*at] >= if *at == best { BEST_FROM } else { OTHERS_FROM })
        .map(|(at, principle)| (*principle, 0.5 + 0.5 * odds[at]))
        .collect();
    said.sort_by(|a, b| b.1.total_cmp(&a.1));
    said
}

fn urgency(kind: Kind, scan: &Scan) -> Option<Urgency> {
    match kind {
        Kind::Keep | Kind::Question => None,
        _ if scan.has(Cue::Must) => Some(Urgency::Must),
        _ if scan.has(Cue::Polish) || kind == Kind::Consider => Some(Urgency::IfTime),
        _ => Some(Urgency::Should),
    }
}
