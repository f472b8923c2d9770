//! One revision of a performance: every frame's joints, prop, face, cloth and hair.

use serde::Serialize;

use crate::math::{Axes, V3, bump, v3};

use super::act::{Act, Ch, Channels, Foot};
use super::build::{Build, Character};
use super::chain::{Hang, trail};
use super::fault::{Fault, FaultKind, Placed};
use super::skeleton::{
    ARMS, Joint, LEGS, Trunk, carried_wrist, elbow_pole, foot_joints, hip_height, trunk, two_bones,
};
use super::warp::Warp;
use super::{flow, path};

/// Which frames show a drawing of their own.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stepping {
    /// Every frame.
    Ones,
    /// Every second frame.
    Twos,
    /// Poses held from key to key; frames of the unretimed performance.
    Poses(&'static [f32]),
}

/// Everything the picture of one frame needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Pose {
    /// Joints in the order of [`Joint`].
    pub joints: [V3; 21],
    /// Pelvis, chest and head with their axes.
    pub trunk: Trunk,
    /// Which feet stand: right, left.
    pub planted: [bool; 2],
    /// The prop's middle.
    pub prop: V3,
    /// The prop's turn in the picture plane, degrees.
    pub prop_turn: f32,
    /// Face and other channels.
    pub channels: Channels,
    /// Scarf or coat tail, from its anchor.
    pub cloth: Vec<V3>,
    /// Tuft or ponytail, from its anchor.
    pub hair: Vec<V3>,
}

impl Pose {
    /// A joint of the figure.
    #[must_use]
    pub fn joint(&self, j: Joint) -> V3 {
        self.joints[j as usize]
    }
}

/// What a revision makes of a performance.
#[derive(Debug, Clone, Copy)]
pub struct Direction<'a> {
    /// Who plays it.
    pub character: Character,
    /// Frames a second.
    pub fps: f32,
    /// Which frames are drawn.
    pub stepping: &'a Stepping,
    /// What is wrong with it.
    pub faults: &'a [Fault],
}

/// Plays the act: one pose a frame of the revision.
#[must_use]
pub fn perform(act: &Act, warp: &Warp, d: &Direction<'_>) -> Vec<Pose> {
    let b = Build::of(d.character);
    let faults = place(d.faults, warp);
    let channels = flow::channels(act, warp, d.fps, &faults);
    let n = channels.len();
    let clean: Vec<[Foot; 2]> = (0..n)
        .map(|f| {
            let t = warp.to_performance(f as f32 + flow::alternation(&faults, f, true));
            [act.foot(0, t), act.foot(1, t)]
        })
        .collect();
    let feet = troubled_feet(&clean, &faults, b.height());
    let mut trunks: Vec<Trunk> = channels
        .iter()
        .zip(&clean)
        .map(|(c, f)| grounded_trunk(&b, c, f))
        .collect();
    shift_trunks(&mut trunks, &faults, b.height());
    let mut poses: Vec<Pose> = (0..n)
        .map(|f| Pose {
            joints: [V3::default(); 21],
            trunk: trunks[f],
            planted: feet[f].map(|x| x.planted),
            prop: v3(
                channels[f][Ch::PropX],
                channels[f][Ch::PropY],
                channels[f][Ch::PropZ],
            ),
            prop_turn: channels[f][Ch::PropTurn],
            channels: channels[f],
            cloth: Vec::new(),
            hair: Vec::new(),
        })
        .collect();
    for (pose, foot) in poses.iter_mut().zip(&feet) {
        set_trunk(pose);
        set_legs(pose, &b, foot);
    }
    for side in 0..2 {
        set_arm(&mut poses, act, &b, side, &faults);
    }
    snap(&mut poses, &faults);
    for pose in &mut poses {
        let hand = pose
            .joint(ARMS[act.carrier][2])
            .lerp(pose.joint(ARMS[act.carrier][3]), 0.9);
        pose.prop = pose.prop.lerp(hand, pose.channels[Ch::Held]);
    }
    drape(&mut poses, d.character, &b);
    hold(poses, warp, d.stepping)
}

fn place(faults: &[Fault], warp: &Warp) -> Vec<Placed> {
    let last = warp.frames() - 1;
    faults
        .iter()
        .filter(|f| f.strength > 0.0)
        .map(|&fault| Placed {
            fault,
            from: (warp.to_revision(fault.from).round().max(0.0) as usize).min(last),
            to: (warp.to_revision(fault.to).round().max(0.0) as usize).min(last),
        })
        .collect()
}

fn in_picture(fault: &Fault, length: f32) -> V3 {
    let (s, c) = fault.angle.to_radians().sin_cos();
    v3(c * length, s * length, 0.0)
}

/// Hips as keyed, lowered softly until both feet are in reach.
fn grounded_trunk(b: &Build, c: &Channels, feet: &[Foot; 2]) -> Trunk {
    let hip = v3(
        c[Ch::HipX],
        c[Ch::Lift] + hip_height(b, c[Ch::HipY]),
        c[Ch::HipZ],
    );
    let loose = trunk(b, c, hip);
    let reach = b.leg() * 0.99;
    let mut y = hip.y;
    for (side, foot) in feet.iter().enumerate() {
        let (ankle, _) = foot_joints(b, foot);
        let thigh = loose.thighs[side];
        let flat2 = (thigh.x - ankle.x).powi(2) + (thigh.z - ankle.z).powi(2);
        let top = ankle.y + (reach * reach - flat2).max(0.01).sqrt() + (hip.y - thigh.y);
        y = soft_min(y, top, 0.012);
    }
    trunk(b, c, v3(hip.x, y, hip.z))
}

/// The smaller of two, rounded off over about `r`.
fn soft_min(a: f32, b: f32, r: f32) -> f32 {
    let h = (r * 3.0 - (a - b).abs()).max(0.0) / (r * 3.0);
    a.min(b) - h * h * r * 0.75
}

fn troubled_feet(clean: &[[Foot; 2]], faults: &[Placed], height: f32) -> Vec<[Foot; 2]> {
    let mut feet = clean.to_vec();
    for p in faults {
        let side = p.fault.part.side();
        for (f, frame) in feet.iter_mut().enumerate() {
            let foot = &mut frame[side];
            let shift = p.fault.strength * height;
            match p.fault.kind {
                FaultKind::FootSlide if f > p.from => {
                    let u = ((f - p.from) as f32 / (p.to - p.from).max(1) as f32).min(1.0);
                    let back = 1.0 - crate::math::smooth((f as f32 - p.to as f32) / 12.0);
                    foot.at += in_picture(&p.fault, shift * u * back);
                }
                FaultKind::Stomp if f < p.to && f + 6 >= p.to => {
                    let wanted = shift * (f + 6 - p.to) as f32 / 5.0;
                    foot.at.y = foot.at.y.max(clean[p.to][side].at.y + wanted);
                    foot.planted = false;
                }
                FaultKind::Pop if (p.from..=p.to).contains(&f) && LEGS[side][2] == p.fault.part => {
                    foot.at += in_picture(&p.fault, shift);
                }
                _ => {}
            }
        }
    }
    feet
}

fn shift_trunks(trunks: &mut [Trunk], faults: &[Placed], height: f32) {
    for p in faults.iter().filter(|p| p.fault.kind == FaultKind::Pop) {
        let d = in_picture(&p.fault, p.fault.strength * height);
        for t in &mut trunks[p.from..=p.to] {
            match p.fault.part {
                Joint::Head => {
                    t.line[3] += d * 0.3;
                    t.line[4] += d;
                }
                Joint::Hip => {
                    for q in t
                        .line
                        .iter_mut()
                        .chain(&mut t.shoulders)
                        .chain(&mut t.thighs)
                    {
                        *q += d;
                    }
                }
                _ => {}
            }
        }
    }
}

fn set_trunk(pose: &mut Pose) {
    let t = pose.trunk;
    pose.joints[..5].copy_from_slice(&t.line);
    for side in 0..2 {
        pose.joints[ARMS[side][0] as usize] = t.shoulders[side];
        pose.joints[LEGS[side][0] as usize] = t.thighs[side];
    }
}

fn set_legs(pose: &mut Pose, b: &Build, feet: &[Foot; 2]) {
    for (side, foot) in feet.iter().enumerate() {
        let (ankle, toe) = foot_joints(b, foot);
        let out = if side == 0 { 0.16 } else { -0.16 };
        let pole = (pose.trunk.pelvis.forward
            + Axes::facing(foot.yaw).forward
            + pose.trunk.pelvis.right * out)
            .unit();
        let (knee, end) = two_bones(
            pose.trunk.thighs[side],
            ankle,
            b.thigh,
            b.shin,
            pole,
            foot.planted,
        );
        pose.joints[LEGS[side][1] as usize] = knee;
        pose.joints[LEGS[side][2] as usize] = end;
        pose.joints[LEGS[side][3] as usize] = toe + (end - ankle);
    }
}

fn set_arm(poses: &mut [Pose], act: &Act, b: &Build, side: usize, faults: &[Placed]) {
    let [shoulder, elbow, wrist, hand] = ARMS[side];
    let grip = if side == 0 { Ch::GripR } else { Ch::GripL };
    let mut rel: Vec<V3> = poses
        .iter()
        .map(|p| {
            let h = act.handles[side];
            let handle = p.trunk.pelvis.place(p.prop, h.x, h.y, h.z);
            carried_wrist(b, &p.channels, &p.trunk, side).lerp(handle, p.channels[grip])
                - p.joint(shoulder)
        })
        .collect();
    let mine: Vec<Placed> = faults
        .iter()
        .copied()
        .filter(|p| p.fault.part == wrist)
        .collect();
    path::bend(&mut rel, &mine);
    let mut goal: Vec<V3> = poses
        .iter()
        .zip(&rel)
        .map(|(p, r)| p.joint(shoulder) + *r)
        .collect();
    displace(&mut goal, &mine, b.height());
    let mut trailing = V3::default();
    for (pose, goal) in poses.iter_mut().zip(goal) {
        let pole = elbow_pole(&pose.channels, &pose.trunk, side);
        let (mid, end) = two_bones(
            pose.joint(shoulder),
            goal,
            b.upper_arm,
            b.forearm,
            pole,
            false,
        );
        let along = (end - mid).unit();
        let bend = pose.channels[if side == 0 { Ch::HandR } else { Ch::HandL }].to_radians();
        let up = (-pole - along * (-pole).dot(along)).unit();
        let aim = along * bend.cos() + up * bend.sin();
        trailing = if trailing == V3::default() {
            aim
        } else {
            aim.lerp(trailing, 0.38).unit()
        };
        pose.joints[elbow as usize] = mid;
        pose.joints[wrist as usize] = end;
        pose.joints[hand as usize] = end + trailing * b.hand;
    }
}

/// Pops and pinned wrists, in the stage.
fn displace(goal: &mut [V3], faults: &[Placed], height: f32) {
    for p in faults {
        match p.fault.kind {
            FaultKind::Pop => {
                let d = in_picture(&p.fault, p.fault.strength * height);
                for g in &mut goal[p.from..=p.to] {
                    *g += d;
                }
            }
            FaultKind::Pinned => {
                let nail = goal[(p.from + p.to) / 2];
                for (f, g) in goal.iter_mut().enumerate() {
                    let e = bump(f as f32, p.from as f32 + 4.0, p.to as f32 - 4.0, 4.0);
                    *g = g.lerp(nail, e * p.fault.strength);
                }
            }
            _ => {}
        }
    }
}

/// A knee or elbow is drawn onto the line between its neighbours.
fn snap(poses: &mut [Pose], faults: &[Placed]) {
    for p in faults.iter().filter(|p| p.fault.kind == FaultKind::Snap) {
        let Some(chain) = ARMS.iter().chain(&LEGS).find(|c| c[1] == p.fault.part) else {
            continue;
        };
        for pose in &mut poses[p.from..=p.to] {
            let (a, m, e) = (
                pose.joint(chain[0]),
                pose.joint(chain[1]),
                pose.joint(chain[2]),
            );
            let line = e - a;
            let on = a + line * ((m - a).dot(line) / line.dot(line).max(1e-9));
            pose.joints[chain[1] as usize] = m.lerp(on, p.fault.strength);
        }
    }
}

fn drape(poses: &mut [Pose], who: Character, b: &Build) {
    let hair: Vec<(V3, V3)> = poses
        .iter()
        .map(|p| {
            let h = p.trunk.head;
            match who {
                Character::Sprout => (
                    h.place(p.joint(Joint::Head), -0.15 * b.head, 1.0 * b.head, 0.0),
                    (h.up - h.forward * 0.6).unit(),
                ),
                _ => (
                    h.place(p.joint(Joint::Head), -0.95 * b.head, 0.25 * b.head, 0.0),
                    (-h.forward - h.up * 0.8).unit(),
                ),
            }
        })
        .collect();
    let cloth: Vec<(V3, V3)> = poses
        .iter()
        .map(|p| {
            let c = p.trunk.chest;
            (
                c.place(p.joint(Joint::Neck), -0.55 * b.depth[2], 0.02, 0.02),
                (-c.forward - c.up * 1.4 + c.right * 0.2).unit(),
            )
        })
        .collect();
    let (tuft, scarf) = (
        Hang {
            points: 3,
            link: b.head * 0.36,
            keep: 0.88,
            stiff: if who == Character::Sprout { 0.55 } else { 0.16 },
        },
        Hang {
            points: 5,
            link: 0.095,
            keep: 0.93,
            stiff: 0.07,
        },
    );
    let (hair, cloth) = (trail(&hair, &tuft), trail(&cloth, &scarf));
    for ((pose, h), c) in poses.iter_mut().zip(hair).zip(cloth) {
        pose.hair = h;
        pose.cloth = c;
    }
}

/// Holds drawings as the stepping asks.
fn hold(poses: Vec<Pose>, warp: &Warp, stepping: &Stepping) -> Vec<Pose> {
    let shown = |f: usize| match stepping {
        Stepping::Ones => f,
        Stepping::Twos => f - f % 2,
        Stepping::Poses(keys) => keys
            .iter()
            .map(|&t| warp.to_revision(t).round().max(0.0) as usize)
            .filter(|&k| k <= f)
            .max()
            .unwrap_or(0),
    };
    (0..poses.len()).map(|f| poses[shown(f)].clone()).collect()
}
