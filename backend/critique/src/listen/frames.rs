//! The frames that were looked at while something was said.

use crate::contract::ListenInput;
use crate::lexicon::Cue;
use crate::scan::Scan;

/// The middle of the time spent on frames: what lies outside is coming and going.
const MIDDLE: (f64, f64) = (0.12, 0.88);

/// Words for the whole shot.
const WHOLE: &[&str] = &["overall", "throughout", "everywhere"];

/// Where the playhead stood, and where strokes were drawn.
pub(super) struct Frames<'a> {
    input: &'a ListenInput,
    steps: Vec<(f64, f64)>,
}

impl<'a> Frames<'a> {
    pub fn new(input: &'a ListenInput) -> Frames<'a> {
        let mut steps = input.playhead.clone();
        steps.sort_by(|a, b| a.0.total_cmp(&b.0));
        Frames { input, steps }
    }

    /// First and last frame of what was said from `t0` to `t1`.
    pub fn during(&self, t0: f64, t1: f64, scan: &Scan) -> (i64, i64) {
        let last = self.input.frames - 1;
        if scan.tokens.iter().any(|t| WHOLE.contains(&t.text.as_str())) && !scan.has(Cue::Simile) {
            return (0, last);
        }
        let mut seen = self.dwell(t0, t1);
        for (_, frame) in self.input.strokes.iter().filter(|s| s.0 >= t0 && s.0 <= t1) {
            seen.push((*frame, 0.5));
        }
        seen.sort_by(|a, b| a.0.total_cmp(&b.0));
        let bounded = |frame: f64| {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "rounded, and held within the shot"
            )]
            let frame = frame.round().clamp(0.0, 1e9) as i64;
            frame.clamp(0, last)
        };
        match (quantile(&seen, MIDDLE.0), quantile(&seen, MIDDLE.1)) {
            (Some(start), Some(end)) => (bounded(start), bounded(end)),
            _ => (0, last),
        }
    }

    /// Frames with the seconds spent on each.
    fn dwell(&self, t0: f64, t1: f64) -> Vec<(f64, f64)> {
        let first = self.steps.partition_point(|s| s.0 <= t0).saturating_sub(1);
        let mut seen = vec![];
        for (at, (t, frame)) in self.steps.iter().enumerate().skip(first) {
            if *t > t1 {
                break;
            }
            let until = self.steps.get(at + 1).map_or(t1, |next| next.0.min(t1));
            seen.push((*frame, (until - t.max(t0)).max(0.0)));
        }
        seen
    }
}

fn quantile(seen: &[(f64, f64)], share: f64) -> Option<f64> {
    let whole: f64 = seen.iter().map(|s| s.1).sum();
    let mut sum = 0.0;
    for (frame, weight) in seen {
        sum += weight;
        if sum >= share * whole {
            return Some(*frame);
        }
    }
    seen.last().map(|s| s.0)
}
