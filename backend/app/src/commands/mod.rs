//! The command line.

pub mod doctor;
pub mod step_down;
