//! What the black-box tests share.

pub mod harness;
