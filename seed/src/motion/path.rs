//! Faults of a limb's path: a list of positions relative to the shoulder, one a frame, bent to the fault.

use crate::math::{V3, smooth};

use super::fault::{FaultKind, Placed};
use super::flow::alternation;

/// Applies every path fault of one wrist. `rel` is relative to the shoulder, metres.
pub fn bend(rel: &mut Vec<V3>, faults: &[Placed]) {
    for p in faults {
        match p.fault.kind {
            FaultKind::StraightPath => straighten(rel, p),
            FaultKind::DeadStop => stop_dead(rel, p),
            FaultKind::SlowSettle => creep(rel, p),
            FaultKind::UnevenSpacing => {
                let source = rel.clone();
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
    for f in top..=p.to {
        let u = ((f - top) as f32 / frames).min(1.0);
        let curve = start.lerp(lead, u).lerp(lead.lerp(end, u), u);
        x[f] = x[f].lerp(curve, p.fault.strength);
    }
}

/// The last third of the way takes `strength` frames longer, ever slower.
fn creep(x: &mut [V3], p: &Placed) {
    let end = x[p.to];
    let way = (end - x[p.from]).length();
    let Some(slow) = (fastest(x, p)..=p.to).find(|&f| (end - x[f]).length() < 0.34 * way) else {
        return;
    };
    let rest = x[slow] - end;
    let frames = p.fault.strength + 5.0;
    for f in slow..x.len() {
        let u = (f - slow) as f32 / frames;
        let left = rest * (1.0 - u.min(1.0)).powf(1.9);
        let release = 1.0 - smooth((f as f32 - p.to as f32) / 8.0);
        let clean = x[f];
        x[f] = clean.lerp(end + left, release);
        if f > p.to + 8 {
            break;
        }
    }
}
