//! `refrain track`: follows one point of a clip from clicks, for scripts and people.

use std::fmt::Write as _;
use std::ops::ControlFlow;
use std::path::PathBuf;

use clap::Args;
use media::{Layout, Limits, PrepareError, Probe, Refusal, Sandbox, Size, Wanted};
use motion::track::{Click, Clip, Trace, TraceError, TraceOptions, trace};
use serde::Serialize;

use super::file_shelf::FileShelf;
use super::inputs::{Input, step_down_with};
use super::step_down::StepDownError;
use crate::config::Config;

/// Pixels along the longer side at which points are followed.
const WORK_PX: usize = 640;

/// Frames of a clip that is followed in memory: some 140 MB of 16:9.
const MOST_IN_MEMORY: u32 = 400;

/// Bars of a strip.
const BARS: usize = 64;

/// What `refrain track` is asked.
#[derive(Debug, Args)]
pub(super) struct TrackArgs {
    /// The clip.
    clip: PathBuf,
    /// Where the point is, in pixels of the shown picture from its top left: 312.5,180. Once for each --frame.
    #[arg(long = "point", value_name = "X,Y", required = true, value_parser = point, allow_hyphen_values = true)]
    points: Vec<(f64, f64)>,
    /// On which frame, counted from 0. Once for each --point, in the same order.
    #[arg(long = "frame", value_name = "F", required = true)]
    frames: Vec<usize>,
    /// As JSON, for programs.
    #[arg(long)]
    json: bool,
    /// What the person called the clip, when it was handed on open.
    #[arg(long, hide = true)]
    named: Vec<PathBuf>,
}

impl TrackArgs {
    /// Gives up root's rights, with the clip open.
    pub(super) fn step_down(&self, config: &Config) -> Result<(), StepDownError> {
        let mut rest = vec![];
        for (x, y) in &self.points {
            rest.push(format!("--point={x},{y}"));
        }
        for frame in &self.frames {
            rest.push(format!("--frame={frame}"));
        }
        if self.json {
            rest.push("--json".into());
        }
        let rest: Vec<&str> = rest.iter().map(String::as_str).collect();
        step_down_with(config, "track", &[&self.clip], &rest)
    }
}

/// Why a point was not followed.
#[derive(Debug, thiserror::Error)]
pub(crate) enum TrackFault {
    /// A point without a frame, or the other way round.
    #[error("{points} x --point and {frames} x --frame: give one --frame for each --point")]
    Unpaired {
        /// How many points.
        points: usize,
        /// How many frames.
        frames: usize,
    },
    /// The file is no clip that can be used.
    #[error("{}: {refusal}", path.display())]
    Refused {
        /// The file.
        path: PathBuf,
        /// Why.
        refusal: Refusal,
    },
    /// A still picture in a video's clothes.
    #[error("{}: the clip has one frame; it takes two to follow a point", .0.display())]
    OneFrame(PathBuf),
    /// Decoding was interrupted.
    #[error("{}: {source}", path.display())]
    Decode {
        /// The file.
        path: PathBuf,
        /// Why.
        source: PrepareError,
    },
    /// The file cannot be read.
    #[error("{}: cannot be read: {source}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The clicks do not fit the clip.
    #[error(transparent)]
    Trace(#[from] TraceError),
    /// The system refused something.
    #[error(transparent)]
    System(#[from] std::io::Error),
    /// The answer could not be written.
    #[error("cannot write the answer: {0}")]
    Write(#[from] serde_json::Error),
}

fn point(text: &str) -> Result<(f64, f64), String> {
    let number = |part: &str| part.trim().parse::<f64>().ok().filter(|v| v.is_finite());
    text.split_once(',')
        .and_then(|(x, y)| Some((number(x)?, number(y)?)))
        .ok_or_else(|| "give two numbers with a comma between, as in 312.5,180".into())
}

/// Reads the clip, follows the point and returns what is to be printed.
pub(super) fn run(args: &TrackArgs) -> Result<String, TrackFault> {
    if args.points.len() != args.frames.len() {
        return Err(TrackFault::Unpaired {
            points: args.points.len(),
            frames: args.frames.len(),
        });
    }
    let pairs = args.points.iter().zip(&args.frames);
    let clicks: Vec<Click> = pairs
        .map(|(&(x, y), &frame)| Click { frame, x, y })
        .collect();
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    let named = args.named.first();
    let input = Input::of(&args.clip, named, Limits::default().bytes).map_err(|source| {
        TrackFault::Unreadable {
            path: named.unwrap_or(&args.clip).clone(),
            source,
        }
    })?;
    let clip = runtime.block_on(read(&Sandbox::detect(), &input))?;
    let go_on = &mut |_| ControlFlow::Continue(());
    let traces = trace(&clip, &[clicks], &TraceOptions::default(), go_on)?;
    let Some(trace) = traces.first() else {
        return Err(TraceError::NoClicks.into());
    };
    Ok(if args.json {
        serde_json::to_string(&Answer::of(trace))?
    } else {
        table(trace)
    })
}

/// Decodes a clip at the size points are followed at.
async fn read(sandbox: &Sandbox, input: &Input) -> Result<Clip, TrackFault> {
    let Input { name, path, .. } = input;
    let limits = Limits::default();
    let refused = |refusal| TrackFault::Refused {
        path: name.clone(),
        refusal,
    };
    let probe = media::probe(sandbox, path, &limits)
        .await
        .map_err(refused)?;
    let mut clip = empty_clip(&probe)?;
    let (width, height) = clip.work_size();
    let wanted = Wanted {
        size: Size {
            width: width as u32,
            height: height as u32,
        },
        layout: Layout::Rgb24,
    };
    let mut kept = Ok(());
    let keep = |frame: &[u8]| {
        kept = clip.push_rgb(frame);
        match kept {
            Ok(()) => ControlFlow::Continue(()),
            Err(_) => ControlFlow::Break(()),
        }
    };
    let never = std::future::pending();
    let read = media::frames(sandbox, path, &probe, &limits, wanted, keep, never).await;
    kept?;
    read.map_err(|source| match source {
        PrepareError::ForGood(refusal) => refused(refusal),
        source => TrackFault::Decode {
            path: name.clone(),
            source,
        },
    })?;
    if clip.len() == 1 {
        return Err(TrackFault::OneFrame(name.clone()));
    }
    Ok(clip)
}

/// A clip without frames; those of a long one are kept in a file without a name.
fn empty_clip(probe: &Probe) -> Result<Clip, TrackFault> {
    let [width, height] = [probe.shown.width, probe.shown.height].map(|side| side as usize);
    if probe.packets <= MOST_IN_MEMORY {
        return Ok(Clip::new(width, height, WORK_PX));
    }
    let file = FileShelf::new()?;
    Ok(Clip::on(Box::new(file), width, height, WORK_PX))
}

#[derive(Serialize)]
struct Answer {
    frames: Vec<Row>,
}

#[derive(Serialize)]
struct Row {
    frame: usize,
    x: f64,
    y: f64,
    confidence: f64,
    lost: bool,
}

/// So many decimals: more would only pretend.
fn short(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    (value * scale).round() / scale
}

impl Answer {
    fn of(trace: &Trace) -> Self {
        let rows = trace.points.iter().enumerate().map(|(frame, p)| Row {
            frame,
            x: short(p.x, 2),
            y: short(p.y, 2),
            confidence: short(p.confidence, 3),
            lost: p.lost,
        });
        Self {
            frames: rows.collect(),
        }
    }
}

/// A table of seen and lost stretches, a strip of the confidence and the frame where one more click helps most.
fn table(trace: &Trace) -> String {
    let seen = trace.points.iter().filter(|p| !p.lost).count();
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(out, "seen on {seen} of {} frames\n", trace.points.len());
    let _ = writeln!(
        out,
        "{:>11}  {:>15}  {:>15}  {:>4}",
        "frames", "from", "to", "sure"
    );
    let mut first = 0;
    for stretch in trace.points.chunk_by(|a, b| a.lost == b.lost) {
        let last = first + stretch.len() - 1;
        let frames = format!("{first}-{last}");
        let place = |p: &motion::track::TracePoint| format!("{:.1},{:.1}", p.x, p.y);
        let line = match (stretch, stretch.last()) {
            ([from, ..], Some(to)) if !from.lost => {
                let sum: f64 = stretch.iter().map(|p| p.confidence).sum();
                let sure = (sum / stretch.len() as f64 * 100.0).round();
                format!(
                    "{frames:>11}  {:>15}  {:>15}  {sure:>3}%",
                    place(from),
                    place(to)
                )
            }
            _ => format!("{frames:>11}  {:>15}", "lost"),
        };
        let _ = writeln!(out, "{line}");
        first = last + 1;
    }
    let _ = write!(out, "\nsure  {}", strip(trace));
    if let Some(frame) = trace.next_click() {
        let _ = write!(out, "\nOne more point would help most on frame {frame}.");
    }
    out
}

/// The confidence as a row of bars, each the mean of some frames; a dot where all of them are lost.
fn strip(trace: &Trace) -> String {
    const HEIGHTS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
    let width = trace.points.len().div_ceil(BARS).max(1);
    trace
        .points
        .chunks(width)
        .map(|some| {
            let seen: Vec<f64> = some
                .iter()
                .filter(|p| !p.lost)
                .map(|p| p.confidence)
                .collect();
            if seen.is_empty() {
                return '·';
            }
            let mean = seen.iter().sum::<f64>() / seen.len() as f64;
            HEIGHTS[(mean.clamp(0.0, 1.0) * 7.0).round() as usize]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use motion::track::TracePoint;

    fn made(seen: &[bool]) -> Trace {
        let at = |(i, &seen): (usize, &bool)| TracePoint {
            x: i as f64,
            y: 2.0,
            confidence: if seen { 1.0 } else { 0.1 },
            lost: !seen,
        };
        Trace {
            clicks: vec![Click {
                frame: 0,
                x: 0.0,
                y: 2.0,
            }],
            points: seen.iter().enumerate().map(at).collect(),
        }
    }

    #[test]
    fn a_point_is_two_finite_numbers() {
        assert_eq!(point("3, 4.5"), Ok((3.0, 4.5)));
        for wrong in ["3", "3;4", "NaN,1", "1,inf", ""] {
            assert!(point(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn stretches_and_gaps_are_told_apart() {
        let trace = made(&[true, true, false, true]);
        let table = table(&trace);
        assert!(table.starts_with("seen on 3 of 4 frames"), "{table}");
        assert!(table.contains("0-1") && table.contains("lost"), "{table}");
        assert_eq!(strip(&trace), "██·█");
    }

    #[test]
    fn the_answer_has_a_row_for_every_frame() {
        let json = serde_json::to_value(Answer::of(&made(&[true, false]))).unwrap();
        assert_eq!(
            json["frames"][1],
            serde_json::json!({"frame": 1, "x": 1.0, "y": 2.0, "confidence": 0.1, "lost": true})
        );
    }
}
