//! Frames as numbers: a clip decoded once, from end to end, at the size they are wanted in.

use std::ffi::OsString;
use std::future::Future;
use std::ops::ControlFlow;
use std::path::Path;

use crate::geometry::Size;
use crate::limits::Limits;
use crate::prepare::{PrepareError, TryAgain, verdict};
use crate::probe::Probe;
use crate::recipe::{matrix_hint, reading};
use crate::refusal::Refusal;
use crate::run::{Cancel, run};
use crate::sandbox::{Caps, Job, Sandbox, ffmpeg, words};

/// Memory ffmpeg may map to decode one clip.
const MEMORY_BYTES: u64 = 4 << 30;

/// How the bytes of a frame lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// Light, then both colour differences at half the size, each row by row (planar 4:2:0, BT.709, video range).
    Planar420,
    /// Red, green and blue of each pixel.
    Rgb24,
}

/// The frames that are wanted: every one, stretched to one size by means of areas.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// Size of every frame; both sides even for planar 4:2:0.
    pub size: Size,
    /// How the bytes lie.
    pub layout: Layout,
}

impl Wanted {
    /// The bytes of one frame.
    #[must_use]
    pub fn frame_bytes(&self) -> usize {
        let pixels = self.size.width as usize * self.size.height as usize;
        match self.layout {
            Layout::Planar420 => pixels * 3 / 2,
            Layout::Rgb24 => pixels * 3,
        }
    }
}

/// Decodes footage that [`crate::probe`] has passed and hands each frame's bytes to `on_frame`, in the order of the frame
/// table, none left out; that one may end the work, which is no error. Returns how many frames were handed over. No more
/// than one frame is held. When `cancel` completes, everything is ended; dropping the future does the same.
///
/// # Errors
/// The file is at fault ([`PrepareError::ForGood`]), for instance beyond the limits, or the moment is.
pub async fn frames(
    sandbox: &Sandbox,
    file: &Path,
    probe: &Probe,
    limits: &Limits,
    wanted: Wanted,
    mut on_frame: impl FnMut(&[u8]) -> ControlFlow<()> + Send,
    cancel: impl Future<Output = ()> + Send,
) -> Result<u32, PrepareError> {
    if let Some(program) = sandbox.missing().first() {
        return Err(PrepareError::Again(TryAgain::Missing { program }));
    }
    let job = Job {
        program: ffmpeg(),
        args: arguments(&sandbox.input_name(file)?, probe, limits, wanted),
        input: Some(file),
        out_dir: None,
        caps: Caps {
            cpu_seconds: limits.prepare_wall.as_secs() * 4 + 60,
            memory_bytes: MEMORY_BYTES,
            file_bytes: 0,
        },
    };
    let mut cutter = Cutter::of(wanted.frame_bytes());
    let (mut count, mut enough) = (0u32, false);
    let ended = {
        let mut on_output = |bytes: &[u8]| {
            cutter.push(bytes, |frame| {
                if count >= limits.frames {
                    count += 1;
                    return ControlFlow::Break(());
                }
                count += 1;
                let flow = on_frame(frame);
                enough = flow.is_break();
                flow
            })
        };
        let mut cancel = Cancel::new(cancel);
        run(
            sandbox,
            &job,
            limits.prepare_wall,
            &mut cancel,
            &mut on_output,
            None,
        )
        .await?
    };
    if count > limits.frames {
        return Err(Refusal::TooManyFrames {
            limit: limits.frames,
        }
        .into());
    }
    if !enough {
        verdict(&ended, limits.prepare_wall)?;
        if count == 0 || !cutter.rest.is_empty() {
            return Err(Refusal::Unreadable.into());
        }
    }
    Ok(count)
}

fn arguments(input: &OsString, probe: &Probe, limits: &Limits, wanted: Wanted) -> Vec<OsString> {
    let Size { width, height } = wanted.size;
    let (colours, format) = match wanted.layout {
        Layout::Planar420 => ("out_color_matrix=bt709:out_range=tv,", "yuv420p"),
        Layout::Rgb24 => ("out_range=pc,", "rgb24"),
    };
    let filter = format!(
        "scale={width}:{height}:flags=area+accurate_rnd:{}{colours}format={format}",
        matrix_hint(probe)
    );
    let mut args = reading(input, limits);
    args.extend(words(["-map", "0:V:0", "-vf", &filter]));
    args.extend(words([
        "-fps_mode",
        "passthrough",
        "-f",
        "rawvideo",
        "pipe:1",
    ]));
    args
}

/// Cuts a stream of bytes into frames.
struct Cutter {
    bytes: usize,
    rest: Vec<u8>,
}

impl Cutter {
    fn of(bytes: usize) -> Self {
        Self {
            bytes,
            rest: Vec::with_capacity(bytes),
        }
    }

    fn push(
        &mut self,
        mut bytes: &[u8],
        mut on_frame: impl FnMut(&[u8]) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        while !bytes.is_empty() {
            let room = (self.bytes - self.rest.len()).min(bytes.len());
            let (this, next) = bytes.split_at(room);
            self.rest.extend_from_slice(this);
            bytes = next;
            if self.rest.len() == self.bytes {
                let flow = on_frame(&self.rest);
                self.rest.clear();
                flow?;
            }
        }
        ControlFlow::Continue(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn frames_are_the_same_however_the_bytes_arrive(pieces in proptest::collection::vec(0usize..40, 0..40)) {
            let mut cutter = Cutter::of(7);
            let (mut sent, mut got) = (vec![], vec![]);
            for (k, len) in pieces.into_iter().enumerate() {
                let piece = vec![k as u8; len];
                sent.extend_from_slice(&piece);
                let flow = cutter.push(&piece, |frame| {
                    got.extend_from_slice(frame);
                    ControlFlow::Continue(())
                });
                prop_assert!(flow.is_continue());
            }
            prop_assert_eq!(got.len(), sent.len() / 7 * 7);
            prop_assert_eq!(&got[..], &sent[..got.len()]);
            prop_assert_eq!(&cutter.rest[..], &sent[got.len()..]);
        }
    }
}
