//! `refrain measure`: traces in, findings or verdicts out.

mod table;

use std::io::Read;

use motion::measure::Limits;
use motion::measure::json::{CompareRequest, Fault, MeasureRequest};
use serde::de::DeserializeOwned;

/// Longest request, in bytes: 64 traces of some ten thousand frames.
const MOST_BYTES: u64 = 64 << 20;

/// What the command line gives.
#[derive(Debug, Clone, Copy, clap::Args)]
pub struct MeasureArgs {
    /// Compare two revisions instead.
    #[arg(long)]
    compare: bool,
    /// As JSON, for programs.
    #[arg(long)]
    json: bool,
}

/// What is wrong with a request.
#[derive(Debug, thiserror::Error)]
pub enum RequestFault {
    /// Standard input broke off.
    #[error("cannot read the request: {0}")]
    Unreadable(#[from] std::io::Error),
    /// Too much of it.
    #[error("the request is longer than {} MiB", MOST_BYTES >> 20)]
    TooLong,
    /// Nothing on standard input.
    #[error("the request is empty; give it on standard input")]
    Empty,
    /// Not JSON, or not of the form that is asked for.
    #[error("line {line}, column {column}: {field}{reason}")]
    Form {
        /// From 1.
        line: usize,
        /// From 1.
        column: usize,
        /// The field and a colon; empty for the whole.
        field: String,
        /// What is wrong there.
        reason: String,
    },
    /// A field out of its range.
    #[error(transparent)]
    Field(#[from] Fault),
    /// The answer cannot be written.
    #[error("cannot write the answer: {0}")]
    Answer(serde_json::Error),
}

/// Reads a request of one of the two forms; says line, column and field of what is wrong.
fn parse<T: DeserializeOwned>(text: &str) -> Result<T, RequestFault> {
    let mut reader = serde_json::Deserializer::from_str(text);
    let form = |path: String, fault: &serde_json::Error| {
        let whole = fault.to_string();
        let place = format!(" at line {} column {}", fault.line(), fault.column());
        RequestFault::Form {
            line: fault.line(),
            column: fault.column(),
            // What stands before the first field has no name.
            field: if path == "." || path == "?" {
                String::new()
            } else {
                format!("{path}: ")
            },
            reason: whole.strip_suffix(&place).unwrap_or(&whole).to_owned(),
        }
    };
    let request = serde_path_to_error::deserialize(&mut reader)
        .map_err(|e| form(e.path().to_string(), e.inner()))?;
    reader.end().map_err(|e| form(".".to_owned(), &e))?;
    Ok(request)
}

fn read(input: impl Read) -> Result<String, RequestFault> {
    let mut text = String::new();
    input.take(MOST_BYTES + 1).read_to_string(&mut text)?;
    match text.len() as u64 {
        long if long > MOST_BYTES => Err(RequestFault::TooLong),
        _ if text.trim().is_empty() => Err(RequestFault::Empty),
        _ => Ok(text),
    }
}

/// Answers the request on `input`, as JSON or as a table.
pub fn answer(input: impl Read, args: MeasureArgs) -> Result<String, RequestFault> {
    let text = read(input)?;
    let limits = Limits::default();
    if args.compare {
        let request: CompareRequest = parse(&text)?;
        let answer = request.answer(&limits)?;
        if args.json {
            return serde_json::to_string(&answer).map_err(RequestFault::Answer);
        }
        return Ok(table::verdicts(&request, &answer, &limits));
    }
    let request: MeasureRequest = parse(&text)?;
    let answer = request.answer(&limits)?;
    if args.json {
        return serde_json::to_string(&answer).map_err(RequestFault::Answer);
    }
    Ok(table::findings(&request, &answer, &limits))
}

#[cfg(test)]
mod tests {
    use super::*;

    const JSON: MeasureArgs = MeasureArgs {
        compare: false,
        json: true,
    };

    fn said(text: &str, args: MeasureArgs) -> String {
        match answer(text.as_bytes(), args) {
            Ok(answer) => answer,
            Err(fault) => format!("refused: {fault}"),
        }
    }

    #[test]
    fn what_is_wrong_is_named_with_line_and_field() {
        for (text, expected) in [
            ("", "the request is empty; give it on standard input"),
            (
                "{\n \"fps\": 24,\n \"height_px\": -3, \"traces\": {}}",
                "line 3, column 16: height_px: -3 is not within 1 and 1000000",
            ),
            (
                "{\"fps\": 24, \"height_px\": 200,\n \"traces\": {\"head\": [[1, 2, 1], [1, 2, 7]]}}",
                "line 2, column 42: traces.head[1]: a place is within 1000000 pixels and its confidence within 0 and 1",
            ),
            (
                "{\"fps\": 24, \"height_px\": 200, \"traces\": {\"head\": [], \"head\": []}}",
                "line 1, column 59: traces: head is given twice",
            ),
            (
                "{\"fps\": 24, \"height_px\": 200, \"traces\": {}, \"at\": [{\"measure\": \"pops\", \"part\": \"head\", \"start\": 0, \"end\": 0}]}",
                "line 1, column 69: at[0].measure: unknown variant `pops`",
            ),
            (
                "{\"fps\": 24, \"height_px\": 200, \"traces\": {\"head\": [null]}, \"at\": [{\"measure\": \"pop\", \"part\": \"head\", \"start\": 0, \"end\": 1}]}",
                "at[0].end: there is no frame 1, the traces have 1",
            ),
        ] {
            let said = said(text, JSON);
            assert!(said.starts_with(&format!("refused: {expected}")), "{said}");
        }
    }

    #[test]
    fn a_jump_is_found_in_json_and_in_the_table() {
        let places: Vec<String> = (0..60)
            .map(|f| {
                let x = 100.0 + 60.0 * (f64::from(f) / 9.0).sin() + if f == 30 { 9.0 } else { 0.0 };
                format!("[{x}, 80, 1]")
            })
            .collect();
        let request = format!(
            "{{\"fps\": 24, \"height_px\": 200, \"traces\": {{\"ball\": [{}]}}}}",
            places.join(",")
        );
        let json: serde_json::Value =
            serde_json::from_str(&said(&request, JSON)).unwrap_or_default();
        assert_eq!(json["findings"][0]["measure"], "pop");
        assert_eq!(json["findings"][0]["start"], 30);
        let table = said(
            &request,
            MeasureArgs {
                json: false,
                ..JSON
            },
        );
        let line = table
            .lines()
            .find(|l| l.starts_with("pop"))
            .unwrap_or_default();
        assert!(
            line.contains("ball") && line.contains("30") && line.contains('█'),
            "{table}"
        );
    }
}
