//! Faults of a limb's path: a list of positions relative to the shoulder, one a frame, bent to the fault.

use crate::math::{V3, smooth, v3};

use super::fault::{FaultKind, Placed};
use super::flow::alternation;

/// Applies every path fault of one wrist. `rel` is relative to the shoulder, metres.
pub fn bend(rel: &mut [V3], faults: &[Placed]) {
    for p in faults {
        match p.fault.kind {
            FaultKind::StraightPath => straighten(rel, p),
            FaultKind::DeadStop => stop_dead(rel, p),
            FaultKind::SlowSettle => creep(rel, p),
            FaultKind::UnevenSpacing => {
                let source = rel.to_vec();
                let one = [*p];
                for f in p.from..=p.to.min(rel.len() - 1) {
                    rel[f] = at(&source, f as f32 + alternation(&one, f, false));
                }
            }
            _ => {}
        }
    }
}

fn at(x: &[V3], f: f32) -> V3 {
    let last = x.len() - 1;
    let f = f.clamp(0.0, last as f32);
    let i = f as usize;
    x[i].lerp(x[(i + 1).min(last)], f.fract())
}

fn straighten(x: &mut [V3], p: &Placed) {
    let (a, b) = (x[p.from], x[p.to]);
    let chord = b - a;
    let l2 = chord.dot(chord).max(1e-9);
    for q in &mut x[p.from..=p.to] {
        let on = a + chord * ((*q - a).dot(chord) / l2);
        *q = q.lerp(on, p.fault.strength);
    }
}

/// The frame of greatest speed in the span.
fn fastest(x: &[V3], p: &Placed) -> usize {
    (p.from.max(1)..=p.to.min(x.len() - 1))
        .max_by(|&i, &j| {
            (x[i] - x[i - 1])
                .length()
                .total_cmp(&(x[j] - x[j - 1]).length())
        })
        .unwrap_or(p.from)
}

/// From its fastest frame the limb runs on at that speed into the pose it ends the span in, and stops there at once.
fn stop_dead(x: &mut [V3], p: &Placed) {
    let top = fastest(x, p);
    let (start, end) = (x[top], x[p.to]);
    let step = x[top] - x[top - 1];
    let way = (end - start).length();
    let frames = (way / step.length().max(1e-6)).round().max(1.0);
    let lead = start + step * (frames * 0.45);
    for (n, q) in x[top..=p.to].iter_mut().enumerate() {
        let u = (n as f32 / frames).min(1.0);
        let curve = start.lerp(lead, u).lerp(lead.lerp(end, u), u);
        *q = q.lerp(curve, p.fault.strength);
    }
}

/// Two thirds of the way go as before, the rest takes `strength` frames longer, ever slower.
fn creep(x: &mut [V3], p: &Placed) {
    let end = x[p.to];
    let off = |q: V3| (end - q).length();
    let Some(far) = (p.from..p.to).max_by(|&i, &j| off(x[i]).total_cmp(&off(x[j]))) else {
        return;
    };
    let (start, way) = (x[far], end - x[far]);
    let there = (far..p.to)
        .find(|&f| off(x[f]) < 0.12 * way.length())
        .unwrap_or(p.to);
    let quick = ((there - far) as f32).max(6.0);
    let all = quick + p.fault.strength + 3.0;
    let sag = v3(way.y, -way.x, 0.0) * (0.10 * way.x.signum());
    let until = x.len().min(p.to + 9);
    for (n, q) in x[far..until].iter_mut().enumerate() {
        let t = n as f32;
        let u = (t / all).min(1.0);
        let begun = smooth(t / 4.0);
        let s = 0.68 * smooth(t / quick) + 0.32 * (1.0 - (1.0 - u).powf(2.2)) * begun;
        let slow = start + way * s + sag * (4.0 * s * (1.0 - s));
        let release = 1.0 - smooth((far as f32 + t - p.to as f32) / 8.0);
        *q = q.lerp(slow, release);
    }
}
