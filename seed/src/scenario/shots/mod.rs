//! The shots, in the order they are made ready.

mod amara;
mod dov;
mod hanne;
mod kitto_pia_emeka;
mod lantern_jump;
mod lisbet;
mod renzo;
mod stop_at_the_corner;
mod sunniva;
mod tiptoe_home;
mod tobi_fence;

use crate::plan::ShotPlan;

/// Every shot; the first three are to be ready first.
pub fn all() -> Vec<ShotPlan> {
    vec![
        lantern_jump::shot(),
        stop_at_the_corner::shot(),
        tiptoe_home::shot(),
        kitto_pia_emeka::crate_two(),
        sunniva::parapet(),
        sunniva::study(),
        tobi_fence::shot(),
        lisbet::heavier(),
        lisbet::who(),
        renzo::roof_wave(),
        renzo::chalk(),
        amara::sit(),
        amara::tram(),
        dov::window(),
        dov::throw(),
        hanne::waiting(),
        hanne::first_sit(),
        kitto_pia_emeka::two_steps(),
        kitto_pia_emeka::wall(),
        kitto_pia_emeka::pick_it_up(),
    ]
}

/// What every shot file needs.
mod prelude {
    pub use crate::clip::Look::{Clay, Lit, Tinted};
    pub use crate::clip::Scene;
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
