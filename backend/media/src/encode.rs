//! Writes drawn frames as an ordinary video file.

use std::future::Future;
use std::io;
use std::ops::ControlFlow;
use std::path::Path;
use std::pin::Pin;
use std::time::Duration;

use tokio::io::AsyncWriteExt;
use tokio::process::ChildStdin;
use tokio::sync::mpsc;

use crate::geometry::Size;
use crate::run::{Cancel, End, run};
use crate::sandbox::{Caps, Job, Sandbox, ffmpeg, words};
use crate::work::WorkDir;

/// Frames drawn ahead of the encoder.
const AHEAD: usize = 4;

/// The longest one file may take.
const WALL: Duration = Duration::from_secs(600);

/// The shape of drawn frames.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RawVideo {
    /// Size of every frame; both sides even.
    pub size: Size,
    /// Frames a second, numerator.
    pub rate_num: u32,
    /// Frames a second, denominator.
    pub rate_den: u32,
}

/// Why drawn frames were not written.
#[derive(Debug, thiserror::Error)]
pub enum EncodeError {
    /// H.264 in 4:2:0 has no odd sides, and nothing can run at no frames a second.
    #[error("frames of {width} x {height} at {num}/{den} a second cannot be written")]
    Shape {
        /// Asked width.
        width: u32,
        /// Asked height.
        height: u32,
        /// Asked rate, numerator.
        num: u32,
        /// Asked rate, denominator.
        den: u32,
    },
    /// A frame does not have three bytes for each pixel.
    #[error("frame {frame} has {got} bytes instead of {wanted}")]
    FrameBytes {
        /// Which frame, from 0.
        frame: u32,
        /// Its bytes.
        got: usize,
        /// The bytes it should have.
        wanted: usize,
    },
    /// There was no frame at all.
    #[error("there is no frame to write")]
    NoFrames,
    /// ffmpeg failed.
    #[error("ffmpeg failed: {complaints}")]
    Failed {
        /// What it said.
        complaints: String,
    },
    /// The system refused something.
    #[error(transparent)]
    System(#[from] io::Error),
}

/// Writes frames of packed 8-bit RGB as H.264 in an MP4 and returns how many there were. The same frames give the
/// same file with the same ffmpeg. `frames` is drawn from on a thread of its own, a few frames ahead of the encoder;
/// `out` appears only when complete.
pub async fn encode_raw(
    sandbox: &Sandbox,
    out: &Path,
    video: RawVideo,
    frames: impl Iterator<Item = Vec<u8>> + Send + 'static,
) -> Result<u32, EncodeError> {
    let RawVideo {
        size,
        rate_num,
        rate_den,
    } = video;
    if size.width % 2 + size.height % 2 != 0
        || size.width.min(size.height).min(rate_num).min(rate_den) == 0
    {
        return Err(EncodeError::Shape {
            width: size.width,
            height: size.height,
            num: rate_num,
            den: rate_den,
        });
    }
    let (Some(folder), Some(name)) = (out.parent(), out.file_name()) else {
        return Err(io::Error::from(io::ErrorKind::InvalidInput).into());
    };
    let work = WorkDir::in_folder(if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    })?;
    let (send, receive) = mpsc::channel(AHEAD);
    let wanted = size.width as usize * size.height as usize * 3;
    let drawing = tokio::task::spawn_blocking(move || draw(frames, wanted, &send));
    let job = Job {
        program: ffmpeg(),
        args: arguments(video),
        input: None,
        out_dir: Some(work.path()),
        caps: Caps {
            cpu_seconds: WALL.as_secs(),
            memory_bytes: 2 << 30,
            file_bytes: 2 << 30,
        },
    };
    let mut ignore = |_: &[u8]| ControlFlow::Continue(());
    let feed = Box::new(move |stdin| {
        Box::pin(pour(receive, stdin)) as Pin<Box<dyn Future<Output = _> + Send>>
    });
    let ended = run(
        sandbox,
        &job,
        WALL,
        &mut Cancel::never(),
        &mut ignore,
        Some(feed),
    )
    .await?;
    let drawn = drawing.await.map_err(io::Error::other)??;
    if drawn == 0 {
        return Err(EncodeError::NoFrames);
    }
    if ended.end != End::Exited(0) {
        let complaints = format!("{:?} {}", ended.end, ended.stderr);
        return Err(EncodeError::Failed { complaints });
    }
    std::fs::rename(work.path().join(MADE), folder.join(name))?;
    Ok(drawn)
}

/// Draws until the frames end or nobody takes them any more.
fn draw(
    frames: impl Iterator<Item = Vec<u8>>,
    wanted: usize,
    send: &mpsc::Sender<Vec<u8>>,
) -> Result<u32, EncodeError> {
    let mut drawn = 0;
    for frame in frames {
        if frame.len() != wanted {
            return Err(EncodeError::FrameBytes {
                frame: drawn,
                got: frame.len(),
                wanted,
            });
        }
        if send.blocking_send(frame).is_err() {
            break;
        }
        drawn += 1;
    }
    Ok(drawn)
}

async fn pour(mut frames: mpsc::Receiver<Vec<u8>>, mut stdin: ChildStdin) -> io::Result<()> {
    while let Some(frame) = frames.recv().await {
        stdin.write_all(&frame).await?;
    }
    stdin.shutdown().await
}

const MADE: &str = "made.mp4";

fn arguments(video: RawVideo) -> Vec<std::ffi::OsString> {
    let size = format!("{}x{}", video.size.width, video.size.height);
    let rate = format!("{}/{}", video.rate_num, video.rate_den);
    let mut args = words([
        "-hide_banner",
        "-v",
        "error",
        "-y",
        "-f",
        "rawvideo",
        "-pix_fmt",
        "rgb24",
    ]);
    args.extend(words([
        "-video_size",
        &size,
        "-framerate",
        &rate,
        "-i",
        "pipe:0",
    ]));
    args.extend(words([
        "-vf",
        "scale=out_color_matrix=bt709:out_range=tv,format=yuv420p",
    ]));
    // One thread and no version strings: the same frames give the same bytes.
    args.extend(words([
        "-c:v", "libx264", "-preset", "veryfast", "-crf", "16", "-threads", "1",
    ]));
    args.extend(words(["-fflags", "+bitexact", "-flags:v", "+bitexact"]));
    args.extend(words(["-color_primaries", "bt709", "-color_trc", "bt709"]));
    args.extend(words(["-colorspace", "bt709", "-color_range", "tv"]));
    args.extend(words(["-movflags", "+faststart", "-f", "mp4", MADE]));
    args
}
