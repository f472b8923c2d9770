//! The lexicon as it is written in JSON. `LEXICON.md` beside it says how to add a word.

use std::collections::BTreeMap;

use domain::ask::AskKind;
use domain::{Principle, Side};
use serde::{Deserialize, Serialize};

/// A kind of turn of phrase that says what a note is up to, whatever it is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cue {
    /// The matter is as it was.
    Still,
    /// The matter is there again.
    Back,
    /// Better, not done.
    Eased,
    /// Done.
    Cleared,
    /// Praise.
    Praise,
    /// Something hurts.
    Fix,
    /// A question.
    Question,
    /// A suggestion.
    Consider,
    /// The mentor says it late.
    Late,
    /// The mentor takes something back.
    Reversal,
    /// Urgent.
    Must,
    /// Can wait.
    Polish,
    /// Begins a new note in speech.
    Opener,
    /// Goes on with the same note in speech.
    Continue,
    /// Talk that is no note.
    Chatter,
    /// Denies what follows.
    Denial,
    /// Says that what was named is there no more.
    Gone,
    /// Asks the student to do something.
    Request,
    /// What stands behind it would be good, and is not there.
    Wish,
    /// Names another part only to set it aside.
    Aside,
    /// Compares with a thing.
    Simile,
    /// A verb that asks when it opens a clause.
    Imperative,
}

impl Cue {
    /// Every kind, in order.
    pub const ALL: &'static [Cue] = &[
        Cue::Still,
        Cue::Back,
        Cue::Eased,
        Cue::Cleared,
        Cue::Praise,
        Cue::Fix,
        Cue::Question,
        Cue::Consider,
        Cue::Late,
        Cue::Reversal,
        Cue::Must,
        Cue::Polish,
        Cue::Opener,
        Cue::Continue,
        Cue::Chatter,
        Cue::Denial,
        Cue::Gone,
        Cue::Request,
        Cue::Wish,
        Cue::Aside,
        Cue::Simile,
        Cue::Imperative,
    ];

    /// The kind as it is written in the lexicon.
    pub fn as_str(self) -> &'static str {
        match self {
            Cue::Still => "still",
            Cue::Back => "back",
            Cue::Eased => "eased",
            Cue::Cleared => "cleared",
            Cue::Praise => "praise",
            Cue::Fix => "fix",
            Cue::Question => "question",
            Cue::Consider => "consider",
            Cue::Late => "late",
            Cue::Reversal => "reversal",
            Cue::Must => "must",
            Cue::Polish => "polish",
            Cue::Opener => "opener",
            Cue::Continue => "continue",
            Cue::Chatter => "chatter",
            Cue::Denial => "denial",
            Cue::Gone => "gone",
            Cue::Request => "request",
            Cue::Wish => "wish",
            Cue::Aside => "aside",
            Cue::Simile => "simile",
            Cue::Imperative => "imperative",
        }
    }

    /// Its place in [`Cue::ALL`].
    pub fn index(self) -> usize {
        self as usize
    }
}

/// A fault, as the lexicon has it.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TraitSource {
    /// The principles it speaks for, with weights 0..1.
    pub principles: BTreeMap<Principle, f64>,
    /// The direction the remedy points to: axis to +1 or -1.
    #[serde(default)]
    pub direction: BTreeMap<String, i8>,
    /// How mentors say it.
    pub phrases: Vec<String>,
}

/// What an ask's amount is read from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Amount {
    /// Always so much.
    Fixed(f64),
    /// `N`: the number read; `N%`: one plus or minus that many hundredths.
    Read(String),
}

/// One kind of measurable request.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AskSource {
    /// What is to be changed.
    pub what: AskKind,
    /// By how much.
    pub amount: Amount,
    /// `frames` or `times`.
    pub unit: String,
    /// How mentors say it; an ending `:+` or `:-` gives the sign of a percentage.
    pub phrases: Vec<String>,
}

/// The whole lexicon.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Of this lexicon; answers carry it.
    pub version: String,
    /// What it is.
    pub about: String,
    /// Faults by name.
    pub traits: BTreeMap<String, TraitSource>,
    /// Words that name a principle outright.
    pub principle_words: BTreeMap<Principle, Vec<String>>,
    /// `axis:+1` or `axis:-1` to phrases.
    pub directions: BTreeMap<String, Vec<String>>,
    /// Turns of phrase.
    pub cues: BTreeMap<Cue, Vec<String>>,
    /// Things a shot should have: denied they are a fault, stated they are praise.
    pub qualities: Vec<String>,
    /// Word to node of the tree of parts.
    pub parts: BTreeMap<String, String>,
    /// Node to body area.
    pub area: BTreeMap<String, String>,
    /// Word to side.
    pub sides: BTreeMap<String, Side>,
    /// Word to number.
    pub numbers: BTreeMap<String, f64>,
    /// Measurable requests.
    pub asks: Vec<AskSource>,
    /// Two principles and how related they are, 0..1.
    pub relatedness: Vec<(Principle, Principle, f64)>,
    /// Common words that are one slip away from a word of the lexicon and mean themselves.
    pub themselves: Vec<String>,
}

/// Words of a school's own, merged over the lexicon: everything is optional, and names are those of the lexicon.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Additions {
    /// Fault to phrases.
    pub traits: BTreeMap<String, Vec<String>>,
    /// Principle to words.
    pub principle_words: BTreeMap<Principle, Vec<String>>,
    /// `axis:+1` or `axis:-1` to phrases.
    pub directions: BTreeMap<String, Vec<String>>,
    /// Kind to turns of phrase.
    pub cues: BTreeMap<Cue, Vec<String>>,
    /// Things a shot should have.
    pub qualities: Vec<String>,
    /// Word to node of the tree of parts.
    pub parts: BTreeMap<String, String>,
}
