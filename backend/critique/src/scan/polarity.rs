//! What a text denies, wishes for or says is gone. "No pop there any more" names a fault and praises; "no weight in the hips" names a
//! quality and does not.

use crate::lexicon::phrase::Found;
use crate::lexicon::{Cue, TraitId};
use crate::words::Token;

/// How many words before a find a denial or a wish reaches.
const WORDS: usize = 3;
/// How many words behind a find "is gone" may stand.
const BEHIND: usize = 6;

/// In which light a fault stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Light {
    /// It hurts.
    Stands,
    /// "not", "no": it is denied, or its remedy is.
    Denied,
    /// "no longer", "is gone": it was there and is there no more.
    Gone,
}

/// Counts of what stands in which light.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Polarity {
    /// For each fault found.
    pub faults: Vec<Light>,
    /// Qualities that are stated.
    pub quality_stated: usize,
    /// Qualities that are denied, missed or wished for.
    pub quality_missed: usize,
    /// Words of praise that stand by themselves.
    pub praise: f64,
    /// Words of praise that are denied or wished for.
    pub praise_missed: f64,
    /// Verbs that ask: each opens a clause and has something to act on.
    pub orders: usize,
}

impl Polarity {
    pub(super) fn new(
        tokens: &[Token],
        cues: &[Found<Cue>],
        traits: &[Found<TraitId>],
        qualities: &[Found<()>],
    ) -> Polarity {
        let light = Reach { tokens, cues };
        let fault = |t: &Found<TraitId>| {
            let quality = qualities.iter().any(|q| q.start < t.end && t.start < q.end);
            match (light.gone(t.start, t.end), light.denied(t.start)) {
                (true, _) => Light::Gone,
                (_, true) if !quality => Light::Denied,
                _ => Light::Stands,
            }
        };
        let mut polarity = Polarity {
            faults: traits.iter().map(fault).collect(),
            orders: cues
                .iter()
                .filter(|c| c.meaning == Cue::Imperative && light.orders(c.start))
                .count(),
            ..Polarity::default()
        };
        for quality in qualities {
            if light.denied(quality.start)
                || light.wished(quality.start)
                || light.gone(quality.start, quality.end)
            {
                polarity.quality_missed += 1;
            } else {
                polarity.quality_stated += 1;
            }
        }
        for cue in cues.iter().filter(|c| c.meaning == Cue::Praise) {
            if light.denied(cue.start) || light.wished(cue.start) {
                polarity.praise_missed += cue.weight();
            } else {
                polarity.praise += cue.weight();
            }
        }
        polarity
    }

    /// How many faults stand in a light.
    pub fn count(&self, light: Light) -> usize {
        self.faults.iter().filter(|l| **l == light).count()
    }
}

struct Reach<'a> {
    tokens: &'a [Token],
    cues: &'a [Found<Cue>],
}

/// Words that may stand before a verb that opens a clause.
const FILLERS: &[&str] = &[
    "please",
    "just",
    "and",
    "so",
    "then",
    "also",
    "maybe",
    "ok",
    "okay",
    "um",
    "uh",
    "hm",
    "hmm",
    "now",
    "first",
    "next",
    "yeah",
    "well",
    "perhaps",
    "or",
    "better",
    "closer",
    "really",
    "definitely",
    "still",
    "simply",
    "instead",
];

/// Words that tell a verb from a noun: "hold the pose", not "hold reads well".
const OBJECTS: &[&str] = &[
    "the",
    "a",
    "an",
    "it",
    "this",
    "that",
    "his",
    "her",
    "hers",
    "its",
    "their",
    "them",
    "him",
    "those",
    "these",
    "your",
    "one",
    "both",
    "up",
    "down",
    "out",
    "back",
    "more",
    "less",
    "two",
    "three",
    "four",
    "five",
    "six",
    "some",
    "further",
    "into",
    "in",
    "on",
    "off",
    "all",
    "each",
    "every",
    "me",
    "us",
    "from",
    "through",
    "over",
    "away",
    "apart",
    "around",
    "round",
    "to",
    "for",
    "left",
    "right",
    "another",
    "any",
    "bigger",
    "harder",
    "wider",
    "deeper",
    "lower",
    "higher",
    "with",
    "us",
    "no",
    "between",
    "everything",
    "either",
    "half",
];

/// Behind these a word is a noun after all: "settle on the head is great".
const STATES: &[&str] = &[
    "is", "are", "was", "feels", "feel", "reads", "read", "looks", "look", "works", "work", "has",
    "have", "seems", "needs", "isnt", "doesnt",
];

/// How far behind a noun its verb is looked for.
const NOUN_REACH: usize = 6;

impl Reach<'_> {
    /// Whether the word is a verb that asks.
    fn orders(&self, at: usize) -> bool {
        let clause = self.tokens[at].clause;
        let opens = self.tokens[..at]
            .iter()
            .rev()
            .take_while(|t| t.clause == clause)
            .all(|t| FILLERS.contains(&t.text.as_str()));
        let next = self
            .tokens
            .get(at + 1)
            .filter(|t| t.sentence == self.tokens[at].sentence);
        let acts = next.is_none_or(|n| OBJECTS.contains(&n.text.as_str()));
        let mut behind = self.tokens[at + 1..]
            .iter()
            .take(NOUN_REACH)
            .take_while(|t| t.clause == clause);
        let placed = next.is_some_and(|n| {
            matches!(
                n.text.as_str(),
                "on" | "in" | "into" | "for" | "from" | "between" | "to" | "with" | "through"
            )
        });
        let stated = placed && behind.any(|t| STATES.contains(&t.text.as_str()));
        opens && acts && !stated && (at + 1 < self.tokens.len() || at > 0)
    }

    /// Whether a turn of phrase ends within reach before the word, in its clause.
    fn reaches(&self, kind: Cue, at: usize) -> bool {
        self.cues.iter().filter(|c| c.meaning == kind).any(|c| {
            c.end <= at
                && at - c.end < WORDS
                && self.tokens[c.start].clause == self.tokens[at].clause
        })
    }

    fn denied(&self, at: usize) -> bool {
        self.reaches(Cue::Denial, at)
    }

    fn wished(&self, at: usize) -> bool {
        self.reaches(Cue::Wish, at)
    }

    /// Whether "is gone" or the like stands behind, or just before, in the same clause.
    fn gone(&self, start: usize, end: usize) -> bool {
        self.cues
            .iter()
            .filter(|c| c.meaning == Cue::Gone)
            .any(|c| {
                let near = (c.start >= end && c.start - end < BEHIND)
                    || (c.end <= start && start - c.end < WORDS);
                near && self.tokens[c.start].sentence == self.tokens[start].sentence
            })
    }
}
