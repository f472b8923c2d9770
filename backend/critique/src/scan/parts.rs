//! The parts a text names, with their sides.

use domain::Side;

use crate::lexicon::phrase::Found;
use crate::lexicon::{Cue, Lexicon, TraitId};
use crate::words::Token;

/// A part as a text names it.
#[derive(Clone, Debug, PartialEq)]
pub struct SaidPart {
    /// Node of the tree of parts.
    pub name: &'static str,
    /// The node below it that the very word names, as in "wrist" for the hand; else the same.
    pub finest: &'static str,
    /// Its side, if it has one and the text says so.
    pub side: Option<Side>,
    /// How much of the text is about it, 0..1.
    pub weight: f64,
    /// The word that names it.
    pub at: usize,
}

/// Words for the whole figure that say little beside a part.
const PRONOUNS: &[&str] = &["he", "she", "hes", "shes", "him", "guy"];
/// What such a word weighs.
const PRONOUN: f64 = 0.4;

/// Place of a word, the node it names, and whether it is a plural of both sides.
type Named = (usize, &'static domain::parts::PartNode, bool);

/// How far a side word may stand from its part.
const REACH: usize = 2;
/// What a part weighs in a clause that names no fault, beside clauses that do.
const NO_FAULT: f64 = 0.5;
/// What it weighs where it is only set aside.
const SET_ASIDE: f64 = 0.3;
/// Each part after the first is likelier to be company than the matter.
const LATER: f64 = 0.85;

/// Every part word in the order of the text.
pub(super) fn said(
    lexicon: &Lexicon,
    tokens: &[Token],
    traits: &[Found<TraitId>],
    cues: &[Found<Cue>],
) -> Vec<SaidPart> {
    let named: Vec<Named> = tokens
        .iter()
        .enumerate()
        .filter(|(at, token)| !means_something_else(tokens, *at, &token.text))
        .filter_map(|(at, token)| {
            lexicon
                .part_word(&token.text)
                .map(|(node, plural)| (at, node, plural))
        })
        .collect();
    let aside = aside_clause(tokens, cues);
    let mut later = 1.0;
    let mut parts = vec![];
    for (index, (at, node, plural)) in named.iter().enumerate() {
        let clause = tokens[*at].clause;
        let fault_here = traits.iter().any(|t| tokens[t.start].clause == clause);
        let mut weight = if PRONOUNS.contains(&tokens[*at].text.as_str()) {
            PRONOUN * later
        } else {
            later
        };
        if !fault_here && !traits.is_empty() {
            weight *= NO_FAULT;
        }
        if aside == Some(clause) {
            weight *= SET_ASIDE;
        }
        let side = if node.sided {
            side_of(lexicon, tokens, &named, index).or(plural.then_some(Side::Both))
        } else {
            None
        };
        if !PRONOUNS.contains(&tokens[*at].text.as_str()) {
            later *= LATER;
        }
        parts.push(SaidPart {
            name: node.name,
            finest: finest(&tokens[*at].text, node).name,
            side,
            weight,
            at: *at,
        });
    }
    parts
}

/// The lexicon speaks of larger parts than the tree has; a word that is itself a node of the tree, or its plural, is meant so.
fn finest(word: &str, node: &'static domain::parts::PartNode) -> &'static domain::parts::PartNode {
    let singular = word.strip_suffix('s').unwrap_or(word);
    domain::parts::find(word)
        .or_else(|| domain::parts::find(singular))
        .filter(|fine| fine.sided == node.sided)
        .unwrap_or(node)
}

/// In order of weight, each node and side once.
pub(super) fn merged(all: &[SaidPart]) -> Vec<SaidPart> {
    let mut parts: Vec<SaidPart> = vec![];
    for said in all {
        let same = |p: &&mut SaidPart| {
            p.name == said.name && (p.side == said.side || said.side.is_none() || p.side.is_none())
        };
        match parts.iter_mut().find(same) {
            Some(held) => {
                held.weight = held.weight.max(said.weight);
                held.side = held.side.or(said.side);
            }
            None => parts.push(said.clone()),
        }
    }
    parts.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.at.cmp(&b.at)));
    parts
}

/// Words that name a part and, beside certain others, do not.
fn means_something_else(tokens: &[Token], at: usize, word: &str) -> bool {
    let next = tokens.get(at + 1).map_or("", |t| t.text.as_str());
    let before = at.checked_sub(1).map_or("", |b| tokens[b].text.as_str());
    match word {
        // "comes back", "back to the pose", "back in": a way, not a spine.
        "back" => {
            !matches!(
                before,
                "the"
                    | "his"
                    | "her"
                    | "its"
                    | "their"
                    | "lower"
                    | "upper"
                    | "left"
                    | "right"
                    | "curved"
                    | "arched"
            ) || matches!(
                next,
                "half" | "leg" | "foot" | "to" | "in" | "again" | "arm" | "heel"
            )
        }
        "he" | "she" => false,
        "whole" => matches!(
            next,
            "arm"
                | "arms"
                | "leg"
                | "legs"
                | "head"
                | "hand"
                | "thing"
                | "time"
                | "way"
                | "shot"
                | "spine"
                | "face"
                | "tail"
                | "upper"
                | "lower"
                | "turn"
                | "move"
        ),
        // "a step closer", "step in the right direction", "in step", "the next steps"
        "step" | "steps" => {
            matches!(
                next,
                "closer" | "in" | "further" | "back" | "through" | "up" | "towards"
            ) || matches!(before, "in" | "good" | "next" | "a" | "one" | "of")
        }
        "stick" => matches!(next, "to" | "with" | "out" | "on"),
        "hand" => matches!(next, "drawn" | "it") || matches!(before, "other" | "second" | "on"),
        "face" => matches!(next, "the" | "us" | "away"),
        "head" => matches!(next, "first" | "on" | "towards" | "for"),
        "character" => matches!(next, "arc" | "choice"),
        "root" => matches!(next, "of" | "cause"),
        "box" | "book" | "door" | "ball" | "bag" => false,
        "shoulder" => matches!(before, "over"),
        _ => false,
    }
}

/// The first clause, if it only sets a part aside and another follows.
fn aside_clause(tokens: &[Token], cues: &[Found<Cue>]) -> Option<u32> {
    let first = tokens.first()?.clause;
    let more = tokens.iter().any(|t| t.clause > first);
    let opens = cues
        .iter()
        .any(|c| c.meaning == Cue::Aside && c.start <= 2 && tokens[c.start].clause == first);
    (more && opens).then_some(first)
}

/// The side word nearest to a part, with no other part between.
fn side_of(lexicon: &Lexicon, tokens: &[Token], named: &[Named], index: usize) -> Option<Side> {
    let at = named[index].0;
    let is_part = |position: usize| named.iter().any(|(other, ..)| *other == position);
    let read = |position: usize| {
        let word = tokens.get(position)?;
        (word.sentence == tokens[at].sentence && !is_way(tokens, position))
            .then(|| lexicon.side_word(&word.text))
            .flatten()
    };
    for distance in 1..=REACH {
        if let Some(before) = at.checked_sub(distance)
            && !(before + 1..at).any(is_part)
            && let Some(side) = read(before)
        {
            return Some(side);
        }
    }
    for distance in 1..=REACH {
        let behind = at + distance;
        if (at + 1..behind).any(is_part) {
            break;
        }
        // A side word before the next part belongs to that one: "the arm, left leg".
        let belongs_further = named
            .get(index + 1)
            .is_some_and(|(next, ..)| *next <= behind + REACH && *next > behind);
        if !belongs_further && let Some(side) = read(behind) {
            return Some(side);
        }
    }
    None
}

/// "right now", "right on", "left behind": not a side.
fn is_way(tokens: &[Token], at: usize) -> bool {
    let next = tokens.get(at + 1).map_or("", |t| t.text.as_str());
    let before = at.checked_sub(1).map_or("", |b| tokens[b].text.as_str());
    match tokens[at].text.as_str() {
        "right" => {
            matches!(
                next,
                "now"
                    | "on"
                    | "there"
                    | "here"
                    | "at"
                    | "before"
                    | "after"
                    | "away"
                    | "direction"
                    | "through"
                    | "into"
                    | "in"
                    | "when"
                    | "as"
                    | "where"
                    | "until"
                    | "across"
                    | "from"
                    | "amount"
                    | "size"
                    | "spot"
                    | "moment"
                    | "track"
                    | "idea"
            ) || matches!(
                before,
                "is" | "feels" | "looks" | "reads" | "all" | "just" | "are" | "seems" | "not"
            )
        }
        "left" => {
            matches!(next, "behind" | "over" | "out" | "in" | "to" | "alone")
                || matches!(
                    before,
                    "is" | "are"
                        | "nothing"
                        | "frames"
                        | "frame"
                        | "one"
                        | "bit"
                        | "any"
                        | "bump"
                        | "little"
                )
        }
        "two" | "each" | "pair" => !matches!(
            next,
            "arms"
                | "hands"
                | "feet"
                | "legs"
                | "knees"
                | "elbows"
                | "shoulders"
                | "eyes"
                | "brows"
                | "arm"
                | "hand"
                | "foot"
                | "leg"
        ),
        "l" | "r" => before == "f",
        _ => false,
    }
}
