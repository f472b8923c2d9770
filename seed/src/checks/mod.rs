//! Whether the scenario is true of its own pictures, and fit to be shown.

mod faults;
mod measures;
mod plan;
mod words;
