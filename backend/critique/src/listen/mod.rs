//! Spoken critique to draft notes on the frames that were looked at, for the mentor to accept.

pub mod boundary;
mod cut;
mod frames;
pub mod stream;

use crate::Critic;
use crate::contract::{HeardNote, ListenInput, ListenOutput, Part};
use crate::scan::Scan;
use crate::tag::{Tags, tags};
use crate::words::tokens;
use frames::Frames;
use stream::Stream;

/// Draft notes in order of time.
pub fn listen(critic: &Critic, input: &ListenInput) -> ListenOutput {
    let stream = Stream::new(&critic.lexicon, input);
    let candidates = boundary::candidates(&stream, input);
    let pieces = cut::pieces(critic, &stream, &candidates);
    let frames = Frames::new(input);
    let notes = pieces
        .into_iter()
        .map(|(from, to)| note(critic, &stream, &frames, from, to))
        .collect();
    ListenOutput { notes }
}

/// One note from the words `from..to`.
fn note(critic: &Critic, stream: &Stream, frames: &Frames, from: usize, to: usize) -> HeardNote {
    let words = &stream.words[from..to];
    let text = words
        .iter()
        .map(|w| w.text.as_str())
        .collect::<Vec<_>>()
        .join(" ");
    let scan = Scan::of_tokens(&critic.lexicon, tokens(&text));
    let tags: Tags = tags(&critic.lexicon, &critic.weights, &scan);
    let (t0, t1) = (words[0].t0, words[words.len() - 1].t1);
    let (start, end) = frames.during(t0, t1, &scan);
    HeardNote {
        t0,
        t1,
        start,
        end,
        text,
        kind: tags.kind,
        principles: tags.principles.iter().map(|(p, _)| *p).collect(),
        parts: tags
            .parts
            .iter()
            .take(2)
            .map(|p| Part {
                name: p.name.into(),
                side: p.side,
            })
            .collect(),
    }
}
