//! Looks at a file that has just arrived: what is in it, and may it be sent.

use std::fs::File;
use std::io::{self, Read};
use std::ops::ControlFlow;
use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::boxes;
use crate::description::{Described, ENTRIES, judge};
use crate::geometry::Size;
use crate::limits::Limits;
use crate::refusal::Refusal;
use crate::run::{Cancel, End, run};
use crate::sandbox::{Caps, Job, Sandbox, ffprobe, words};
use crate::sniff;

/// The formats ffmpeg and ffprobe may try; without this list a playlist named `.mp4` opens other files.
pub(crate) const FORMATS: &str = "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi";

/// The largest single allocation ffmpeg and ffprobe may make, in bytes.
pub(crate) const MOST_ALLOC: &str = "536870912";

/// The longest description read from ffprobe: some 110 bytes a packet, sound included.
const MOST_JSON: usize = 16 << 20;

/// What is in a file that may be sent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Probe {
    /// The size shown: after rotation and sample aspect, in square pixels.
    pub shown: Size,
    /// The size stored.
    pub stored: Size,
    /// The picture's codec, as ffmpeg names it.
    pub codec: String,
    /// The pixel format, as ffmpeg names it.
    pub pixel_format: String,
    /// Degrees the picture is turned for showing, counter-clockwise, as ffprobe reports them.
    pub rotation_deg: i32,
    /// Whether there is sound.
    pub has_sound: bool,
    /// Packets of picture that are shown; a decoder gives at most this many frames.
    pub packets: u32,
    /// Nominal frames a second, numerator: what the container says, for showing; the frame table has the true times.
    pub rate_num: u32,
    /// Nominal frames a second, denominator.
    pub rate_den: u32,
    /// Shown length by the container's times, in seconds.
    pub nominal_seconds: f64,
    /// Numerator of one tick of the picture's clock in seconds.
    pub time_base_num: u32,
    /// Denominator of one tick of the picture's clock in seconds.
    pub time_base_den: u32,
    /// Nominal frame duration in ticks, at least 1.
    pub step_ticks: i64,
    /// How long the last frame is shown in ticks, if the container says.
    pub last_duration: Option<i64>,
    /// Whether the file says by which matrix its colours are stored.
    pub has_matrix: bool,
}

/// Checks a file and describes it. Reads it once from end to end, in the sandbox, without decoding it.
pub async fn probe(sandbox: &Sandbox, file: &Path, limits: &Limits) -> Result<Probe, Refusal> {
    let path = file.to_owned();
    let most_bytes = limits.bytes;
    tokio::task::spawn_blocking(move || look(&path, most_bytes))
        .await
        .map_err(|_| Refusal::Interrupted)??;
    let (json, complaints) = ask_ffprobe(sandbox, file, limits).await?;
    let described: Described = serde_json::from_slice(&json).map_err(|_| Refusal::Unreadable)?;
    judge(&described, &complaints, limits)
}

/// What can be said without a decoder: kind, size, signature, completeness.
fn look(path: &Path, most_bytes: u64) -> Result<(), Refusal> {
    // Not followed: an upload is never a link, and a link may lead anywhere.
    let facts = std::fs::symlink_metadata(path).map_err(|error| unreadable_now(&error))?;
    if !facts.is_file() {
        return Err(Refusal::NotAFile);
    }
    if facts.len() > most_bytes {
        return Err(Refusal::TooLarge {
            bytes: facts.len(),
            limit: most_bytes,
        });
    }
    let mut file = File::open(path).map_err(|error| unreadable_now(&error))?;
    let mut head = Vec::new();
    let reading = (&mut file)
        .take(sniff::SNIFF_BYTES as u64)
        .read_to_end(&mut head);
    reading.map_err(|error| unreadable_now(&error))?;
    let family = sniff::family(&head)?;
    boxes::complete(&mut file, facts.len(), family).map_err(|error| unreadable_now(&error))?
}

fn unreadable_now(error: &io::Error) -> Refusal {
    if error.kind() == io::ErrorKind::NotFound {
        return Refusal::NotAFile;
    }
    tracing::warn!(%error, "footage could not be read");
    Refusal::Interrupted
}

async fn ask_ffprobe(
    sandbox: &Sandbox,
    file: &Path,
    limits: &Limits,
) -> Result<(Vec<u8>, String), Refusal> {
    if let Some(program) = sandbox.missing().first() {
        return Err(Refusal::FfmpegMissing { program });
    }
    let mut args = words([
        "-v",
        "warning",
        "-hide_banner",
        "-protocol_whitelist",
        "file",
    ]);
    args.extend(words([
        "-format_whitelist",
        FORMATS,
        "-max_alloc",
        MOST_ALLOC,
    ]));
    args.extend(words(["-threads", "1", "-show_entries", ENTRIES]));
    args.extend(words(["-of", "json=compact=1"]));
    args.push(
        sandbox
            .input_name(file)
            .map_err(|error| unreadable_now(&error))?,
    );
    let job = Job {
        program: ffprobe(),
        args,
        input: Some(file),
        out_dir: None,
        caps: Caps {
            cpu_seconds: 60,
            memory_bytes: 2 << 30,
            file_bytes: 0,
        },
    };
    let mut json = Vec::new();
    let mut keep = |bytes: &[u8]| {
        json.extend_from_slice(bytes);
        if json.len() > MOST_JSON {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    };
    let ended = run(
        sandbox,
        &job,
        limits.probe_wall,
        &mut Cancel::never(),
        &mut keep,
        None,
    )
    .await
    .map_err(|error| unreadable_now(&error))?;
    match ended.end {
        End::Exited(0) => Ok((json, ended.stderr)),
        End::Exited(_) => {
            tracing::debug!(complaints = %ended.stderr, "ffprobe refused a file");
            Err(Refusal::Unreadable)
        }
        End::Stopped => Err(Refusal::TooManyFrames {
            limit: limits.frames,
        }),
        End::TimedOut => Err(Refusal::TimedOut),
        End::Signalled(SIGXCPU | SIGXFSZ | SIGABRT | SIGSEGV) => Err(Refusal::Unreadable),
        End::Signalled(_) | End::Cancelled => Err(Refusal::Interrupted),
    }
}

/// Signals that say something about the file, by their numbers on Linux (signal(7)).
pub(crate) const SIGABRT: i32 = 6;
pub(crate) const SIGSEGV: i32 = 11;
pub(crate) const SIGXCPU: i32 = 24;
pub(crate) const SIGXFSZ: i32 = 25;
