//! What everything else agrees on: ids, value types, the vocabulary, the rules of permission and standing, problem codes.
//! Pure: no clock, disk, network or randomness.

pub mod actor;
pub mod ask;
pub mod frame_map;
pub mod ids;
pub mod jobs;
pub mod parts;
pub mod permit;
pub mod picture;
pub mod problem;
pub mod quota;
pub mod standing;
pub mod vocabulary;

pub use actor::{Actor, Roles};
pub use ids::*;
pub use permit::{Action, Denial, Facts, permit};
pub use problem::ProblemCode;
pub use quota::{Peg, Quota};
pub use vocabulary::*;
