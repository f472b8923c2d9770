//! `refrain match`: which notes recur.

use std::process::ExitCode;

use critique::contract::read::match_input;
use critique::contract::words;

use super::standard::compute;

/// A shot with its student's earlier ones in; links and concerns out.
pub(super) fn match_notes(json: bool) -> ExitCode {
    compute(|critic, input| {
        let read = match_input(input)?;
        let answer = critique::match_shot(critic, &read.input);
        let whole = if json {
            serde_json::to_string(&answer)? + "\n"
        } else {
            words::matches(&answer)
        };
        Ok((whole, read.unknown))
    })
}
