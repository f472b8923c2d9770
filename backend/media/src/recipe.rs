//! How footage is prepared: which pictures are made, of what size, by which ffmpeg arguments. Pure.
//!
//! One run decodes the source once and writes everything from it. In the copies frame *i* stands at exactly *i*/24 s
//! whatever the source's own times are; those are kept in the frame table.

use std::ffi::OsString;

use crate::geometry::{Size, fit};
use crate::limits::Limits;
use crate::probe::{FORMATS, MOST_ALLOC, Probe};
use crate::sandbox::words;

/// The version of everything this module decides. Footage prepared by another version can be prepared again.
pub const RECIPE_VERSION: u32 = 1;

/// The clock of the copies: ticks a second.
pub const COPY_TICKS_PER_SECOND: u32 = 24_000;

/// The distance between two frames of a copy in ticks of its clock: a 24th of a second.
pub const COPY_TICKS_PER_FRAME: u32 = 1_000;

pub(crate) const COPY: &str = "copy.mp4";
pub(crate) const LARGE: &str = "large.mp4";
pub(crate) const STRIP: &str = "strip.jpg";
pub(crate) const POSTER: &str = "poster.jpg";

const STRIP_CELLS: u32 = 12;
const STRIP_SIDE: u32 = 160;
const POSTER_SIDE: u32 = 640;

/// What will be made of one piece of footage.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Plan {
    pub(crate) copy: Size,
    pub(crate) large: Option<Size>,
    pub(crate) strip_cell: Size,
    pub(crate) strip_frames: Vec<u32>,
    pub(crate) poster: Size,
    pub(crate) poster_frame: u32,
}

impl Plan {
    pub(crate) fn of(probe: &Probe) -> Self {
        let copy = fit(probe.shown, 1_280, 720);
        let large = fit(probe.shown, 1_920, 1_080);
        Self {
            copy,
            large: (large != copy).then_some(large),
            strip_cell: fit(copy, STRIP_SIDE, STRIP_SIDE),
            strip_frames: strip_frames(probe.packets),
            poster: fit(copy, POSTER_SIDE, POSTER_SIDE),
            poster_frame: probe.packets / 2,
        }
    }

    /// The whole strip, one row of cells.
    pub(crate) fn strip_cells(&self) -> u32 {
        u32::try_from(self.strip_frames.len()).unwrap_or(u32::MAX)
    }
}

/// At most twelve frames, first and last among them, evenly spaced.
fn strip_frames(frames: u32) -> Vec<u32> {
    let cells = frames.clamp(1, STRIP_CELLS);
    let last_cell = (cells - 1).max(1);
    let last_frame = frames.saturating_sub(1);
    (0..cells)
        .map(|k| (k * last_frame + last_cell / 2) / last_cell)
        .collect()
}

/// The options every reading of a stranger's file starts with.
pub(crate) fn reading(input: &OsString, limits: &Limits) -> Vec<OsString> {
    let mut args = words([
        "-nostdin",
        "-hide_banner",
        "-v",
        "error",
        "-y",
        "-xerror",
        "-copyts",
    ]);
    args.extend(words([
        "-protocol_whitelist",
        "file",
        "-format_whitelist",
        FORMATS,
    ]));
    args.extend(words([
        "-max_alloc",
        MOST_ALLOC,
        "-max_pixels",
        &limits.pixels.to_string(),
    ]));
    // A change of size within the footage must not restart the count of frames.
    args.extend(words(["-threads", "2", "-reinit_filter", "0", "-i"]));
    args.push(input.clone());
    args
}

/// The arguments of the one run that makes everything but the sound. Its standard output is the frame table.
pub(crate) fn arguments(
    plan: &Plan,
    probe: &Probe,
    input: &OsString,
    limits: &Limits,
) -> Vec<OsString> {
    let mut args = reading(input, limits);
    args.extend(words(["-filter_complex", &graph(plan, probe)]));
    args.extend(copy_output("[copy]", COPY));
    if plan.large.is_some() {
        args.extend(copy_output("[large]", LARGE));
    }
    args.extend(image_output("[strip]", STRIP, "3"));
    args.extend(image_output("[poster]", POSTER, "3"));
    args
}

/// The filter graph: note each decoded frame's time, renumber, then split into what is made. The small pictures come
/// from the copy's, which is cheaper than from the source's.
fn graph(plan: &Plan, probe: &Probe) -> String {
    let mut graph = format!(
        "[0:V:0]metadata=mode=add:key=n:value=1,metadata=mode=print:file='pipe\\:1':direct=1,\
         settb=1/{COPY_TICKS_PER_SECOND},setpts=N*{COPY_TICKS_PER_FRAME}"
    );
    if let Some(large) = plan.large {
        let large = scaled(large, probe);
        graph += &format!(",split=2[for_copy][for_large];[for_large]{large}[large];[for_copy]");
    } else {
        graph += ",";
    }
    let wanted: Vec<String> = plan
        .strip_frames
        .iter()
        .map(|frame| format!("eq(n,{frame})"))
        .collect();
    graph += &format!(
        "{},split=3[copy][for_strip][for_poster]\
         ;[for_strip]select='{}',scale={}:{}:flags=area,tile={}x1[strip]\
         ;[for_poster]select='eq(n,{})',scale={}:{}:flags=area[poster]",
        scaled(plan.copy, probe),
        wanted.join("+"),
        plan.strip_cell.width,
        plan.strip_cell.height,
        plan.strip_cells(),
        plan.poster_frame,
        plan.poster.width,
        plan.poster.height
    );
    graph
}

/// Square pixels of a size, in BT.709 video range, without alpha: under transparent parts the stored colour shows,
/// which renderers leave black.
fn scaled(size: Size, probe: &Probe) -> String {
    let from = matrix_hint(probe);
    format!(
        "scale={}:{}:flags=lanczos+accurate_rnd:{from}out_color_matrix=bt709:out_range=tv,setsar=1,format=yuv420p",
        size.width, size.height
    )
}

/// What the scaler has to be told of the matrix of the source's colours: what does not say its matrix is BT.709 from 720
/// lines up, as players take it, where the scaler would take BT.601 (common practice, no source).
pub(crate) fn matrix_hint(probe: &Probe) -> &'static str {
    let is_rgb = [
        "rgb", "bgr", "gbr", "argb", "abgr", "0rgb", "0bgr", "pal8", "mono",
    ]
    .iter()
    .any(|start| probe.pixel_format.starts_with(start));
    if !is_rgb && !probe.has_matrix && probe.stored.height >= 720 {
        "in_color_matrix=bt709:"
    } else {
        ""
    }
}

/// Every frame a key frame: stepping to any frame costs one decode.
fn copy_output(label: &str, name: &str) -> Vec<OsString> {
    let timescale = COPY_TICKS_PER_SECOND.to_string();
    let mut args = words([
        "-map",
        label,
        "-map_metadata",
        "-1",
        "-fps_mode",
        "passthrough",
    ]);
    args.extend(words(["-enc_time_base", &format!("1/{timescale}")]));
    args.extend(words([
        "-c:v", "libx264", "-preset", "veryfast", "-crf", "18",
    ]));
    args.extend(words([
        "-g",
        "1",
        "-bf",
        "0",
        "-sc_threshold",
        "0",
        "-threads",
        "2",
    ]));
    args.extend(words(["-color_primaries", "bt709", "-color_trc", "bt709"]));
    args.extend(words(["-colorspace", "bt709", "-color_range", "tv"]));
    args.extend(words([
        "-video_track_timescale",
        &timescale,
        "-movflags",
        "+faststart",
    ]));
    args.extend(words(["-f", "mp4", name]));
    args
}

fn image_output(label: &str, name: &str, quality: &str) -> Vec<OsString> {
    let mut args = words([
        "-map",
        label,
        "-map_metadata",
        "-1",
        "-fps_mode",
        "passthrough",
    ]);
    args.extend(words(["-frames:v", "1", "-c:v", "mjpeg", "-q:v", quality]));
    args.extend(words(["-f", "image2", "-update", "1", name]));
    args
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_strip_shows_first_and_last_in_order(frames in 1u32..4_000) {
            let strip = strip_frames(frames);
            prop_assert_eq!(strip.len() as u32, frames.min(12));
            prop_assert_eq!(strip[0], 0);
            prop_assert_eq!(*strip.last().unwrap(), frames - 1);
            prop_assert!(strip.windows(2).all(|pair| pair[0] < pair[1]));
        }
    }
}
