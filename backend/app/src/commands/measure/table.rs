//! Findings and verdicts for a person: a line each, with a strip of the spacing about it.

use std::fmt::Write as _;

use motion::measure::json::{CompareAnswer, CompareRequest, MeasureAnswer, MeasureRequest};
use motion::measure::{Limits, Place, spacing};
use motion::trace::Recording;

const BLOCKS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
/// Frames about a span that its strip shows.
const AROUND: usize = 6;
/// Longest strip; a longer span is cut.
const WIDEST: usize = 48;

/// The way covered into each frame about the span as a row of bars, the span between `│`; lost frames are `·`.
fn strip(recording: &Recording, part: &str, start: usize, end: usize, limits: &Limits) -> String {
    let Some(gaps) = spacing(recording, part, limits) else {
        return String::new();
    };
    let from = start.saturating_sub(AROUND);
    let to = (end + AROUND + 1).min(gaps.len()).min(from + WIDEST);
    let shown = gaps.get(from..to).unwrap_or_default();
    let most = shown
        .iter()
        .copied()
        .filter(|g| g.is_finite())
        .fold(0.0, f64::max);
    let mut strip = String::new();
    for (f, gap) in (from..).zip(shown) {
        if f == start {
            strip.push('│');
        }
        strip.push(if gap.is_finite() {
            BLOCKS[if most > 0.0 {
                (gap / most * 7.0).round() as usize
            } else {
                0
            }
            .min(7)]
        } else {
            '·'
        });
        if f == end {
            strip.push('│');
        }
    }
    strip
}

fn frames(start: usize, end: usize) -> String {
    if start == end {
        start.to_string()
    } else {
        format!("{start}-{end}")
    }
}

fn number(value: Option<f64>) -> String {
    value.map_or_else(|| "-".to_owned(), |v| format!("{v:.3}"))
}

fn asked(
    out: &mut String,
    request: &MeasureRequest,
    answer: &MeasureAnswer,
    recording: &Recording,
    limits: &Limits,
) {
    for (place, value) in request.at.iter().flatten().zip(&answer.at) {
        let Place {
            measure,
            part,
            start,
            end,
        } = place;
        let told = match &value.cannot_tell {
            Some(reason) => format!("cannot tell: {reason}"),
            None => format!(
                "{} ± {} {}",
                number(value.value),
                number(value.sd),
                measure.unit()
            ),
        };
        let strip = strip(recording, part, *start, *end, limits);
        let _ = writeln!(
            out,
            "{measure:<15}{part:<16}{:<10}{told}  {strip}",
            frames(*start, *end)
        );
    }
}

/// The findings and the values asked for, a line each.
pub(super) fn findings(
    request: &MeasureRequest,
    answer: &MeasureAnswer,
    limits: &Limits,
) -> String {
    let recording = request.recording();
    let mut out = format!(
        "{} frames, {} traces\n",
        recording.frames(),
        recording.traces.len()
    );
    if answer.findings.is_empty() {
        out.push_str("\nnothing found\n");
    } else {
        let _ = writeln!(
            out,
            "\n{:<15}{:<16}{:<10}{:>8}{:>8}{:>8}{:>6}  {:<13}spacing",
            "measure", "part", "frames", "value", "limit", "clean", "sure", "unit"
        );
    }
    for f in &answer.findings {
        let strip = strip(&recording, &f.part, f.start, f.end, limits);
        let (limit, unit) = (limits.of(f.measure), f.unit);
        let _ = writeln!(
            out,
            "{:<15}{:<16}{:<10}{:>8.3}{limit:>8.3}{:>8.3}{:>6.2}  {unit:<13}{strip}",
            f.measure,
            f.part,
            frames(f.start, f.end),
            f.value,
            f.clean_p95,
            f.confidence
        );
    }
    if !answer.at.is_empty() {
        out.push_str("\nasked\n");
        asked(&mut out, request, answer, &recording, limits);
    }
    out.trim_end().to_owned()
}

/// The verdicts, three lines each: verdict and reason, the spacing before, the spacing after.
pub(super) fn verdicts(
    request: &CompareRequest,
    answer: &CompareAnswer,
    limits: &Limits,
) -> String {
    let (before, after) = (request.before.recording(), request.after.recording());
    let mut out = String::new();
    for (place, told) in request.at.iter().zip(&answer.verdicts) {
        let verdict = match told.verdict {
            motion::measure::Verdict::Better => "better",
            motion::measure::Verdict::Worse => "worse",
            motion::measure::Verdict::Same => "same",
            motion::measure::Verdict::CannotTell => "cannot tell",
        };
        let _ = writeln!(
            out,
            "{:<15}{:<16}{verdict}: {}",
            place.measure, place.part, told.why
        );
        let old = strip(&before, &place.part, place.start, place.end, limits);
        let _ = writeln!(
            out,
            "  before {:<10}{:>8}  {old}",
            frames(place.start, place.end),
            number(told.before)
        );
        if let Some((start, end)) = told.frames {
            let new = strip(&after, &place.part, start, end, limits);
            let _ = writeln!(
                out,
                "  after  {:<10}{:>8}  {new}",
                frames(start, end),
                number(told.after)
            );
        }
    }
    if out.is_empty() {
        out.push_str("nothing was asked about");
    }
    out.trim_end().to_owned()
}
