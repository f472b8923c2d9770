//! What `match`, `tag` and `listen` read and write, as JSON. Fields not named here are ignored.

mod place;
pub mod read;
pub mod words;

use domain::{Kind, Principle, Side, Standing, Urgency};
use serde::{Deserialize, Serialize};

use crate::tag::Tags;

pub use read::InputError;

/// How much a note weighs; the program's own word for `polish` is "if time".
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Weight {
    /// Before anything else.
    Must,
    /// As a rule.
    Should,
    /// If there is time.
    Polish,
}

/// A part as it was clicked.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Node of the tree of parts.
    pub name: String,
    /// Its side, if said.
    #[serde(default)]
    pub side: Option<Side>,
}

/// What was measured in an earlier revision about the fault of a note.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// Which revision.
    pub rev: u32,
    /// Whether the fault was there; none: cannot tell.
    #[serde(default)]
    pub present: Option<bool>,
    /// How sure, 0..1.
    #[serde(default)]
    pub confidence: f64,
}

/// A note as it comes in.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Note {
    /// Its id, once in the input.
    pub id: String,
    /// Its words.
    pub text: String,
    /// First and last frame, 0-based.
    pub span: (i64, i64),
    /// What a person clicked, or none.
    #[serde(default)]
    pub kind: Option<Kind>,
    /// What a person clicked, or none.
    #[serde(default)]
    pub weight: Option<Weight>,
    /// What a person clicked, or none.
    #[serde(default)]
    pub principles: Option<Vec<Principle>>,
    /// What a person clicked, or none.
    #[serde(default)]
    pub parts: Option<Vec<Part>>,
    /// What was measured in earlier revisions.
    #[serde(default)]
    pub evidence: Vec<Evidence>,
}

/// Frames of one revision beside those of the next.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct FrameMap {
    /// The earlier revision.
    pub from: u32,
    /// The later one.
    pub to: u32,
    /// Old frame, new frame, confidence 0..1.
    #[serde(default)]
    pub anchors: Vec<(f64, f64, f64)>,
    /// First and last new frame, and how much the picture changed, 0..1.
    #[serde(default)]
    pub changed: Vec<(f64, f64, f64)>,
}

/// A revision with its notes.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Revision {
    /// 1-based.
    pub rev: u32,
    /// Its length.
    pub frames: i64,
    /// What was noted.
    #[serde(default)]
    pub notes: Vec<Note>,
}

/// A shot with its revisions.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Shot {
    /// Its id.
    pub id: String,
    /// Frames a second.
    pub fps: f64,
    /// Between neighbouring revisions.
    #[serde(default)]
    pub frame_maps: Vec<FrameMap>,
    /// In order.
    pub revisions: Vec<Revision>,
}

/// What `match` reads.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct MatchInput {
    /// The shot.
    pub shot: Shot,
    /// Earlier shots of the student, oldest first.
    #[serde(default)]
    pub student_history: Vec<Shot>,
}

/// What a note is to an earlier one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Relation {
    /// The fault was never gone.
    Still,
    /// It was gone in between.
    Back,
    /// It was there from the start, unnamed.
    Late,
    /// It asks the opposite of an earlier note.
    Reversal,
    /// Praise that closes a concern.
    Cleared,
    /// The same principle and body area in other shots.
    Habit,
}

impl Relation {
    /// The word as it is written.
    pub fn as_str(self) -> &'static str {
        match self {
            Relation::Still => "still",
            Relation::Back => "back",
            Relation::Late => "late",
            Relation::Reversal => "reversal",
            Relation::Cleared => "cleared",
            Relation::Habit => "habit",
        }
    }
}

/// One suggestion about a note.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Link {
    /// The note.
    pub note: String,
    /// The earlier note it is about; none for `late`.
    pub earlier_note: Option<String>,
    /// 1: the answer; 2 and 3: others that may be meant.
    pub concern_rank: u8,
    /// How likely, 0..1.
    pub score: f64,
    /// What it is to the earlier one.
    pub relation: Relation,
    /// Why, in words.
    #[serde(skip)]
    pub reasons: Vec<String>,
}

/// A thread of notes about one matter.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Concern {
    /// Its id in this answer.
    pub id: String,
    /// Its notes in order.
    pub notes: Vec<String>,
    /// After the last revision.
    pub standing: Standing,
}

/// What `match` writes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MatchOutput {
    /// Suggestions, by note and rank.
    pub links: Vec<Link>,
    /// Concerns, by their first notes.
    pub concerns: Vec<Concern>,
}

/// One line that `tag` reads.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct TagInput {
    /// The note's id.
    pub id: String,
    /// Its words.
    pub text: String,
}

/// A principle with its score.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ScoredPrinciple {
    /// Which.
    pub name: Principle,
    /// Said from .5 on.
    pub score: f64,
}

/// A part with its score.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ScoredPart {
    /// Node of the tree.
    pub name: String,
    /// Its side, if said.
    pub side: Option<Side>,
    /// Weight among the parts named, 0..1.
    pub score: f64,
}

/// A measurable request.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ScoredAsk {
    /// What is to be changed.
    pub what: domain::ask::AskKind,
    /// By how much.
    pub amount: f64,
    /// `frames` or `times`.
    pub unit: &'static str,
}

/// One line that `tag` writes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TagOutput {
    /// The note's id.
    pub id: String,
    /// Likeliest first.
    pub principles: Vec<ScoredPrinciple>,
    /// Weightiest first.
    pub parts: Vec<ScoredPart>,
    /// What it wants.
    pub kind: Kind,
    /// How much it weighs; none for praise and questions.
    pub weight: Option<Weight>,
    /// Measurable requests.
    pub asks: Vec<ScoredAsk>,
}

/// A stretch of speech as a recogniser cuts it.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Segment {
    /// Seconds.
    pub t0: f64,
    /// Seconds.
    pub t1: f64,
    /// Its words.
    pub text: String,
}

/// What `listen` reads.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct ListenInput {
    /// Length of the shot.
    pub frames: i64,
    /// Frames a second.
    pub fps: f64,
    /// Speech.
    #[serde(default)]
    pub segments: Vec<Segment>,
    /// Begin and end in seconds, word. Without them a segment's words are spread over it.
    #[serde(default)]
    pub words: Option<Vec<(f64, f64, String)>>,
    /// Second and frame: from then on that frame is seen.
    #[serde(default)]
    pub playhead: Vec<(f64, f64)>,
    /// Second and frame of each stroke drawn.
    #[serde(default)]
    pub strokes: Vec<(f64, f64)>,
}

/// A draft note from speech.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeardNote {
    /// Seconds.
    pub t0: f64,
    /// Seconds.
    pub t1: f64,
    /// First frame.
    pub start: i64,
    /// Last frame.
    pub end: i64,
    /// As it was said.
    pub text: String,
    /// What it wants.
    pub kind: Kind,
    /// Likeliest first.
    pub principles: Vec<Principle>,
    /// Weightiest first.
    pub parts: Vec<Part>,
}

/// What `listen` writes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ListenOutput {
    /// In order of time.
    pub notes: Vec<HeardNote>,
}

impl From<Urgency> for Weight {
    fn from(urgency: Urgency) -> Weight {
        match urgency {
            Urgency::Must => Weight::Must,
            Urgency::Should => Weight::Should,
            Urgency::IfTime => Weight::Polish,
        }
    }
}

impl TagOutput {
    /// The tags of the note with this id.
    pub fn new(id: String, tags: &Tags) -> TagOutput {
        let ask = |a: &domain::ask::Ask| ScoredAsk {
            what: a.what,
            amount: a.amount,
            unit: if a.what == domain::ask::AskKind::Scale {
                "times"
            } else {
                "frames"
            },
        };
        TagOutput {
            id,
            principles: tags
                .principles
                .iter()
                .map(|(name, score)| ScoredPrinciple {
                    name: *name,
                    score: thousandths(*score),
                })
                .collect(),
            parts: tags
                .parts
                .iter()
                .map(|p| ScoredPart {
                    name: p.name.into(),
                    side: p.side,
                    score: thousandths(p.weight),
                })
                .collect(),
            kind: tags.kind,
            weight: tags.urgency.map(Weight::from),
            asks: tags.asks.iter().map(ask).collect(),
        }
    }
}

fn thousandths(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}
