//! What the mentor draws: rings, paths and dots laid on the renderer's own joints.

use crate::motion::skeleton::Joint;
use crate::plan::{NotePlan, PartPlan, Side, StrokePlan, TracePlan};
use crate::render::camera::{HEIGHT, WIDTH};

use super::sketch::Landing;

/// A drawing; frames are frames of the unretimed performance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mark {
    /// A ring around a joint on one frame.
    Ring(Joint, f32),
    /// The path a joint should take: from, to, and how far it swings off the straight line (share of its length, sign by side).
    Path(Joint, f32, f32, f32),
    /// A line of action through ankle, hip, chest and head.
    Action(f32),
    /// Dots on a joint on every frame from, to.
    Dots(Joint, f32, f32),
}

const RED: &str = "#e4572e";
const BLUE: &str = "#4f8fd9";
const GREEN: &str = "#5fa55a";

/// Adds a drawing to a note.
pub fn draw(mark: Mark, on: &Landing<'_>, note: &mut NotePlan) {
    match mark {
        Mark::Ring(j, t) => {
            let f = on.frame(t);
            note.strokes
                .push(stroke(f, f, RED, ring(on.play.joint(f, j))));
        }
        Mark::Path(j, from, to, swing) => {
            let (a, b) = (on.frame(from), on.frame(to));
            note.strokes.push(stroke(
                a,
                b,
                BLUE,
                path(on.play.joint(a, j), on.play.joint(b, j), swing),
            ));
        }
        Mark::Action(t) => {
            let f = on.frame(t);
            let through = [Joint::AnkleRight, Joint::Hip, Joint::Chest, Joint::Head]
                .map(|j| on.play.joint(f, j));
            note.strokes
                .push(stroke(f, f, GREEN, through_points(&through)));
        }
        Mark::Dots(j, from, to) => {
            let dots = (on.frame(from)..=on.frame(to))
                .map(|f| {
                    let [x, y] = on.play.joint(f, j);
                    (f, x / WIDTH as f32, y / HEIGHT as f32)
                })
                .collect();
            note.traces.push(TracePlan {
                part: part_of(j),
                color: BLUE,
                dots,
            });
        }
    }
}

/// The part a joint belongs to, in the words of notes.
fn part_of(j: Joint) -> PartPlan {
    match j.name().split_once('.') {
        Some((part, "left")) => PartPlan {
            part,
            side: Some(Side::Left),
        },
        Some((part, _)) => PartPlan {
            part,
            side: Some(Side::Right),
        },
        None => PartPlan {
            part: if j == Joint::Hip { "hips" } else { j.name() },
            side: None,
        },
    }
}

fn stroke(frame: usize, hold_to: usize, color: &'static str, points: Vec<[f32; 3]>) -> StrokePlan {
    StrokePlan {
        frame,
        hold_to,
        color,
        size: 0.008,
        points,
    }
}

fn point(x: f32, y: f32, u: f32) -> [f32; 3] {
    let pressure = 0.35 + 0.45 * (std::f32::consts::PI * u.clamp(0.0, 1.0)).sin();
    [
        (x / WIDTH as f32).clamp(0.0, 1.0),
        (y / HEIGHT as f32).clamp(0.0, 1.0),
        pressure,
    ]
}

/// A ring as a hand draws it: not quite round, and closed past its start.
fn ring([x, y]: [f32; 2]) -> Vec<[f32; 3]> {
    (0..30)
        .map(|i| {
            let u = i as f32 / 29.0;
            let a = -1.9 + u * 6.7;
            let r = 17.0 + 2.2 * (a * 1.3).sin() + 1.5 * u;
            point(x + r * 1.08 * a.cos(), y + r * a.sin(), u)
        })
        .collect()
}

fn path(a: [f32; 2], b: [f32; 2], swing: f32) -> Vec<[f32; 3]> {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    (0..24)
        .map(|i| {
            let u = i as f32 / 23.0;
            let off = swing * 4.0 * u * (1.0 - u);
            point(a[0] + dx * u - dy * off, a[1] + dy * u + dx * off, u)
        })
        .collect()
}

fn through_points(p: &[[f32; 2]; 4]) -> Vec<[f32; 3]> {
    (0..28)
        .map(|i| {
            let u = i as f32 / 27.0 * 3.0;
            let k = (u as usize).min(2);
            let t = u - k as f32;
            let q = |n: isize| p[(k as isize + n).clamp(0, 3) as usize];
            let (p0, p1, p2, p3) = (q(-1), q(0), q(1), q(2));
            let spline = |d: usize| {
                0.5 * (2.0 * p1[d]
                    + (p2[d] - p0[d]) * t
                    + (2.0 * p0[d] - 5.0 * p1[d] + 4.0 * p2[d] - p3[d]) * t * t
                    + (3.0 * p1[d] - p0[d] - 3.0 * p2[d] + p3[d]) * t * t * t)
            };
            point(spline(0), spline(1), u / 3.0)
        })
        .collect()
}
