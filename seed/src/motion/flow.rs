//! Channels over the frames of a revision: successive parts start late, arms and head swing past and settle.

use crate::math::{bump, smooth};

use super::act::{Act, CHANNELS, Ch, Channels, arm_channels};
use super::fault::{FaultKind, Placed};
use super::skeleton::Joint;
use super::warp::Warp;

/// Quarter frames.
const SUB: usize = 4;
/// Frames simulated before the first one, so springs are at rest.
const LEAD: usize = 24;

/// Frames a channel trails the hips.
fn delay(act: &Act, c: Ch) -> f32 {
    use Ch::*;
    match c {
        Lean | Side | Twist => 1.3,
        HeadYaw | HeadPitch | HeadTilt => 2.2,
        SwingR | OutR => act.arm_delay[0],
        ReachR | FlareR => act.arm_delay[0] + 0.7,
        HandR => act.arm_delay[0] + 1.5,
        SwingL | OutL => act.arm_delay[1],
        ReachL | FlareL => act.arm_delay[1] + 0.7,
        HandL => act.arm_delay[1] + 1.5,
        _ => 0.0,
    }
}

/// Natural frequency (Hz) and damping of the channels that overshoot.
fn spring(c: Ch) -> Option<(f32, f32)> {
    use Ch::*;
    match c {
        SwingR | SwingL | OutR | OutL => Some((3.3, 0.66)),
        ReachR | ReachL => Some((4.4, 0.85)),
        HandR | HandL => Some((3.2, 0.5)),
        HeadYaw | HeadPitch | HeadTilt => Some((4.2, 0.72)),
        _ => None,
    }
}

const ALL: [Ch; CHANNELS] = {
    use Ch::*;
    [
        HipX, HipY, HipZ, Lift, HipYaw, HipRoll, HipPitch, Lean, Side, Twist, HeadYaw, HeadPitch,
        HeadTilt, SwingR, OutR, ReachR, FlareR, HandR, SwingL, OutL, ReachL, FlareL, HandL,
        LookYaw, LookPitch, Lid, Brow, Mouth, PropX, PropY, PropZ, PropTurn, GripR, GripL, Held,
    ]
};

/// Every channel on every frame of the revision.
pub fn channels(act: &Act, warp: &Warp, fps: f32, faults: &[Placed]) -> Vec<Channels> {
    let frames = warp.frames();
    let mut out = vec![Channels([0.0; CHANNELS]); frames];
    for c in ALL {
        let late = sampled(act, warp, frames, c, delay(act, c), faults);
        let flowing = match spring(c) {
            Some((hz, damping)) => sprung(&late, hz / fps, damping),
            None => late,
        };
        let flowing = every_frame(&flowing, frames);
        for (to, v) in out.iter_mut().zip(flowing) {
            to[c] = v;
        }
    }
    if faults.iter().any(|p| p.fault.kind == FaultKind::OneBlock) {
        start_together(&mut out, act, warp, faults);
    }
    in_step(&mut out, faults);
    breathe(&mut out, fps);
    uneven_body(&out, faults)
}

/// A channel on quarter frames, softened over a frame to both sides.
fn sampled(
    act: &Act,
    warp: &Warp,
    frames: usize,
    c: Ch,
    delay: f32,
    faults: &[Placed],
) -> Vec<f32> {
    let n = (frames + LEAD) * SUB;
    let raw: Vec<f32> = (0..n + 2 * SUB)
        .map(|q| {
            let f = (q as f32 - SUB as f32) / SUB as f32 - LEAD as f32 - delay;
            weakened(act, c, warp.to_performance(f), faults)
        })
        .collect();
    (0..n)
        .map(|q| {
            let (mut sum, mut weight) = (0.0, 0.0);
            for k in 0..=2 * SUB {
                let w = (SUB + 1) as f32 - (k as f32 - SUB as f32).abs();
                sum += raw[q + k] * w;
                weight += w;
            }
            sum / weight
        })
        .collect()
}

fn every_frame(quarters: &[f32], frames: usize) -> Vec<f32> {
    (0..frames).map(|f| quarters[(f + LEAD) * SUB]).collect()
}

/// A damped spring that follows `target`; `per_frame` is its natural frequency in cycles a frame.
fn sprung(target: &[f32], per_frame: f32, damping: f32) -> Vec<f32> {
    let w = std::f32::consts::TAU * per_frame / SUB as f32;
    let (mut x, mut v) = (target.first().copied().unwrap_or(0.0), 0.0);
    target
        .iter()
        .map(|t| {
            v += w * w * (t - x) - 2.0 * damping * w * v;
            x += v;
            x
        })
        .collect()
}

/// The value with any missing anticipation taken out: the curve runs straight on over the fault's span.
fn weakened(act: &Act, c: Ch, t: f32, faults: &[Placed]) -> f32 {
    let mut v = act.value(c, t);
    for p in faults
        .iter()
        .filter(|p| p.fault.kind == FaultKind::WeakAnticipation)
    {
        let (a, b) = (p.fault.from, p.fault.to);
        if t > a && t < b {
            let straight =
                act.value(c, a) + (act.value(c, b) - act.value(c, a)) * smooth((t - a) / (b - a));
            v += (straight - v) * p.fault.strength;
        }
    }
    v
}

/// Takes lag and overshoot out where the parts start as one.
fn start_together(out: &mut [Channels], act: &Act, warp: &Warp, faults: &[Placed]) {
    for c in ALL {
        let block = every_frame(&sampled(act, warp, out.len(), c, 0.0, faults), out.len());
        for (f, (to, v)) in out.iter_mut().zip(block).enumerate() {
            to[c] += (v - to[c]) * together(faults, f as f32);
        }
    }
}

/// How much the parts start as one at frame `f`.
fn together(faults: &[Placed], f: f32) -> f32 {
    faults
        .iter()
        .filter(|p| p.fault.kind == FaultKind::OneBlock)
        .map(|p| p.fault.strength * bump(f, p.from as f32, p.to as f32, 4.0))
        .fold(0.0, f32::max)
}

fn in_step(out: &mut [Channels], faults: &[Placed]) {
    for p in faults.iter().filter(|p| p.fault.kind == FaultKind::InStep) {
        let follower = p.fault.part.side();
        let source = out.to_vec();
        let lag = 7.0 * (1.0 - p.fault.strength);
        for (f, frame) in out.iter_mut().enumerate() {
            let e = bump(f as f32, p.from as f32, p.to as f32, 5.0);
            let led = between(&source, f as f32 - lag);
            for (to, from) in arm_channels(follower)
                .into_iter()
                .zip(arm_channels(1 - follower))
            {
                frame[to] += (led[from] - frame[to]) * e;
            }
        }
    }
}

/// A body at rest is not a statue: the chest rises and falls a little.
fn breathe(out: &mut [Channels], fps: f32) {
    for (f, c) in out.iter_mut().enumerate() {
        let phase = std::f32::consts::TAU * f as f32 / (fps * 2.6);
        c[Ch::Lean] -= 0.7 * phase.sin();
        c[Ch::HeadPitch] += 0.5 * (phase - 0.6).sin();
    }
}

fn uneven_body(out: &[Channels], faults: &[Placed]) -> Vec<Channels> {
    (0..out.len())
        .map(|f| between(out, f as f32 + alternation(faults, f, true)))
        .collect()
}

/// Frames the clock of the body (or of a limb) runs ahead at `f`.
pub fn alternation(faults: &[Placed], f: usize, body: bool) -> f32 {
    faults
        .iter()
        .filter(|p| p.fault.kind == FaultKind::UnevenSpacing && (p.from..=p.to).contains(&f))
        .filter(|p| (p.fault.part == Joint::Hip) == body)
        .map(|p| {
            p.fault.strength
                * if (f - p.from).is_multiple_of(2) {
                    0.25
                } else {
                    -0.25
                }
        })
        .sum()
}

fn between(frames: &[Channels], f: f32) -> Channels {
    let last = frames.len() - 1;
    let f = f.clamp(0.0, last as f32);
    let (i, u) = (f as usize, f.fract());
    let (a, b) = (&frames[i], &frames[(i + 1).min(last)]);
    let mut c = *a;
    for (x, y) in c.0.iter_mut().zip(b.0) {
        *x += (y - *x) * u;
    }
    c
}
