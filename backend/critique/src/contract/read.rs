//! Reading what comes in: JSON with its faults told by line and field, and the bounds that keep every answer quick.

use std::collections::BTreeSet;
use std::fmt;

use domain::parts;
use serde::de::DeserializeOwned;
use serde_ignored::Path;

use super::place;
use super::{ListenInput, MatchInput, Shot, TagInput};

/// Longest text of a note or of a piece of speech, in bytes.
pub const TEXT_MOST: usize = 64 * 1024;
/// Longest input, in bytes.
pub const INPUT_MOST: usize = 64 * 1024 * 1024;
/// Longest shot, in frames.
pub const FRAMES_MOST: i64 = 100_000;
/// Most notes of one input.
pub const NOTES_MOST: usize = 20_000;
/// Most words of one spoken critique.
pub const WORDS_MOST: usize = 100_000;

/// Why an input is not answered.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum InputError {
    /// Not JSON, or not of the right form.
    #[error("line {line}, {field}: {reason}")]
    Field {
        /// Counted from 1.
        line: usize,
        /// Path of the field, as in `shot.revisions[0].notes[2].span`.
        field: String,
        /// What is wrong, and what would be right.
        reason: String,
    },
    /// Too much.
    #[error("the input has {0} bytes; at most {INPUT_MOST} are read")]
    Long(usize),
    /// Not text.
    #[error("the input is not UTF-8 from byte {0} on")]
    Letters(usize),
}

/// Most unknown fields that are told by name.
const UNKNOWN_MOST: usize = 10;

/// What was read, and what was passed over.
#[derive(Debug)]
pub struct Read<T> {
    /// What was read.
    pub input: T,
    /// The fields nobody knows.
    pub unknown: Unknown,
}

/// Fields that are not part of an input: they are passed over and told, so that a misspelt one is noticed.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Unknown {
    /// Line, from 1, and path of the first ten.
    pub first: Vec<(usize, String)>,
    /// How many there are in all.
    pub count: usize,
}

impl Unknown {
    fn add(&mut self, field: String, line: impl FnOnce(&str) -> usize) {
        if self.first.len() < UNKNOWN_MOST {
            self.first.push((line(&field), field));
        }
        self.count += 1;
    }
}

/// A line for each of the first, and one for the rest.
impl fmt::Display for Unknown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (line, field) in &self.first {
            writeln!(
                f,
                "line {line}, {field}: there is no such field; it is passed over"
            )?;
        }
        match self.count - self.first.len() {
            0 => Ok(()),
            more => writeln!(f, "and {more} more fields that do not exist"),
        }
    }
}

/// The text of an input.
///
/// # Errors
/// If it is too long, or not UTF-8.
pub fn text(bytes: &[u8]) -> Result<&str, InputError> {
    if bytes.len() > INPUT_MOST {
        return Err(InputError::Long(bytes.len()));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    std::str::from_utf8(bytes).map_err(|e| InputError::Letters(e.valid_up_to()))
}

/// Reads what `match` is given.
///
/// # Errors
/// The first fault, with its line and field.
pub fn match_input(json: &str) -> Result<Read<MatchInput>, InputError> {
    let mut unknown = Unknown::default();
    let input: MatchInput = parse(json, 0, &mut unknown)?;
    let mut check = Check { json, notes: 0 };
    check.shot("shot", &input.shot)?;
    let mut ids = BTreeSet::new();
    check.ids("shot", &input.shot, &mut ids)?;
    for (at, shot) in input.student_history.iter().enumerate() {
        let path = format!("student_history[{at}]");
        check.shot(&path, shot)?;
        check.ids(&path, shot, &mut ids)?;
    }
    Ok(Read { input, unknown })
}

/// Reads what `tag` is given: one JSON object a line.
///
/// # Errors
/// The first fault, with its line and field.
pub fn tag_lines(lines: &str) -> Result<Read<Vec<TagInput>>, InputError> {
    let mut unknown = Unknown::default();
    let mut input = vec![];
    for (at, line) in lines
        .split('\n')
        .enumerate()
        .filter(|(_, line)| !line.trim().is_empty())
    {
        let note: TagInput = parse(line, at, &mut unknown)?;
        bounded(at + 1, "text", &note.text)?;
        input.push(note);
    }
    Ok(Read { input, unknown })
}

/// Reads what `listen` is given.
///
/// # Errors
/// The first fault, with its line and field.
pub fn listen_input(json: &str) -> Result<Read<ListenInput>, InputError> {
    let mut unknown = Unknown::default();
    let input: ListenInput = parse(json, 0, &mut unknown)?;
    let check = Check { json, notes: 0 };
    check.frames("frames", input.frames)?;
    check.fps("fps", input.fps)?;
    for (at, segment) in input.segments.iter().enumerate() {
        let path = format!("segments[{at}]");
        check.text(&path, &segment.text)?;
        check.times(&path, segment.t0, segment.t1)?;
    }
    let words = input.words.as_deref().unwrap_or_default();
    let spoken = words.len().max(
        input
            .segments
            .iter()
            .map(|s| s.text.split_whitespace().count())
            .sum(),
    );
    if spoken > WORDS_MOST {
        return Err(check.fault(
            "words",
            format!("{spoken} words; at most {WORDS_MOST} are heard"),
        ));
    }
    for (at, (t0, t1, word)) in words.iter().enumerate() {
        let path = format!("words[{at}]");
        check.text(&path, word)?;
        check.times(&path, *t0, *t1)?;
    }
    for (name, list) in [("playhead", &input.playhead), ("strokes", &input.strokes)] {
        for (at, (t, _)) in list.iter().enumerate() {
            if !t.is_finite() || *t < 0.0 {
                return Err(check.fault(&format!("{name}[{at}]"), "a time is 0 seconds or more"));
            }
        }
    }
    Ok(Read { input, unknown })
}

/// Reads JSON, adding the fields that `T` has no place for; `before` lines stand above it.
fn parse<T: DeserializeOwned>(
    json: &str,
    before: usize,
    unknown: &mut Unknown,
) -> Result<T, InputError> {
    let mut reader = serde_json::Deserializer::from_str(json);
    let mut track = serde_path_to_error::Track::new();
    let tracked = serde_path_to_error::Deserializer::new(&mut reader, &mut track);
    let read = serde_ignored::deserialize(tracked, |path| {
        unknown.add(written(&path), |field| before + place::line_of(json, field));
    });
    let value = read.map_err(|fault: serde_json::Error| {
        let path = track.path();
        // Faults of form are told at the place of the value; a fault of syntax has its own line.
        let line = if fault.is_data() {
            place::line(json, &path)
        } else {
            fault.line().max(1)
        };
        InputError::Field {
            line: before + line,
            field: named(&path.to_string()),
            reason: reason(&fault),
        }
    })?;
    reader.end().map_err(|e| InputError::Field {
        line: before + e.line().max(1),
        field: "the whole".into(),
        reason: format!(
            "more follows behind the JSON object, at column {}",
            e.column()
        ),
    })?;
    Ok(value)
}

/// A path as people write it: `shot.revisions[0].span`.
fn written(path: &Path<'_>) -> String {
    match path {
        Path::Root => String::new(),
        Path::Seq { parent, index } => format!("{}[{index}]", written(parent)),
        Path::Map { parent, key } => {
            let before = written(parent);
            let dot = if before.is_empty() { "" } else { "." };
            format!("{before}{dot}{key}")
        }
        Path::Some { parent }
        | Path::NewtypeStruct { parent }
        | Path::NewtypeVariant { parent } => written(parent),
    }
}

fn named(path: &str) -> String {
    if path == "." || path == "?" {
        "the whole".into()
    } else {
        path.into()
    }
}

/// The reason without the place in the file, which is told by itself.
fn reason(fault: &serde_json::Error) -> String {
    let whole = fault.to_string();
    let place = format!(" at line {} column {}", fault.line(), fault.column());
    let short = whole.strip_suffix(&place).unwrap_or(&whole);
    if fault.is_data() {
        short.into()
    } else {
        format!("not JSON: {short} at column {}", fault.column())
    }
}

fn bounded(line: usize, field: &str, text: &str) -> Result<(), InputError> {
    if text.len() <= TEXT_MOST {
        return Ok(());
    }
    Err(InputError::Field {
        line,
        field: field.into(),
        reason: format!(
            "the text has {} bytes; at most {TEXT_MOST} are read",
            text.len()
        ),
    })
}

struct Check<'a> {
    json: &'a str,
    notes: usize,
}

impl Check<'_> {
    /// The line of the value at a written path.
    fn line(&self, path: &str) -> usize {
        place::line_of(self.json, path)
    }

    fn fault(&self, path: &str, reason: impl Into<String>) -> InputError {
        InputError::Field {
            line: self.line(path),
            field: path.into(),
            reason: reason.into(),
        }
    }

    fn text(&self, path: &str, text: &str) -> Result<(), InputError> {
        if text.len() <= TEXT_MOST {
            return Ok(());
        }
        bounded(self.line(path), &format!("{path}.text"), text)
    }

    fn frames(&self, path: &str, frames: i64) -> Result<(), InputError> {
        if (1..=FRAMES_MOST).contains(&frames) {
            return Ok(());
        }
        Err(self.fault(
            path,
            format!("{frames} frames; a shot has 1 to {FRAMES_MOST}"),
        ))
    }

    fn fps(&self, path: &str, fps: f64) -> Result<(), InputError> {
        if fps.is_finite() && fps > 0.0 && fps <= 1000.0 {
            return Ok(());
        }
        Err(self.fault(
            path,
            format!("{fps} frames a second; more than 0, at most 1000"),
        ))
    }

    fn times(&self, path: &str, t0: f64, t1: f64) -> Result<(), InputError> {
        if t0.is_finite() && t1.is_finite() && 0.0 <= t0 && t0 <= t1 {
            return Ok(());
        }
        Err(self.fault(path, format!("from {t0} to {t1} seconds; it begins at 0 or later and ends no sooner than it begins")))
    }

    fn shot(&mut self, path: &str, shot: &Shot) -> Result<(), InputError> {
        self.fps(&format!("{path}.fps"), shot.fps)?;
        let mut last = 0;
        for (at, revision) in shot.revisions.iter().enumerate() {
            let here = format!("{path}.revisions[{at}]");
            if revision.rev <= last {
                return Err(self.fault(
                    &format!("{here}.rev"),
                    format!(
                        "r{} behind r{last}; revisions stand in order, from r1 on",
                        revision.rev
                    ),
                ));
            }
            last = revision.rev;
            self.frames(&format!("{here}.frames"), revision.frames)?;
            for (number, note) in revision.notes.iter().enumerate() {
                self.note(&format!("{here}.notes[{number}]"), note, revision)?;
            }
        }
        for (at, map) in shot.frame_maps.iter().enumerate() {
            if map.to != map.from.saturating_add(1) {
                let reason = format!(
                    "from r{} to r{}; a map leads from one revision to the next",
                    map.from, map.to
                );
                return Err(self.fault(&format!("{path}.frame_maps[{at}]"), reason));
            }
        }
        Ok(())
    }

    fn note(
        &mut self,
        path: &str,
        note: &super::Note,
        revision: &super::Revision,
    ) -> Result<(), InputError> {
        self.notes += 1;
        if self.notes > NOTES_MOST {
            return Err(self.fault(path, format!("more than {NOTES_MOST} notes")));
        }
        self.text(path, &note.text)?;
        let (start, end) = note.span;
        if start < 0 || start > end || end >= revision.frames {
            let (frames, rev) = (revision.frames, revision.rev);
            let reason = format!(
                "[{start}, {end}] is not within the {frames} frames of r{rev}: 0 <= start <= end <= {}",
                frames - 1
            );
            return Err(self.fault(&format!("{path}.span"), reason));
        }
        for (at, part) in note.parts.iter().flatten().enumerate() {
            if parts::find(&part.name).is_none() {
                let name: String = part.name.chars().take(40).collect();
                return Err(self.fault(
                    &format!("{path}.parts[{at}].name"),
                    format!("there is no part called \"{name}\""),
                ));
            }
        }
        for (at, evidence) in note.evidence.iter().enumerate() {
            if !(0.0..=1.0).contains(&evidence.confidence) {
                return Err(self.fault(
                    &format!("{path}.evidence[{at}].confidence"),
                    "a confidence is within 0..1",
                ));
            }
        }
        Ok(())
    }

    fn ids<'s>(
        &self,
        path: &str,
        shot: &'s Shot,
        seen: &mut BTreeSet<&'s str>,
    ) -> Result<(), InputError> {
        for (at, revision) in shot.revisions.iter().enumerate() {
            for (number, note) in revision.notes.iter().enumerate() {
                if !seen.insert(&note.id) {
                    let id: String = note.id.chars().take(60).collect();
                    return Err(self.fault(
                        &format!("{path}.revisions[{at}].notes[{number}].id"),
                        format!("\"{id}\" is the id of another note"),
                    ));
                }
            }
        }
        Ok(())
    }
}
