//! The one test binary: a module per area, all against the real program.

mod architecture;
mod archive;
mod ground;
mod people;
mod sending;
mod walk;
