//! What the figures do: eight acts, each with room for variation.

mod jump;
mod lift;
mod sit;
mod sneak;
mod take;
mod throw;
mod walk;
mod wave;

use serde::Serialize;

use super::act::Act;
use super::build::Build;

/// The kind of act.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// Down off a ledge, then a reach for the lantern.
    Jump,
    /// In from the side, a stop, a look round.
    Walk,
    /// A heavy crate off the floor.
    Lift,
    /// On tiptoe past a door.
    Sneak,
    /// A sound behind; a turn and a take.
    Take,
    /// Wind up and throw a ball.
    Throw,
    /// Down onto a crate.
    Sit,
    /// A wave, then waiting.
    Wave,
}

/// How one shot varies an act.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Variation {
    /// Size of the poses; 1 as keyed.
    pub vigour: f32,
    /// Degrees the figure is turned towards the camera.
    pub open: f32,
    /// Played to the left instead of the right.
    pub mirrored: bool,
}

/// The act for a body.
#[must_use]
pub fn act(action: Action, b: &Build, v: &Variation) -> Act {
    let act = match action {
        Action::Jump => jump::act(b, v),
        Action::Walk => walk::act(b, v),
        Action::Lift => lift::act(b, v),
        Action::Sneak => sneak::act(b, v),
        Action::Take => take::act(b, v),
        Action::Throw => throw::act(b, v),
        Action::Sit => sit::act(b, v),
        Action::Wave => wave::act(b, v),
    };
    if v.mirrored { act.mirror() } else { act }
}

/// Height of the ledge of [`Action::Jump`], metres.
pub const LEDGE: f32 = 0.72;
/// Where that ledge ends.
pub const LEDGE_EDGE_X: f32 = -1.02;
/// The lantern of [`Action::Jump`], at the height of the reach of a body.
#[must_use]
pub fn lantern(b: &Build) -> crate::math::V3 {
    let wrist_x = 0.04 + 0.90 * b.arm();
    crate::math::v3(
        wrist_x + lantern_handle(b),
        b.ankle + b.leg() + b.spine * 1.02,
        -0.12,
    )
}
/// How far from the lantern's middle the wrist stays when the fingers touch its glass, metres.
#[must_use]
pub fn lantern_handle(b: &Build) -> f32 {
    0.09 + 0.85 * b.hand
}
/// Height of the seat of [`Action::Sit`] for a body, metres.
#[must_use]
pub fn seat(b: &Build) -> f32 {
    b.ankle + b.shin * 0.96
}
/// Middle of that seat.
pub const SEAT_X: f32 = -0.28;
/// Half the crate of [`Action::Lift`], metres.
pub const CRATE_HALF: f32 = 0.2;
