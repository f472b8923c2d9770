//! The 95th percentile of each measure's candidates in clean motion: what stands behind `Measure::clean_p95`.
//!
//! Reads requests of `refrain measure`, one a line, and prints `measure<TAB>p95<TAB>candidates<TAB>median milliseconds a trace`.

use std::io::{BufRead, Write};
use std::time::Instant;

use motion::measure::json::MeasureRequest;
use motion::measure::{Limits, Measure, findings};

/// The limits that leave every candidate a finding.
fn open() -> Limits {
    let mut limits = Limits::default();
    limits.jump.limit = 0.0;
    limits.stop.limit = 0.0;
    limits.settle.limit = 0.0;
    limits.arc.limit = 0.0;
    limits.spacing.limit = 0.0;
    limits.step.limit = -1.0;
    limits.block.limit = 0.0;
    limits.pinned.limit = -9.0;
    limits.slide.limit = 0.0;
    limits.stomp.limit = 0.0;
    limits.lift.limit = 0.0;
    limits.limb.limit = 0.0;
    limits.hips.limit = -9.0;
    limits
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut values: Vec<(Measure, f64)> = vec![];
    let mut costs: Vec<f64> = vec![];
    for line in std::io::stdin().lock().lines() {
        let request: MeasureRequest = serde_json::from_str(&line?)?;
        let recording = request.recording();
        values.extend(
            findings(&recording, &open())
                .iter()
                .map(|f| (f.measure, f.value)),
        );
        let begun = Instant::now();
        let found = findings(&recording, &Limits::default());
        costs.push(begun.elapsed().as_secs_f64() * 1000.0 / recording.traces.len().max(1) as f64);
        drop(found);
    }
    costs.sort_by(f64::total_cmp);
    let mut out = std::io::stdout().lock();
    for measure in Measure::ALL {
        let mut of: Vec<f64> = values
            .iter()
            .filter(|(m, _)| *m == measure)
            .map(|(_, v)| *v)
            .collect();
        of.sort_by(f64::total_cmp);
        let p95 = of.get(of.len() * 95 / 100).copied().unwrap_or(f64::NAN);
        writeln!(out, "{measure}\t{p95:.3}\t{} candidates", of.len())?;
    }
    writeln!(
        out,
        "findings\t{:.3}\tms a trace, median",
        costs.get(costs.len() / 2).copied().unwrap_or(f64::NAN)
    )?;
    Ok(())
}
