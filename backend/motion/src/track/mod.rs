//! Traces.
pub mod lk;
mod pyramid;
pub use pyramid::Pyramid;
