//! How the resting picture of one clip lies on that of another.

use serde::{Deserialize, Serialize};

use super::phase::phase_shift;
use super::register::{Search, likeness, register};
use crate::plane::Plane;
use crate::similarity::Similarity;

/// How the old camera lies to the new one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Camera {
    /// Where the points of the new picture at rest lie in the old one.
    pub map: Similarity,
    /// Correlation of both pictures at rest under that map: above 0.8 the same set, below 0.5 another one.
    pub likeness: f32,
}

/// Registers the resting pictures of two clips (light, one size). A map other than none is taken only where it explains
/// 30 % of what is unlike.
pub(crate) fn between(new_still: &Plane, old_still: &Plane) -> Camera {
    let fixed = new_still.local_contrast(6.0, 12.0);
    let moved = old_still.local_contrast(6.0, 12.0);
    let ((dx, dy), _) = phase_shift(&fixed.shrunk(2), &moved.shrunk(2));
    let side = (fixed.width() / 2) as f32;
    let starts = [
        Similarity::IDENTITY,
        Similarity::shift(dx / side, dy / side),
    ];
    let rest = likeness(&fixed, &moved, &Similarity::IDENTITY);
    let best = starts
        .iter()
        .map(|start| {
            let map = register(&[(&fixed, &moved)], *start, &Search::default());
            Camera {
                map,
                likeness: likeness(&fixed, &moved, &map),
            }
        })
        .max_by(|a, b| a.likeness.total_cmp(&b.likeness));
    match best {
        Some(best) if accepted(&best, rest) => best,
        _ => Camera {
            map: Similarity::IDENTITY,
            likeness: rest,
        },
    }
}

fn accepted(camera: &Camera, rest: f32) -> bool {
    let map = &camera.map;
    let sane = map.a.abs() < 0.35 && map.b.abs() < 0.35 && map.tx.hypot(map.ty) < 0.4;
    sane && camera.likeness >= 0.3 && 1.0 - camera.likeness <= 0.7 * (1.0 - rest)
}
