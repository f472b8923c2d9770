//! Footage: what arrives is looked at ([`probe`]), made ready for the pages ([`prepare`]), read as numbers
//! ([`frames()`]), or written from drawn frames ([`encode_raw`]). The only code that starts ffmpeg and ffprobe, always shut in ([`Sandbox`]).

mod boxes;
mod description;
mod encode;
mod frames;
mod geometry;
mod limits;
mod prepare;
mod probe;
mod recipe;
mod refusal;
mod run;
mod sandbox;
mod sniff;
mod sound;
mod table;
mod work;

pub use encode::{EncodeError, RawVideo, encode_raw};
pub use frames::{Layout, Wanted, frames};
pub use geometry::Size;
pub use limits::Limits;
pub use prepare::{Copy, Picture, PrepareError, Prepared, Strip, TryAgain, bare_commands, prepare};
pub use probe::{Probe, probe};
pub use recipe::{COPY_TICKS_PER_FRAME, COPY_TICKS_PER_SECOND, RECIPE_VERSION};
pub use refusal::Refusal;
pub use sandbox::Sandbox;
pub use sound::Sound;
pub use table::FrameTable;
