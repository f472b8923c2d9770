//! Where one spoken note may end and the next begin, and how likely that is.

use super::stream::{Here, Stream};
use crate::contract::ListenInput;
use crate::lexicon::Cue;

/// A pause from which a cut is thought of, in seconds.
const PAUSE: f64 = 0.25;
/// Words looked at before a cut.
const BEFORE: usize = 22;
/// Words looked at behind it.
const BEHIND: usize = 14;
/// The playhead is looked at from so long before a cut to so long behind it, in seconds.
const LOOK: (f64, f64) = (1.2, 1.6);

/// A place before a word where a cut is thought of.
#[derive(Clone, Debug)]
pub struct Candidate {
    /// The word behind the cut.
    pub word: usize,
    /// What speaks for a cut and against it, by name.
    pub features: Vec<(&'static str, f64)>,
}

/// Every place where a cut is thought of, in order.
pub fn candidates(stream: &Stream, input: &ListenInput) -> Vec<Candidate> {
    let playhead = Playhead::new(input);
    (1..stream.words.len())
        .filter(|word| is_candidate(stream, *word))
        .map(|word| Candidate {
            word,
            features: features(stream, &playhead, word),
        })
        .collect()
}

fn pause(stream: &Stream, word: usize) -> f64 {
    stream.words[word].t0 - stream.words[word - 1].t1
}

fn is_candidate(stream: &Stream, word: usize) -> bool {
    stream.words[word].begins
        || pause(stream, word) > PAUSE
        || begins_with(stream, word, Cue::Opener) > 0
}

/// Words of the turn of phrase that begins here, or none.
fn begins_with(stream: &Stream, word: usize, cue: Cue) -> usize {
    stream.here[word]
        .cues
        .iter()
        .filter(|(c, _)| *c == cue)
        .map(|(_, words)| *words)
        .max()
        .unwrap_or(0)
}

fn features(stream: &Stream, playhead: &Playhead, word: usize) -> Vec<(&'static str, f64)> {
    let flag = |yes: bool| f64::from(u8::from(yes));
    let left = &stream.here[word.saturating_sub(BEFORE)..word];
    let right = &stream.here[word..(word + BEHIND).min(stream.here.len())];
    let pause = pause(stream, word);
    let moved = playhead.moved(stream.words[word].t0);
    let opener = begins_with(stream, word, Cue::Opener);
    let (new_trait, same_trait) =
        fresh(left, right, |h| h.traits.iter().map(|(t, _)| *t).collect());
    let (new_part, same_part) = fresh(left, right, |h| h.parts.iter().map(|(p, _)| *p).collect());
    let kind = |list: &[Here]| tone(list);
    let (tone_left, tone_right) = (kind(left), kind(right));
    let cue =
        |list: &[Here], cue: Cue| flag(list.iter().any(|h| h.cues.iter().any(|(c, _)| *c == cue)));
    vec![
        ("pause", pause.clamp(0.0, 1.5)),
        ("pause_long", flag(pause > 0.8)),
        ("jump", flag(moved > 2.0)),
        ("jump_far", (moved / 40.0).min(1.0)),
        ("opener", flag(opener > 0)),
        ("opener_long", flag(opener > 1)),
        ("cont", flag(begins_with(stream, word, Cue::Continue) > 0)),
        ("segstart", flag(stream.words[word].begins)),
        ("newpart", new_part),
        ("samepart", same_part),
        ("newtrait", new_trait),
        ("sametrait", same_trait),
        ("kindflip", flag(tone_left * tone_right < 0.0)),
        (
            "lexdist",
            distance(
                &stream.principles(word.saturating_sub(BEFORE), word),
                &stream.principles(word, (word + BEHIND).min(stream.here.len())),
            ),
        ),
        (
            "content_left",
            flag(
                left.iter()
                    .any(|h| !h.traits.is_empty() || !h.parts.is_empty()),
            ),
        ),
        (
            "content_right",
            flag(
                right
                    .iter()
                    .any(|h| !h.traits.is_empty() || !h.parts.is_empty()),
            ),
        ),
        (
            "chatter_right",
            cue(&right[..right.len().min(4)], Cue::Chatter),
        ),
        (
            "chatter_left",
            cue(&left[left.len().saturating_sub(4)..], Cue::Chatter),
        ),
        ("aside", flag(opener == 0 && pause <= PAUSE)),
    ]
}

/// Whether the right side names something the left does not, and whether both name the same.
fn fresh<T: PartialEq>(
    left: &[Here],
    right: &[Here],
    named: impl Fn(&Here) -> Vec<T>,
) -> (f64, f64) {
    let all = |list: &[Here]| list.iter().flat_map(&named).collect::<Vec<T>>();
    let (before, behind) = (all(left), all(right));
    let same = behind.iter().any(|b| before.contains(b));
    let new = behind.iter().any(|b| !before.contains(b)) && !before.is_empty();
    (f64::from(u8::from(new)), f64::from(u8::from(same)))
}

/// Above zero: praise; below: something hurts.
fn tone(list: &[Here]) -> f64 {
    let count = |cue: Cue| {
        list.iter()
            .flat_map(|h| &h.cues)
            .filter(|(c, _)| *c == cue)
            .count()
    };
    let faults = list.iter().map(|h| h.traits.len()).sum::<usize>();
    let small = |n: usize| f64::from(u32::try_from(n).unwrap_or(u32::MAX));
    small(count(Cue::Praise)) - small(count(Cue::Request)) - small(faults)
}

/// One less the cosine; zero when either side says nothing.
fn distance(a: &[f64], b: &[f64]) -> f64 {
    let dot = |x: &[f64], y: &[f64]| x.iter().zip(y).map(|(p, q)| p * q).sum::<f64>();
    let norm = (dot(a, a) * dot(b, b)).sqrt();
    if norm > 0.0 {
        1.0 - dot(a, b) / norm
    } else {
        0.0
    }
}

struct Playhead {
    steps: Vec<(f64, f64)>,
}

impl Playhead {
    fn new(input: &ListenInput) -> Playhead {
        let mut steps = input.playhead.clone();
        steps.sort_by(|a, b| a.0.total_cmp(&b.0));
        Playhead { steps }
    }

    /// How many frames it moved around a moment.
    fn moved(&self, t: f64) -> f64 {
        let from = self
            .steps
            .partition_point(|s| s.0 <= t - LOOK.0)
            .saturating_sub(1);
        let to = self.steps.partition_point(|s| s.0 <= t + LOOK.1);
        let seen = self.steps[from.min(to)..to].iter().map(|s| s.1);
        let (low, high) = seen.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), f| {
            (l.min(f), h.max(f))
        });
        (high - low).max(0.0)
    }
}
