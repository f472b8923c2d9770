//! `refrain listen`: spoken critique to draft notes.

use std::process::ExitCode;

use critique::contract::read::listen_input;
use critique::contract::words;

use super::standard::compute;

/// Timed words, playhead and strokes in; draft notes out.
pub(super) fn listen(json: bool) -> ExitCode {
    compute(|critic, input| {
        let read = listen_input(input)?;
        let answer = critique::listen(critic, &read.input);
        let whole = if json {
            serde_json::to_string(&answer)? + "\n"
        } else {
            words::heard(&answer)
        };
        Ok((whole, read.unknown))
    })
}
