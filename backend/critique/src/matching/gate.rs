//! What a new note is to one concern: nothing, a repeat, praise that closes it, or its opposite.

use super::pair::Pair;
use crate::lexicon::Cue;
use crate::note::Analysed;

/// The names of the features, in the order of [`features`].
pub const NAMES: [&str; COUNT] = [
    "logit",
    "p",
    "margin",
    "still",
    "back",
    "eased",
    "cleared",
    "late",
    "reversal",
    "praise",
    "question",
    "short",
    "opp",
    "opprev",
    "idle",
    "near",
    "praise_p",
    "ev_absent",
];

/// How many there are.
pub const COUNT: usize = 18;

/// The classes, in their order.
pub const CLASSES: [&str; 4] = ["none", "recurs", "cleared", "reversal"];

/// What is known about a note beside one concern.
pub struct Facts<'a> {
    /// The note.
    pub note: &'a Analysed,
    /// It beside the concern's likest note.
    pub pair: &'a Pair,
    /// Log-odds of the same matter.
    pub logit: f64,
    /// Log-odds above those of the next likely concern; none if there is no other.
    pub margin: Option<f64>,
    /// Revisions since the concern was last named, the present one not counted.
    pub idle: u32,
    /// Confidence with which the fault was measured absent in those revisions.
    pub absent: f64,
}

/// In the order of [`NAMES`].
pub fn features(facts: &Facts) -> [f64; COUNT] {
    let Facts { note, pair, .. } = facts;
    let flag = |yes: bool| f64::from(u8::from(yes));
    let cue = |c: Cue| flag(note.has(c));
    let p = crate::weights::sigmoid(facts.logit);
    [
        facts.logit.clamp(-8.0, 8.0) / 4.0,
        p,
        facts.margin.map_or(6.0, |m| m.clamp(-6.0, 6.0)) / 4.0,
        cue(Cue::Still),
        cue(Cue::Back),
        cue(Cue::Eased),
        cue(Cue::Cleared),
        cue(Cue::Late),
        cue(Cue::Reversal),
        note.praise,
        note.question,
        flag(note.short),
        flag(pair.opposite),
        flag(pair.opposite) * cue(Cue::Reversal),
        f64::from(facts.idle.min(3)),
        pair.near,
        note.praise * p,
        facts.absent.min(1.0),
    ]
}
