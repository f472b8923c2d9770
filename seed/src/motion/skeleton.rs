//! From channels to joints: spine and head forward, limbs by two-bone inverse kinematics.

use serde::Serialize;

use crate::math::{Axes, V3};

use super::act::{Ch, Channels, Foot};
use super::build::Build;

/// A named place of the figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(into = "&'static str")]
#[repr(usize)]
#[expect(missing_docs, reason = "the names are the anatomy's")]
pub enum Joint {
    Hip,
    Waist,
    Chest,
    Neck,
    Head,
    ShoulderRight,
    ElbowRight,
    WristRight,
    HandRight,
    ShoulderLeft,
    ElbowLeft,
    WristLeft,
    HandLeft,
    ThighRight,
    KneeRight,
    AnkleRight,
    ToeRight,
    ThighLeft,
    KneeLeft,
    AnkleLeft,
    ToeLeft,
}

/// Every joint in order of its number.
pub const JOINTS: [Joint; 21] = {
    use Joint::*;
    [
        Hip,
        Waist,
        Chest,
        Neck,
        Head,
        ShoulderRight,
        ElbowRight,
        WristRight,
        HandRight,
        ShoulderLeft,
        ElbowLeft,
        WristLeft,
        HandLeft,
        ThighRight,
        KneeRight,
        AnkleRight,
        ToeRight,
        ThighLeft,
        KneeLeft,
        AnkleLeft,
        ToeLeft,
    ]
};

/// The arm of a side (0 right, 1 left): shoulder, elbow, wrist, hand.
pub const ARMS: [[Joint; 4]; 2] = {
    use Joint::*;
    [
        [ShoulderRight, ElbowRight, WristRight, HandRight],
        [ShoulderLeft, ElbowLeft, WristLeft, HandLeft],
    ]
};

/// The leg of a side (0 right, 1 left): thigh, knee, ankle, toe.
pub const LEGS: [[Joint; 4]; 2] = {
    use Joint::*;
    [
        [ThighRight, KneeRight, AnkleRight, ToeRight],
        [ThighLeft, KneeLeft, AnkleLeft, ToeLeft],
    ]
};

impl Joint {
    /// The name notes and measures use, with the side behind a point.
    #[must_use]
    pub const fn name(self) -> &'static str {
        use Joint::*;
        match self {
            Hip => "hip",
            Waist => "waist",
            Chest => "chest",
            Neck => "neck",
            Head => "head",
            ShoulderRight => "shoulder.right",
            ElbowRight => "elbow.right",
            WristRight => "wrist.right",
            HandRight => "hand.right",
            ShoulderLeft => "shoulder.left",
            ElbowLeft => "elbow.left",
            WristLeft => "wrist.left",
            HandLeft => "hand.left",
            ThighRight => "thigh.right",
            KneeRight => "knee.right",
            AnkleRight => "ankle.right",
            ToeRight => "toe.right",
            ThighLeft => "thigh.left",
            KneeLeft => "knee.left",
            AnkleLeft => "ankle.left",
            ToeLeft => "toe.left",
        }
    }

    /// 1 for a joint of the left side, else 0.
    #[must_use]
    pub const fn side(self) -> usize {
        use Joint::*;
        matches!(
            self,
            ShoulderLeft
                | ElbowLeft
                | WristLeft
                | HandLeft
                | ThighLeft
                | KneeLeft
                | AnkleLeft
                | ToeLeft
        ) as usize
    }
}

impl From<Joint> for &'static str {
    fn from(j: Joint) -> Self {
        j.name()
    }
}

/// The trunk of one frame: everything that does not depend on hands and feet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trunk {
    /// Axes of the pelvis.
    pub pelvis: Axes,
    /// Axes of the chest.
    pub chest: Axes,
    /// Axes of the head.
    pub head: Axes,
    /// Axes the arms hang in.
    pub arms: Axes,
    /// Hip, waist, chest, neck, head.
    pub line: [V3; 5],
    /// Shoulders, right and left.
    pub shoulders: [V3; 2],
    /// Hip joints, right and left.
    pub thighs: [V3; 2],
}

/// Height of the hips over the ground for a value of `HipY`.
#[must_use]
pub fn hip_height(b: &Build, hip_y: f32) -> f32 {
    b.ankle + b.leg() * (0.980 + hip_y)
}

/// Solves the trunk; `hip` is the middle of the hips in the stage.
#[must_use]
pub fn trunk(b: &Build, c: &Channels, hip: V3) -> Trunk {
    let upright = Axes::facing(c[Ch::HipYaw]);
    let pelvis = upright.bent(c[Ch::HipPitch], c[Ch::HipRoll]);
    let chest_yaw = c[Ch::HipYaw] - c[Ch::Twist];
    let mid = Axes::facing(chest_yaw + c[Ch::Twist] * 0.5).bent(
        c[Ch::HipPitch] * 0.7 + c[Ch::Lean] * 0.35,
        c[Ch::HipRoll] * 0.4 + c[Ch::Side] * 0.4,
    );
    let chest = Axes::facing(chest_yaw).bent(c[Ch::HipPitch] * 0.5 + c[Ch::Lean], c[Ch::Side]);
    let waist = hip + pelvis.up * (b.spine * 0.20) + mid.up * (b.spine * 0.16);
    let ribs = waist + mid.up * (b.spine * 0.18) + chest.up * (b.spine * 0.16);
    let neck = ribs + chest.up * (b.spine * 0.30);
    let head = Axes::facing(chest_yaw)
        .bent(c[Ch::Lean] * 0.45, c[Ch::Side] * 0.4)
        .turned(c[Ch::HeadYaw])
        .bent(c[Ch::HeadPitch], c[Ch::HeadTilt]);
    let nape = (chest.up + head.up).unit();
    let skull = neck
        + nape * (b.neck + b.head * 0.25)
        + head.up * (b.head * 0.78)
        + head.forward * (b.head * 0.18);
    let arms = Axes::facing(chest_yaw).bent(
        (c[Ch::HipPitch] * 0.5 + c[Ch::Lean]) * 0.55,
        c[Ch::Side] * 0.55,
    );
    let shoulder =
        |s: f32| neck - chest.up * (b.spine * 0.06) + chest.right * (s * b.shoulder_half);
    let thigh = |s: f32| hip + pelvis.right * (s * b.hip_half) - pelvis.up * 0.015;
    Trunk {
        pelvis,
        chest,
        head,
        arms,
        line: [hip, waist, ribs, neck, skull],
        shoulders: [shoulder(1.0), shoulder(-1.0)],
        thighs: [thigh(1.0), thigh(-1.0)],
    }
}

/// Where the wrist of `side` is carried by its channels.
#[must_use]
pub fn carried_wrist(b: &Build, c: &Channels, t: &Trunk, side: usize) -> V3 {
    let [swing, out, reach] = super::act::arm_channels(side).map(|ch| c[ch]);
    let (ss, cs) = swing.to_radians().sin_cos();
    let (so, co) = out.to_radians().sin_cos();
    let hand = if side == 0 { 1.0 } else { -1.0 };
    t.arms.place(
        t.shoulders[side],
        b.arm() * reach * ss * co,
        -b.arm() * reach * cs * co,
        b.arm() * reach * so * hand,
    )
}

/// Direction the elbow of `side` points to.
#[must_use]
pub fn elbow_pole(c: &Channels, t: &Trunk, side: usize) -> V3 {
    let (swing, flare) = if side == 0 {
        (c[Ch::SwingR], c[Ch::FlareR])
    } else {
        (c[Ch::SwingL], c[Ch::FlareL])
    };
    let hand = if side == 0 { 1.0 } else { -1.0 };
    let (ss, cs) = swing.to_radians().sin_cos();
    let (sf, cf) = (flare + 28.0).to_radians().sin_cos();
    (t.arms.forward * (-cs * cf) + t.arms.up * (-ss * cf) + t.arms.right * (sf * hand)).unit()
}

/// Middle joint and end of a two-bone limb from `a` towards `end`. The end is pulled in when out of reach, unless `stretch`.
#[must_use]
pub fn two_bones(a: V3, end: V3, l1: f32, l2: f32, pole: V3, stretch: bool) -> (V3, V3) {
    let to = end - a;
    let full = (l1 + l2) * 0.9985;
    let d = to.length().max((l1 - l2).abs() + 1e-3);
    let k = if stretch { (d / full).max(1.0) } else { 1.0 };
    let d = if stretch { d } else { softened(d, full) };
    let (l1, l2, d) = (l1 * k, l2 * k, d.min(full * k));
    let dir = to.unit();
    let along = (l1 * l1 - l2 * l2 + d * d) / (2.0 * d);
    let off = (l1 * l1 - along * along).max(0.0).sqrt();
    let side = (pole - dir * pole.dot(dir)).unit();
    (a + dir * along + side * off, a + dir * d)
}

/// A distance that nears `full` ever slower instead of running into it.
fn softened(d: f32, full: f32) -> f32 {
    let rim = full * 0.03;
    if d <= full - rim {
        d
    } else {
        full - rim * (-(d - (full - rim)) / rim).exp()
    }
}

/// Ankle and toe of a foot.
#[must_use]
pub fn foot_joints(b: &Build, f: &Foot) -> (V3, V3) {
    let ax = Axes::facing(f.yaw);
    let ankle = f.at + V3::UP * b.ankle;
    let toe = f.at + ax.forward * (b.foot * 0.8) + V3::UP * (b.ankle * 0.38);
    let (s, c) = f.pitch.to_radians().sin_cos();
    let turn = |v: V3| {
        let (x, y) = (v.dot(ax.forward), v.y);
        ax.forward * (x * c + y * s) + V3::UP * (y * c - x * s)
    };
    if f.pitch > 0.0 {
        (toe + turn(ankle - toe), toe)
    } else {
        (ankle, ankle + turn(toe - ankle))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::v3;

    #[test]
    fn bones_keep_their_length() {
        let (mid, end) = two_bones(
            v3(0.0, 1.0, 0.0),
            v3(0.2, 0.4, 0.1),
            0.4,
            0.45,
            v3(1.0, 0.0, 0.0),
            false,
        );
        assert!(((mid - v3(0.0, 1.0, 0.0)).length() - 0.4).abs() < 1e-5);
        assert!(((end - mid).length() - 0.45).abs() < 1e-5);
    }

    #[test]
    fn a_raised_heel_leaves_the_toe_where_it_is() {
        let b = Build::of(super::super::build::Character::Heron);
        let flat = Foot {
            at: v3(0.3, 0.0, 0.1),
            yaw: 10.0,
            pitch: 0.0,
            planted: true,
        };
        let (a0, t0) = foot_joints(&b, &flat);
        let (a1, t1) = foot_joints(
            &b,
            &Foot {
                pitch: 30.0,
                ..flat
            },
        );
        assert!((t1 - t0).length() < 1e-6);
        assert!(a1.y > a0.y + 0.05);
    }
}
