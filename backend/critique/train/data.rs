//! The tune set: invented shots with notes and what is true of them, and invented spoken critiques.

use std::path::{Path, PathBuf};

use critique::contract::{Evidence, FrameMap, ListenInput, Note, Part, Revision, Shot, Weight};
use domain::{Kind, Principle, Standing};
use serde::Deserialize;
use serde::de::DeserializeOwned;

/// What a mentor clicked.
#[derive(Clone, Deserialize)]
pub struct Clicked {
    pub principles: Option<Vec<Principle>>,
    pub parts: Option<Vec<Part>>,
    pub kind: Option<Kind>,
}

/// A request as it is meant.
#[derive(Clone, Deserialize)]
pub struct TrueAsk {
    pub what: domain::ask::AskKind,
    pub amount: f64,
}

/// What is true of a note.
#[derive(Clone, Deserialize)]
pub struct Truth {
    pub kind: Kind,
    pub principles: Vec<Principle>,
    pub parts: Vec<Part>,
    pub archetype: String,
    pub concern: Option<String>,
    pub recurrence: String,
    pub earlier: Option<String>,
    pub reverses: Option<String>,
    pub generic: bool,
    pub habit: bool,
    pub wording: String,
    pub asks: Vec<TrueAsk>,
}

/// A note with its truth.
#[derive(Clone, Deserialize)]
pub struct TuneNote {
    pub id: String,
    pub text: String,
    pub span: (i64, i64),
    pub weight: Option<Weight>,
    pub mentor_tags: Option<Clicked>,
    pub evidence: Vec<Evidence>,
    pub truth: Truth,
}

#[derive(Clone, Deserialize)]
pub struct TuneRevision {
    pub rev: u32,
    pub frames: i64,
    pub notes: Vec<TuneNote>,
}

#[derive(Clone, Deserialize)]
pub struct TrueConcern {
    pub standing: Standing,
    pub notes: Vec<String>,
}

#[derive(Clone, Deserialize)]
pub struct ShotTruth {
    pub concerns: Vec<TrueConcern>,
}

/// A shot with its truth.
#[derive(Clone, Deserialize)]
pub struct TuneShot {
    pub shot: String,
    pub student: String,
    pub order: u32,
    pub fps: f64,
    pub revisions: Vec<TuneRevision>,
    pub frame_maps: Vec<FrameMap>,
    pub truth: ShotTruth,
}

/// A note as it was spoken.
#[derive(Clone, Deserialize)]
pub struct SpokenNote {
    pub t0: f64,
    pub t1: f64,
    pub start: i64,
    pub end: i64,
    pub kind: Kind,
    pub principles: Vec<Principle>,
}

#[derive(Clone, Deserialize)]
pub struct SpokenTruth {
    pub notes: Vec<SpokenNote>,
}

/// A spoken critique with its truth.
#[derive(Clone, Deserialize)]
pub struct Transcript {
    #[serde(flatten)]
    pub input: ListenInput,
    pub truth: SpokenTruth,
}

impl TuneNote {
    /// The note as `match` reads it.
    pub fn note(&self, tagged: bool) -> Note {
        let clicked = self.mentor_tags.clone().filter(|_| tagged);
        Note {
            id: self.id.clone(),
            text: self.text.clone(),
            span: self.span,
            kind: clicked.as_ref().and_then(|c| c.kind),
            weight: self.weight.filter(|_| tagged),
            principles: clicked.as_ref().and_then(|c| c.principles.clone()),
            parts: clicked.and_then(|c| c.parts),
            evidence: self.evidence.clone(),
        }
    }
}

impl TuneShot {
    /// The shot as `match` reads it.
    pub fn shot(&self, tagged: bool) -> Shot {
        let revision = |r: &TuneRevision| Revision {
            rev: r.rev,
            frames: r.frames,
            notes: r.notes.iter().map(|n| n.note(tagged)).collect(),
        };
        Shot {
            id: self.shot.clone(),
            fps: self.fps,
            frame_maps: self.frame_maps.clone(),
            revisions: self.revisions.iter().map(revision).collect(),
        }
    }

    /// Every note.
    pub fn notes(&self) -> impl Iterator<Item = &TuneNote> {
        self.revisions.iter().flat_map(|r| &r.notes)
    }
}

/// The folder of the tune set.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../ops/train/data")
}

/// The lexicon as it stands in the folder of the crate, so that trying a word needs no build.
pub fn lexicon() -> Result<critique::Lexicon, Box<dyn std::error::Error>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("lexicon.json");
    Ok(critique::Lexicon::from_json(&std::fs::read_to_string(
        path,
    )?)?)
}

/// Reads a file of JSON lines.
pub fn lines<T: DeserializeOwned>(path: &Path) -> Result<Vec<T>, Box<dyn std::error::Error>> {
    let text = std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
    text.lines()
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty())
        .map(|(n, line)| {
            serde_json::from_str(line)
                .map_err(|e| format!("{}:{}: {e}", path.display(), n + 1).into())
        })
        .collect()
}
