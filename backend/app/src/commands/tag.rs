//! `refrain tag`: what notes say.

use std::process::ExitCode;

use critique::contract::read::tag_lines;
use critique::contract::{TagOutput, words};

use super::standard::compute;

/// One JSON object a line in; one a line out, or a line of words.
pub(super) fn tag(json: bool) -> ExitCode {
    compute(|critic, input| {
        let mut whole = String::new();
        let read = tag_lines(input)?;
        for note in read.input {
            let tags = TagOutput::new(note.id, &critic.tag(&note.text));
            whole += &if json {
                serde_json::to_string(&tags)?
            } else {
                words::tags(&tags)
            };
            whole.push('\n');
        }
        Ok((whole, read.unknown))
    })
}
