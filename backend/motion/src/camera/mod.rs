//! Cameras: what moves within a clip, and how one clip's resting camera lies to another's.

pub mod between;
pub(crate) mod masks;
pub mod phase;
pub mod register;
pub(crate) mod steady;
