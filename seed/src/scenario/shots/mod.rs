//! The shots, in the order they are made ready.

mod lantern_jump;
mod stop_at_the_corner;
mod tiptoe_home;

use crate::plan::ShotPlan;

/// Every shot; the first three are quick to prepare.
pub fn all() -> Vec<ShotPlan> {
    vec![
        lantern_jump::shot(),
        stop_at_the_corner::shot(),
        tiptoe_home::shot(),
    ]
}

/// What every shot file needs.
mod prelude {
    pub use crate::clip::Look::{Clay, Lit, Tinted};
    pub use crate::motion::actions::Action;
    pub use crate::motion::build::Character;
    pub use crate::motion::fault::{Fault, FaultKind};
    pub use crate::motion::skeleton::Joint::*;
    pub use crate::plan::AnswerKind::{Done, Leaving, WillDo};
    pub use crate::plan::AskWhat::{AddFrames, Hold, Offset, RemoveFrames, Scale};
    pub use crate::plan::Kind::{Consider, Fix, Keep, Question};
    pub use crate::plan::Principle::{
        Acting, Anticipation, Arcs, Contact, Facial, Overlap, Posing, Spacing, Staging, Timing,
        Weight,
    };
    pub use crate::plan::ShotPlan;
    pub use crate::plan::Side::{Both, Left, Right};
    pub use crate::plan::Stage::{Blocking, BlockingPlus, Polish, Spline};
    pub use crate::plan::Urgency::{IfTime, Must, Should};
    pub use crate::plan::Verdict::{Cleared, Eased, SetAside, Still};
    pub use crate::render::light::Mood::{Dusk, Morning, Night, Overcast, Studio};
    pub use crate::render::set::Place;

    pub use super::super::marks::Mark;
    pub use super::super::sketch::{
        at, critique, drafting, fault, note, part, scene, shot as shot_of, sided, take,
    };
}
