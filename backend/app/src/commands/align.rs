//! `refrain align`: lays one clip on another, for scripts and people.

use std::fmt::Write as _;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use clap::Args;
use media::{Layout, Limits, PrepareError, Refusal, Sandbox, Size, Wanted};
use motion::align::{AlignError, AlignOptions, Alignment, align};
use motion::change::grid::{COLUMNS, ROWS};
use motion::frame_map::stretch::{Stretch, stretches};
use motion::reel::{HEIGHT, PICTURE_BYTES, Reel, WIDTH};
use serde::Serialize;

use super::inputs::{Input, step_down_with};
use super::step_down::StepDownError;
use crate::config::Config;

/// What `refrain align` is asked.
#[derive(Debug, Args)]
pub(super) struct AlignArgs {
    /// The earlier clip.
    old: PathBuf,
    /// The later clip.
    new: PathBuf,
    /// As JSON, for programs: frames are counted from 0.
    #[arg(long)]
    json: bool,
    /// What the person called each file, when it was handed on open.
    #[arg(long, hide = true)]
    named: Vec<PathBuf>,
}

impl AlignArgs {
    /// Gives up root's rights, with both files open.
    pub(super) fn step_down(&self, config: &Config) -> Result<(), StepDownError> {
        let rest: &[&str] = if self.json { &["--json"] } else { &[] };
        step_down_with(config, "align", &[&self.old, &self.new], rest)
    }
}

/// Why two clips were not laid on each other.
#[derive(Debug, thiserror::Error)]
pub(crate) enum AlignFault {
    /// A file is no clip that can be used.
    #[error("{}: {refusal}", path.display())]
    Refused {
        /// The file.
        path: PathBuf,
        /// Why.
        refusal: Refusal,
    },
    /// A file cannot be read.
    #[error("{}: cannot be read: {source}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A still picture in a video's clothes.
    #[error("{}: the clip has one frame; it takes two to compare movement", .0.display())]
    OneFrame(PathBuf),
    /// Decoding was interrupted.
    #[error("{}: {source}", path.display())]
    Decode {
        /// The file.
        path: PathBuf,
        /// Why.
        source: PrepareError,
    },
    /// The clips could not be compared.
    #[error(transparent)]
    Align(#[from] AlignError),
    /// The system refused something.
    #[error(transparent)]
    System(#[from] std::io::Error),
    /// The answer could not be written.
    #[error("cannot write the answer: {0}")]
    Write(#[from] serde_json::Error),
}

/// Reads both clips and returns what is to be printed.
pub(super) fn run(args: &AlignArgs) -> Result<String, AlignFault> {
    let sandbox = Sandbox::detect();
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    let (old, new) = runtime.block_on(async {
        let old = reel(&sandbox, &args.old, args.named.first()).await?;
        let new = reel(&sandbox, &args.new, args.named.get(1)).await?;
        Ok::<_, AlignFault>((old, new))
    })?;
    let done = align(&old, &new, &AlignOptions::default(), &mut |_| {
        ControlFlow::Continue(())
    })?;
    Ok(if args.json {
        serde_json::to_string(&Answer::of(&done))?
    } else {
        table(&done)
    })
}

/// Decodes a clip at the size maps are worked out at.
async fn reel(sandbox: &Sandbox, path: &Path, named: Option<&PathBuf>) -> Result<Reel, AlignFault> {
    let limits = Limits::default();
    let Input { name, path, .. } =
        &Input::of(path, named, limits.bytes).map_err(|source| AlignFault::Unreadable {
            path: named.map_or(path, PathBuf::as_path).to_owned(),
            source,
        })?;
    let probe = media::probe(sandbox, path, &limits)
        .await
        .map_err(|refusal| AlignFault::Refused {
            path: name.clone(),
            refusal,
        })?;
    let mut reel = Reel::for_frames(probe.packets as usize);
    let wanted = Wanted {
        size: Size {
            width: WIDTH as u32,
            height: HEIGHT as u32,
        },
        layout: Layout::Planar420,
    };
    debug_assert_eq!(wanted.frame_bytes(), PICTURE_BYTES);
    let keep = |frame: &[u8]| match reel.push(frame) {
        Ok(()) => ControlFlow::Continue(()),
        Err(_) => ControlFlow::Break(()),
    };
    let never = std::future::pending();
    media::frames(sandbox, path, &probe, &limits, wanted, keep, never)
        .await
        .map_err(|source| match source {
            PrepareError::ForGood(refusal) => AlignFault::Refused {
                path: name.clone(),
                refusal,
            },
            source => AlignFault::Decode {
                path: name.clone(),
                source,
            },
        })?;
    if reel.len() == 1 {
        return Err(AlignFault::OneFrame(name.clone()));
    }
    Ok(reel)
}

#[derive(Serialize)]
struct Answer {
    old_frames: usize,
    new_frames: usize,
    map: Vec<MapRow>,
    change: Vec<ChangeRow>,
    grid: [usize; 2],
}

#[derive(Serialize)]
struct MapRow {
    new: usize,
    old: Option<f64>,
    confidence: f64,
}

#[derive(Serialize)]
struct ChangeRow {
    new: usize,
    value: f64,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    cells: Vec<f64>,
}

/// Four decimals: more would only pretend.
fn short(value: f32) -> f64 {
    (f64::from(value) * 1e4).round() / 1e4
}

impl Answer {
    fn of(done: &Alignment) -> Self {
        let map = done.map.places.iter().enumerate();
        let change = done.changes.iter().enumerate();
        Self {
            old_frames: done.map.old_frames,
            new_frames: done.map.places.len(),
            map: map
                .map(|(new, place)| MapRow {
                    new,
                    old: place.old.map(short),
                    confidence: short(place.confidence),
                })
                .collect(),
            change: change
                .map(|(new, change)| ChangeRow {
                    new,
                    value: short(change.value),
                    cells: change.cells.iter().map(|&c| short(c)).collect(),
                })
                .collect(),
            grid: [COLUMNS, ROWS],
        }
    }
}

/// A table of stretches, and strips of the map and of what changed.
fn table(done: &Alignment) -> String {
    let mut out = String::new();
    let (old, new) = (done.map.old_frames, done.map.places.len());
    // Writing to a string cannot fail.
    let _ = writeln!(out, "{new} new frames on {old} old ones\n");
    if done.nothing_in_common {
        let _ = writeln!(out, "These two clips have nothing in common.\n");
    }
    let _ = writeln!(
        out,
        "{:>11}  {:>13}  {:>5}  {:>4}  {:>7}",
        "new", "old", "speed", "sure", "changed"
    );
    for stretch in stretches(&done.map) {
        let _ = writeln!(out, "{}", line(done, &stretch));
    }
    let _ = writeln!(
        out,
        "\nplace    {}",
        strip(&done.map.places, |p| {
            p.old.map(|f| f / old.max(2).saturating_sub(1) as f32)
        })
    );
    let _ = write!(
        out,
        "sure     {}",
        strip(&done.map.places, |p| Some(p.confidence))
    );
    let _ = write!(
        out,
        "\nchanged  {}",
        strip(&done.changes, |c| {
            (!c.cells.is_empty()).then_some(c.value)
        })
    );
    out
}

fn line(done: &Alignment, stretch: &Stretch) -> String {
    let new = format!("{}-{}", stretch.first + 1, stretch.last + 1);
    let frames = &done.changes[stretch.first..=stretch.last];
    let changed = frames.iter().filter(|c| c.value >= 0.5).count();
    let (old, speed) = match stretch.old {
        Some((from, to)) => (
            format!("{:.1}-{:.1}", from + 1.0, to + 1.0),
            format!("{:.2}", stretch.speed()),
        ),
        None => ("none".into(), String::new()),
    };
    let sure = (stretch.confidence * 100.0).round();
    format!("{new:>11}  {old:>13}  {speed:>5}  {sure:>3}%  {changed:>7}")
}

/// A row of at most 64 bars, each the mean of some frames; a dot where none has a value.
fn strip<T>(frames: &[T], value: impl Fn(&T) -> Option<f32>) -> String {
    const BARS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
    let width = frames.len().div_ceil(64).max(1);
    frames
        .chunks(width)
        .map(|some| {
            let values: Vec<f32> = some.iter().filter_map(&value).collect();
            if values.is_empty() {
                return '·';
            }
            let mean = values.iter().sum::<f32>() / values.len() as f32;
            BARS[((mean.clamp(0.0, 1.0) * 7.0).round()) as usize]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strip_shows_height_and_gaps() {
        assert_eq!(strip(&[Some(0.0), None, Some(1.0)], |v| *v), "▁·█");
        assert_eq!(strip(&[0.0; 200], |v| Some(*v)).chars().count(), 50);
    }
}
