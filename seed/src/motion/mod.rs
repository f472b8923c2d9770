//! The motion of the figure: keyed acts, retimed, with overlap, contact and, where a revision says so, faults.

pub mod act;
pub mod actions;
pub mod build;
pub mod chain;
pub mod curve;
pub mod fault;
mod flow;
mod path;
pub mod perform;
pub mod skeleton;
pub mod warp;
