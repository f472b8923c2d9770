//! The sound beside the copy: AAC whose time 0 is the first frame's time.

use std::ffi::OsString;

use serde::{Deserialize, Serialize};

use crate::limits::Limits;
use crate::recipe::reading;
use crate::sandbox::words;
use crate::table::FrameTable;

pub(crate) const SOUND: &str = "sound.m4a";

/// What became of the sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sound {
    /// The footage has none while its frames are shown.
    Silent,
    /// It is in the `.m4a`.
    Kept,
    /// The footage has sound that cannot be decoded; the picture is complete.
    Unreadable,
}

/// The arguments that write the sound of a shot, cut or padded at its start so that it begins with the first frame,
/// and cut at the last frame's end.
pub(crate) fn arguments(table: &FrameTable, input: &OsString, limits: &Limits) -> Vec<OsString> {
    let first = table.pts.first().copied().unwrap_or(0);
    let filter = format!(
        "asetpts=PTS-({first}*{}/{})/TB,atrim=start=0:end={:.6},aresample=48000:async=1:first_pts=0",
        table.time_base_num,
        table.time_base_den,
        table.seconds()
    );
    let mut args = reading(input, limits);
    args.extend(words([
        "-map",
        "0:a:0",
        "-vn",
        "-sn",
        "-dn",
        "-map_metadata",
        "-1",
        "-af",
        &filter,
    ]));
    args.extend(words([
        "-ac",
        "2",
        "-c:a",
        "aac",
        "-b:a",
        "128k",
        "-movflags",
        "+faststart",
    ]));
    args.extend(words(["-f", "ipod", SOUND]));
    args
}
