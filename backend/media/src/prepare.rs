//! Makes of footage what the pages show: copies, small pictures, sound, frame table.

use std::ffi::OsString;
use std::future::Future;
use std::io;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use serde::Serialize;

use crate::boxes::{self, Timing};
use crate::geometry::Size;
use crate::limits::Limits;
use crate::probe::{Probe, SIGABRT, SIGSEGV, SIGXFSZ};
use crate::recipe::{self, COPY_TICKS_PER_FRAME, Plan, RECIPE_VERSION};
use crate::refusal::Refusal;
use crate::run::{Cancel, End, Ended, run};
use crate::sandbox::{Caps, Job, Sandbox, ffmpeg};
use crate::sound::{self, SOUND, Sound};
use crate::table::{FrameTable, TableReader};
use crate::work::WorkDir;

/// The share of the whole that the run over the picture is, for progress.
const PICTURE_SHARE: f32 = 0.97;

/// Memory ffmpeg may map: two 1080p encoders and a 4K decoder together take some 2 GB of addresses.
const MEMORY_BYTES: u64 = 4 << 30;

/// The largest file it may write.
const FILE_BYTES: u64 = 4 << 30;

/// Footage made ready. The files lie in the folder given to [`prepare`], under fixed names.
#[derive(Debug, Clone, Serialize)]
pub struct Prepared {
    /// The version of the recipe that made it.
    pub recipe_version: u32,
    /// When each frame is shown.
    pub table: FrameTable,
    /// The review copy, within 1280 x 720 or 720 x 1280.
    pub copy: Copy,
    /// A larger copy, within 1920 x 1080 or 1080 x 1920, when the source is larger than the review copy.
    pub large: Option<Copy>,
    /// A few frames in one row.
    pub strip: Strip,
    /// One frame from the middle.
    pub poster: Picture,
    /// Which frame the poster shows.
    pub poster_frame: u32,
    /// What became of the sound.
    pub sound: Sound,
    /// The sound's file, when kept: AAC whose time 0 is the first frame's time.
    pub sound_path: Option<PathBuf>,
    /// How long preparing took.
    pub took: Duration,
}

/// An H.264 MP4 in which frame *i* stands at exactly *i*/24 s, every frame a key frame, none reordered.
#[derive(Debug, Clone, Serialize)]
pub struct Copy {
    /// The file.
    pub path: PathBuf,
    /// Size of the picture.
    pub size: Size,
    /// Size of the file in bytes.
    pub bytes: u64,
}

/// A JPEG of small pictures in one row, at most twelve: cell *k* from the left shows frame `frames[k]`. The first frame
/// is among them, and the last. Should the image have further cells, they are black.
#[derive(Debug, Clone, Serialize)]
pub struct Strip {
    /// The file.
    pub path: PathBuf,
    /// Size of one cell.
    pub cell: Size,
    /// The frame in each cell.
    pub frames: Vec<u32>,
    /// Size of the file in bytes.
    pub bytes: u64,
}

/// A JPEG.
#[derive(Debug, Clone, Serialize)]
pub struct Picture {
    /// The file.
    pub path: PathBuf,
    /// Size of the picture.
    pub size: Size,
    /// Size of the file in bytes.
    pub bytes: u64,
}

/// Why footage was not made ready.
#[derive(Debug, thiserror::Error)]
pub enum PrepareError {
    /// The file is at fault: no further attempt will do better.
    #[error("{0}")]
    ForGood(Refusal),
    /// The server is at fault, or was interrupted: another attempt may succeed.
    #[error("preparing was interrupted: {0}")]
    Again(TryAgain),
    /// The caller asked for it.
    #[error("preparing was cancelled")]
    Cancelled,
}

/// What stood in the way this time.
#[derive(Debug, thiserror::Error)]
pub enum TryAgain {
    /// Killed from outside, for instance for want of memory.
    #[error("ffmpeg was ended by signal {signal}")]
    Killed {
        /// The signal's number.
        signal: i32,
    },
    /// Past its time.
    #[error("ffmpeg did not finish within {} s", wall.as_secs())]
    TimedOut {
        /// The time it had.
        wall: Duration,
    },
    /// The disk is full.
    #[error("the disk is full")]
    DiskFull,
    /// A program is missing.
    #[error("{program} is missing")]
    Missing {
        /// Which.
        program: &'static str,
    },
    /// The system refused something.
    #[error(transparent)]
    System(#[from] io::Error),
}

impl From<io::Error> for PrepareError {
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::StorageFull {
            return Self::Again(TryAgain::DiskFull);
        }
        Self::Again(TryAgain::System(error))
    }
}

impl From<Refusal> for PrepareError {
    fn from(refusal: Refusal) -> Self {
        Self::ForGood(refusal)
    }
}

/// Prepares footage that [`crate::probe`] has passed, decoding it once (and its sound a second time).
///
/// The results appear in `out_dir`, an existing folder, only when all are complete. `progress` gets rising values from
/// 0 to 1. When `cancel` completes, everything is ended and removed; dropping the future does the same.
pub async fn prepare(
    sandbox: &Sandbox,
    file: &Path,
    probe: &Probe,
    out_dir: &Path,
    limits: &Limits,
    progress: impl Fn(f32) + Send + Sync,
    cancel: impl Future<Output = ()> + Send,
) -> Result<Prepared, PrepareError> {
    if let Some(program) = sandbox.missing().first() {
        return Err(PrepareError::Again(TryAgain::Missing { program }));
    }
    let started = Instant::now();
    let mut cancel = Cancel::new(cancel);
    let work = WorkDir::in_folder(out_dir)?;
    let plan = Plan::of(probe);
    let kitchen = Kitchen {
        sandbox,
        file,
        work: work.path(),
        limits,
    };
    progress(0.0);
    let table = kitchen
        .pictures(&plan, probe, &progress, &mut cancel)
        .await?;
    let sound = match probe.has_sound {
        true => kitchen.sound(&table, &mut cancel).await?,
        false => Sound::Silent,
    };
    for name in [recipe::COPY]
        .into_iter()
        .chain(plan.large.map(|_| recipe::LARGE))
    {
        check_copy(&boxes::timing(&work.path().join(name))?, table.frames())?;
    }
    let mut names = vec![recipe::COPY, recipe::STRIP, recipe::POSTER];
    names.extend(plan.large.map(|_| recipe::LARGE));
    names.extend((sound == Sound::Kept).then_some(SOUND));
    work.deliver(&names, out_dir)?;
    let prepared = describe(plan, table, sound, out_dir, started.elapsed())?;
    progress(1.0);
    Ok(prepared)
}

/// The command lines a preparation runs inside the sandbox, program first, with the file's own name: for running them
/// by hand, to compare or to find out why one fails. They write into the current folder.
pub fn bare_commands(
    file: &Path,
    probe: &Probe,
    table: &FrameTable,
    limits: &Limits,
) -> Vec<Vec<OsString>> {
    let mut input = OsString::from("file:");
    input.push(file);
    let mut runs = vec![recipe::arguments(&Plan::of(probe), probe, &input, limits)];
    if probe.has_sound {
        runs.push(sound::arguments(table, &input, limits));
    }
    for run in &mut runs {
        run.insert(0, ffmpeg().into());
    }
    runs
}

/// What every run of one preparation shares.
struct Kitchen<'a> {
    sandbox: &'a Sandbox,
    file: &'a Path,
    work: &'a Path,
    limits: &'a Limits,
}

impl Kitchen<'_> {
    /// Decodes the picture once: copies and small pictures into the work folder, the frame table from the output.
    async fn pictures(
        &self,
        plan: &Plan,
        probe: &Probe,
        progress: &(impl Fn(f32) + Send + Sync),
        cancel: &mut Cancel<'_>,
    ) -> Result<FrameTable, PrepareError> {
        let input = self.sandbox.input_name(self.file)?;
        let args = recipe::arguments(plan, probe, &input, self.limits);
        let mut reader = TableReader::default();
        let most = self.limits.frames as usize;
        let ended = {
            let mut on_output = |bytes: &[u8]| {
                reader.push(bytes);
                let seen = reader.rows().len();
                progress((seen as f32 / probe.packets.max(1) as f32).min(1.0) * PICTURE_SHARE);
                if seen > most {
                    ControlFlow::Break(())
                } else {
                    ControlFlow::Continue(())
                }
            };
            let job = self.job(args);
            run(
                self.sandbox,
                &job,
                self.limits.prepare_wall,
                cancel,
                &mut on_output,
                None,
            )
            .await?
        };
        if reader.rows().len() > most {
            return Err(Refusal::TooManyFrames {
                limit: self.limits.frames,
            }
            .into());
        }
        verdict(&ended, self.limits.prepare_wall)?;
        // A container may count packets that hold no frame of their own, but not half of them.
        if reader.rows().len() <= plan.poster_frame as usize {
            return Err(Refusal::Unreadable.into());
        }
        let time_base = (probe.time_base_num, probe.time_base_den);
        let table = FrameTable::mend(
            time_base,
            reader.rows(),
            probe.step_ticks,
            probe.last_duration,
        );
        if !self.limits.allow_seconds(table.seconds()) {
            return Err(Refusal::TooLong {
                seconds: table.seconds(),
                limit: self.limits.seconds,
            }
            .into());
        }
        Ok(table)
    }

    /// Writes the sound. Sound that cannot be decoded does not cost the shot.
    async fn sound(
        &self,
        table: &FrameTable,
        cancel: &mut Cancel<'_>,
    ) -> Result<Sound, PrepareError> {
        let input = self.sandbox.input_name(self.file)?;
        let job = self.job(sound::arguments(table, &input, self.limits));
        let mut ignore = |_: &[u8]| ControlFlow::Continue(());
        let ended = run(
            self.sandbox,
            &job,
            self.limits.prepare_wall,
            cancel,
            &mut ignore,
            None,
        )
        .await?;
        match verdict(&ended, self.limits.prepare_wall) {
            Err(PrepareError::ForGood(_)) => return Ok(Sound::Unreadable),
            other => other?,
        }
        match boxes::timing(&self.work.join(SOUND)) {
            Ok(Timing { samples: 1.., .. }) => Ok(Sound::Kept),
            _ => Ok(Sound::Silent),
        }
    }

    fn job(&self, args: Vec<OsString>) -> Job<'_> {
        Job {
            program: ffmpeg(),
            args,
            input: Some(self.file),
            out_dir: Some(self.work),
            caps: Caps {
                // On two cores the time on the wall runs out first.
                cpu_seconds: self.limits.prepare_wall.as_secs() * 4 + 60,
                memory_bytes: MEMORY_BYTES,
                file_bytes: FILE_BYTES,
            },
        }
    }
}

/// What the end of a run means: is the file at fault, or the moment?
pub(crate) fn verdict(ended: &Ended, wall: Duration) -> Result<(), PrepareError> {
    let complains = |of: &str| ended.stderr.contains(of);
    let fault = match ended.end {
        End::Exited(0) => return Ok(()),
        End::Cancelled => return Err(PrepareError::Cancelled),
        End::TimedOut => TryAgain::TimedOut { wall },
        End::Signalled(SIGXFSZ) => return Err(Refusal::TooHeavy.into()),
        End::Signalled(SIGABRT | SIGSEGV) => return Err(Refusal::Unreadable.into()),
        End::Signalled(signal) => TryAgain::Killed { signal },
        End::Exited(_) | End::Stopped if complains("No space left on device") => TryAgain::DiskFull,
        End::Exited(_) | End::Stopped => {
            tracing::debug!(complaints = %ended.stderr, "ffmpeg could not decode a file");
            let refusal = if complains("Cannot allocate memory") {
                Refusal::TooHeavy
            } else if complains("partial file") || complains("File ended prematurely") {
                Refusal::Truncated
            } else {
                Refusal::Unreadable
            };
            return Err(refusal.into());
        }
    };
    Err(PrepareError::Again(fault))
}

/// The copy must hold exactly the frames of the table, each a 24th of a second after the last.
fn check_copy(timing: &Timing, frames: u32) -> Result<(), PrepareError> {
    let evenly = timing.step == Some(COPY_TICKS_PER_FRAME) || frames == 1;
    if timing.samples == frames && evenly && !timing.reordered {
        return Ok(());
    }
    tracing::warn!(?timing, frames, "a copy disagrees with its frame table");
    Err(Refusal::Unreadable.into())
}

fn describe(
    plan: Plan,
    table: FrameTable,
    sound: Sound,
    out_dir: &Path,
    took: Duration,
) -> Result<Prepared, PrepareError> {
    let weighed = |name: &str| -> io::Result<(PathBuf, u64)> {
        let path = out_dir.join(name);
        let bytes = std::fs::metadata(&path)?.len();
        Ok((path, bytes))
    };
    let copy =
        |name: &str, size: Size| weighed(name).map(|(path, bytes)| Copy { path, size, bytes });
    let picture =
        |name: &str, size: Size| weighed(name).map(|(path, bytes)| Picture { path, size, bytes });
    let (strip, strip_bytes) = weighed(recipe::STRIP)?;
    let mut strip_frames = plan.strip_frames;
    strip_frames.retain(|&frame| frame < table.frames());
    Ok(Prepared {
        recipe_version: RECIPE_VERSION,
        copy: copy(recipe::COPY, plan.copy)?,
        large: plan
            .large
            .map(|size| copy(recipe::LARGE, size))
            .transpose()?,
        strip: Strip {
            path: strip,
            cell: plan.strip_cell,
            frames: strip_frames,
            bytes: strip_bytes,
        },
        poster: picture(recipe::POSTER, plan.poster)?,
        poster_frame: plan.poster_frame,
        sound,
        sound_path: (sound == Sound::Kept).then(|| out_dir.join(SOUND)),
        table,
        took,
    })
}
