//! Footage made by ffmpeg, prepared by this crate, read back frame by frame.
#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot go on should stop where it stands"
)]

mod clips;
mod control;
mod encode;
mod frames;
mod hostile;
mod sources;
mod surgery;
