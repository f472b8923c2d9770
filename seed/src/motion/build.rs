//! The cast: four invented characters that differ in proportion.

use serde::Serialize;

/// Who plays the shot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Character {
    /// Long-limbed, narrow, a scarf that trails.
    Heron,
    /// Broad and short-legged, big hands, a woollen hat and a grey beard.
    Barrel,
    /// A child: big head, short limbs, a tuft tied up.
    Sprout,
    /// Middling height, long coat, ponytail.
    Courier,
}

/// Lengths in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Build {
    /// Hip joint to knee.
    pub thigh: f32,
    /// Knee to ankle.
    pub shin: f32,
    /// Ankle over the sole.
    pub ankle: f32,
    /// Ankle to toe.
    pub foot: f32,
    /// Hip joint off the middle.
    pub hip_half: f32,
    /// Hip to the base of the neck.
    pub spine: f32,
    /// Shoulder joint off the middle.
    pub shoulder_half: f32,
    /// Base of the neck to the underside of the head.
    pub neck: f32,
    /// Radius of the head.
    pub head: f32,
    /// Shoulder to elbow.
    pub upper_arm: f32,
    /// Elbow to wrist.
    pub forearm: f32,
    /// Wrist to fingertips.
    pub hand: f32,
    /// Thickness of limbs; 1 is middling.
    pub girth: f32,
    /// Half breadth of hips and chest.
    pub breadth: [f32; 2],
    /// Half depth of hips, belly and chest.
    pub depth: [f32; 3],
}

impl Build {
    /// The proportions of a character.
    #[must_use]
    pub const fn of(who: Character) -> Self {
        match who {
            Character::Heron => Self {
                thigh: 0.47,
                shin: 0.47,
                ankle: 0.085,
                foot: 0.23,
                hip_half: 0.085,
                spine: 0.46,
                shoulder_half: 0.165,
                neck: 0.085,
                head: 0.122,
                upper_arm: 0.30,
                forearm: 0.29,
                hand: 0.17,
                girth: 0.92,
                breadth: [0.115, 0.132],
                depth: [0.10, 0.09, 0.105],
            },
            Character::Barrel => Self {
                thigh: 0.33,
                shin: 0.32,
                ankle: 0.085,
                foot: 0.24,
                hip_half: 0.115,
                spine: 0.52,
                shoulder_half: 0.225,
                neck: 0.03,
                head: 0.155,
                upper_arm: 0.29,
                forearm: 0.27,
                hand: 0.19,
                girth: 1.35,
                breadth: [0.175, 0.215],
                depth: [0.17, 0.23, 0.19],
            },
            Character::Sprout => Self {
                thigh: 0.29,
                shin: 0.28,
                ankle: 0.075,
                foot: 0.19,
                hip_half: 0.075,
                spine: 0.34,
                shoulder_half: 0.125,
                neck: 0.03,
                head: 0.205,
                upper_arm: 0.205,
                forearm: 0.19,
                hand: 0.13,
                girth: 0.95,
                breadth: [0.11, 0.115],
                depth: [0.105, 0.115, 0.10],
            },
            Character::Courier => Self {
                thigh: 0.41,
                shin: 0.41,
                ankle: 0.085,
                foot: 0.22,
                hip_half: 0.09,
                spine: 0.45,
                shoulder_half: 0.16,
                neck: 0.06,
                head: 0.138,
                upper_arm: 0.27,
                forearm: 0.25,
                hand: 0.16,
                girth: 1.0,
                breadth: [0.135, 0.14],
                depth: [0.115, 0.105, 0.11],
            },
        }
    }

    /// Hip joint to ankle, stretched.
    #[must_use]
    pub fn leg(&self) -> f32 {
        self.thigh + self.shin
    }

    /// Shoulder to wrist, stretched.
    #[must_use]
    pub fn arm(&self) -> f32 {
        self.upper_arm + self.forearm
    }

    /// Standing height.
    #[must_use]
    pub fn height(&self) -> f32 {
        self.ankle + self.leg() + self.spine + self.neck + 2.0 * self.head
    }
}
