//! Motion of a shot, measured: frames and numbers in, numbers out.
//!
//! Nothing here knows a clock, a disk, chance or threads; long work takes a callback that reports progress and may stop it.

pub mod measure;
pub mod plane;
pub mod trace;
