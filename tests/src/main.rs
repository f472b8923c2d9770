//! The one test binary: a module per area, all against the real program.

mod access;
mod architecture;
mod archive;
mod clips;
mod contract;
mod critique;
mod ground;
mod habits;
mod lexicon;
mod people;
mod privacy;
mod sending;
mod walk;
