//! Motion of a shot, measured: frames and numbers in, numbers out.
//!
//! Nothing here knows a clock, a disk, chance or threads; long work takes a callback that reports progress and may stop it.

pub mod align;
pub mod camera;
pub mod carry;
pub mod change;
mod describe;
pub mod frame_map;
pub mod measure;
pub mod plane;
pub mod progress;
pub mod reel;
pub mod similarity;
pub mod ssim;
pub mod stats;
pub mod trace;
pub mod track;
mod view;
mod wide;
