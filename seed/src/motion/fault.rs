//! Faults: what a student's picture gets wrong, as parameters on top of the clean performance.

use serde::Serialize;

use super::skeleton::Joint;

/// The kind of fault; the unit of its strength stands beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FaultKind {
    /// Out of place for one frame; displacement in standing heights.
    Pop,
    /// A limb at speed stops from one frame to the next; share of its slow-out taken away.
    DeadStop,
    /// A limb creeps into its pose; frames of drift added.
    SlowSettle,
    /// The arc of a limb flattened; share of the arc taken away.
    StraightPath,
    /// Gaps alternately wide and narrow; alternation, 1 is plus and minus a half.
    UnevenSpacing,
    /// The other arm does the same at the same time; 1 is no lag at all.
    InStep,
    /// Hips, chest, head and arms start together; share of the offsets taken away.
    OneBlock,
    /// A part hangs in the air while the body moves; share of its travel taken away.
    Pinned,
    /// A planted foot creeps; distance in standing heights.
    FootSlide,
    /// A foot comes down in its last frame; drop in standing heights.
    Stomp,
    /// A bent joint straightens for a moment; share of the bend taken away.
    Snap,
    /// The move before the move is missing; share of it taken away.
    WeakAnticipation,
}

/// A fault at one place of the performance. Frames are frames of the unretimed performance, so they travel with it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Fault {
    /// What is wrong.
    pub kind: FaultKind,
    /// Where on the body.
    pub part: Joint,
    /// First frame.
    pub from: f32,
    /// Last frame.
    pub to: f32,
    /// How much, in the unit of the kind.
    pub strength: f32,
    /// Direction of a displacement in the picture, degrees, 0 to the right, 90 up.
    pub angle: f32,
}

impl Fault {
    /// The same fault at another strength; 0 is none.
    #[must_use]
    pub const fn at(self, strength: f32) -> Self {
        Self { strength, ..self }
    }
}

/// A fault with its span in frames of one revision.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// The fault.
    pub fault: Fault,
    /// First frame of the revision.
    pub from: usize,
    /// Last frame of the revision.
    pub to: usize,
}
