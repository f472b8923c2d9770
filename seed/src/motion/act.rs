//! A performance before it is retimed: keyed channels and the steps of both feet.

use crate::math::{V3, ease, smooth, v3};

use super::curve::{Curve, Key};

/// What can be keyed. Angles in degrees, lengths in metres, `HipY` in leg lengths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(usize)]
#[expect(
    missing_docs,
    reason = "the names are the trade's; `Act` says the units"
)]
pub enum Ch {
    HipX,
    HipY,
    HipZ,
    Lift,
    HipYaw,
    HipRoll,
    HipPitch,
    Lean,
    Side,
    Twist,
    HeadYaw,
    HeadPitch,
    HeadTilt,
    SwingR,
    OutR,
    ReachR,
    FlareR,
    HandR,
    SwingL,
    OutL,
    ReachL,
    FlareL,
    HandL,
    LookYaw,
    LookPitch,
    Lid,
    Brow,
    Mouth,
    PropX,
    PropY,
    PropZ,
    PropTurn,
    GripR,
    GripL,
    Held,
}

/// How many channels there are.
pub const CHANNELS: usize = Ch::Held as usize + 1;

/// The value of every channel at one frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Channels(pub [f32; CHANNELS]);

impl std::ops::Index<Ch> for Channels {
    type Output = f32;
    fn index(&self, c: Ch) -> &f32 {
        &self.0[c as usize]
    }
}

impl std::ops::IndexMut<Ch> for Channels {
    fn index_mut(&mut self, c: Ch) -> &mut f32 {
        &mut self.0[c as usize]
    }
}

/// The three angles-and-reach channels of one arm, by side (0 right, 1 left).
#[must_use]
pub const fn arm_channels(side: usize) -> [Ch; 3] {
    if side == 0 {
        [Ch::SwingR, Ch::OutR, Ch::ReachR]
    } else {
        [Ch::SwingL, Ch::OutL, Ch::ReachL]
    }
}

/// One foot travels from where it stands to `to`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Leaves the ground.
    pub t0: f32,
    /// Stands again.
    pub t1: f32,
    /// New place of the sole under the ankle.
    pub to: V3,
    /// New heading, degrees as `HipYaw`.
    pub yaw: f32,
    /// Height of the swing over the straight line, metres.
    pub lift: f32,
    /// Degrees the heel comes up before leaving and the toe before landing.
    pub roll: f32,
    /// Thrown through the air with the body: even in x, a parabola in y.
    pub thrown: bool,
}

impl Step {
    /// Walking lands on the heel, jumping on the ball.
    fn landing_pitch(&self) -> f32 {
        self.roll * if self.thrown { 1.15 } else { -0.55 }
    }
}

/// Where a foot is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foot {
    /// The sole under the ankle.
    pub at: V3,
    /// Heading, degrees.
    pub yaw: f32,
    /// Degrees: positive heel up over the ball, negative toe up over the heel.
    pub pitch: f32,
    /// Does it stand?
    pub planted: bool,
}

/// A keyed performance.
#[derive(Debug, Clone, PartialEq)]
pub struct Act {
    /// Length in frames before retiming.
    pub frames: usize,
    curves: Vec<Curve>,
    start: [Foot; 2],
    steps: [Vec<Step>; 2],
    /// Frames each arm trails the spine; right, left.
    pub arm_delay: [f32; 2],
    /// Where the hands take the prop, as forward, up, right of it in the pelvis' axes; right, left.
    pub handles: [V3; 2],
    /// The hand that carries the prop while `Held` is up.
    pub carrier: usize,
    /// Mirrored acts walk the other way with the sides exchanged.
    pub mirrored: bool,
}

impl Act {
    /// Standing at `x`, heading `yaw`, feet `stance` metres apart along the picture.
    #[must_use]
    pub fn standing(frames: usize, x: f32, ground: f32, yaw: f32, stance: f32) -> Self {
        let curves = vec![Curve::constant(0.0); CHANNELS];
        let foot = |s: f32| Foot {
            at: v3(x + s * stance * 0.5, ground, s * 0.09),
            yaw: yaw + s * 8.0,
            pitch: 0.0,
            planted: true,
        };
        let mut act = Self {
            frames,
            curves,
            start: [foot(1.0), foot(-1.0)],
            steps: [Vec::new(), Vec::new()],
            arm_delay: [2.0, 3.5],
            handles: [V3::default(); 2],
            carrier: 0,
            mirrored: false,
        };
        act.key(
            0.0,
            &[
                (Ch::HipX, x),
                (Ch::Lift, ground),
                (Ch::HipYaw, yaw),
                (Ch::SwingR, 4.0),
                (Ch::SwingL, 2.0),
                (Ch::OutR, 12.0),
                (Ch::OutL, 12.0),
                (Ch::ReachR, 0.96),
                (Ch::ReachL, 0.96),
                (Ch::Lid, 1.0),
            ],
        );
        act
    }

    /// Keys several channels on one frame.
    pub fn key(&mut self, t: f32, values: &[(Ch, f32)]) -> &mut Self {
        for &(c, v) in values {
            self.curves[c as usize].set(Key { t, v, slope: None });
        }
        self
    }

    /// Keys one channel with the slope it passes the frame with, value per frame.
    pub fn key_moving(&mut self, t: f32, c: Ch, v: f32, slope: f32) -> &mut Self {
        self.curves[c as usize].set(Key {
            t,
            v,
            slope: Some(slope),
        });
        self
    }

    /// Adds a step of `side` (0 right, 1 left); steps come in order of time.
    pub fn step(&mut self, side: usize, step: Step) -> &mut Self {
        self.steps[side].push(step);
        self
    }

    /// Moves where a foot stands at the start.
    pub fn stand(&mut self, side: usize, x: f32, z: f32, yaw: f32) -> &mut Self {
        let y = self.start[side].at.y;
        self.start[side].at = v3(x, y, z);
        self.start[side].yaw = yaw;
        self
    }

    /// Value of a channel.
    #[must_use]
    pub fn value(&self, c: Ch, t: f32) -> f32 {
        self.curves[c as usize].at(t)
    }

    /// The same performance to the other side of the picture: right and left exchanged.
    #[must_use]
    pub fn mirror(mut self) -> Self {
        use Ch::*;
        for c in [
            HipX, PropX, HipRoll, Side, Twist, HeadYaw, HeadTilt, LookYaw, PropTurn,
        ] {
            self.curves[c as usize].map_values(-1.0, |v| -v);
        }
        self.curves[HipYaw as usize].map_values(-1.0, |v| 180.0 - v);
        for (r, l) in [
            (SwingR, SwingL),
            (OutR, OutL),
            (ReachR, ReachL),
            (FlareR, FlareL),
            (HandR, HandL),
            (GripR, GripL),
        ] {
            self.curves.swap(r as usize, l as usize);
        }
        self.steps.swap(0, 1);
        self.start.swap(0, 1);
        self.arm_delay.swap(0, 1);
        self.handles.swap(0, 1);
        for h in &mut self.handles {
            h.z = -h.z;
        }
        self.carrier = 1 - self.carrier;
        for f in &mut self.start {
            f.at.x = -f.at.x;
            f.yaw = 180.0 - f.yaw;
        }
        for s in self.steps.iter_mut().flatten() {
            s.to.x = -s.to.x;
            s.yaw = 180.0 - s.yaw;
        }
        self.mirrored = !self.mirrored;
        self
    }

    /// A foot at `t`.
    #[must_use]
    pub fn foot(&self, side: usize, t: f32) -> Foot {
        let mut f = self.start[side];
        for s in &self.steps[side] {
            let heel_up = s.roll * smooth((t - s.t0 + 5.0) / 5.0);
            if t <= s.t0 {
                f.pitch = f.pitch.max(heel_up);
                return f;
            }
            if t < s.t1 {
                return swing(f, s, (t - s.t0) / (s.t1 - s.t0));
            }
            f = Foot {
                at: s.to,
                yaw: s.yaw,
                pitch: s.landing_pitch() * (1.0 - smooth((t - s.t1) / 4.0)),
                planted: true,
            };
        }
        f
    }
}

/// Even travel after a soft start over the first part of the way.
fn pushed(u: f32) -> f32 {
    let a = 0.24;
    (if u < a {
        u * u / (2.0 * a)
    } else {
        u - a * 0.5
    }) / (1.0 - a * 0.5)
}

fn swing(from: Foot, s: &Step, u: f32) -> Foot {
    let along = if s.thrown { pushed(u) } else { ease(u) };
    let mut at = from.at.lerp(s.to, along);
    let rise = if s.thrown {
        at.y = from.at.y + (s.to.y - from.at.y) * along * along;
        4.0 * along * (1.0 - along)
    } else {
        (std::f32::consts::PI * u.powf(0.85)).sin().powi(2)
    };
    at.y += s.lift * rise;
    Foot {
        at,
        yaw: from.yaw + (s.yaw - from.yaw) * smooth(u),
        pitch: s.roll + (s.landing_pitch() - s.roll) * smooth(u * 1.05),
        planted: false,
    }
}
