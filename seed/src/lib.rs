//! The demo school: an invented scenario, and the renderer that draws its shots.
//!
//! Everything here is made up for this program: school, people, shots and words. The crate is pure: no clock, no disk,
//! no chance. The same plan gives the same bytes.

pub mod clip;
pub mod math;
pub mod motion;
pub mod plan;
pub mod render;
mod scenario;

#[cfg(test)]
mod checks;

pub use scenario::DEMO_PASSWORD;
