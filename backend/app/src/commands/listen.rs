//! `refrain listen`: spoken critique to draft notes.

use std::process::ExitCode;

use critique::contract::read::listen_input;
use critique::contract::words;

use super::standard::compute;

/// Timed words, playhead and strokes in; draft notes out.
pub(super) fn listen(json: bool) -> ExitCode {
    compute(|critic, input| {
        let answer = critique::listen(critic, &listen_input(input)?);
        Ok(if json {
            serde_json::to_string(&answer)? + "\n"
        } else {
            words::heard(&answer)
        })
    })
}
