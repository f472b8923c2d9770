//! How far a frame's local contrast leaves what its old frame allows.

use super::grid::{CELLS, cell_means};
use super::near::extremes;
use crate::plane::Plane;

/// A cell of which less than this is seen says nothing.
pub(super) const LEAST_SEEN: f32 = 0.6;

/// What the shapes of one frame say in each cell.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    /// Mean distance outside the other's envelope, the larger of both ways, in units of local contrast.
    pub(super) residual: [f32; CELLS],
    /// How fast the old picture changes there, per frame, in the same units.
    pub(super) speed: [f32; CELLS],
}

/// Compares a new frame's contrast with those of the old frames it may be (`allowed`, one or two), and these with it. An
/// envelope is the largest and smallest value of each 3 x 3, so that a shift below a pixel is inside. `around` is the old
/// frame nearest, the one before and the one after.
pub(super) fn compare(new: &Plane, allowed: &[&Plane], around: [&Plane; 3], seen: &Plane) -> Shape {
    let mut high: Option<Plane> = None;
    let mut low: Option<Plane> = None;
    for old in allowed {
        let (h, l) = extremes(old);
        high = Some(joined(high, h, f32::max));
        low = Some(joined(low, l, f32::min));
    }
    let (new_high, new_low) = extremes(new);
    let forth = match (&high, &low) {
        (Some(high), Some(low)) => outside(new, high, low),
        _ => new.map(|_| 0.0),
    };
    let back = allowed
        .iter()
        .map(|old| outside(old, &new_high, &new_low))
        .reduce(|a, b| joined(Some(a), b, f32::min))
        .unwrap_or_else(|| new.map(|_| 0.0));
    let mut residual = cell_means(&forth, seen, LEAST_SEEN);
    for (r, b) in residual.iter_mut().zip(cell_means(&back, seen, LEAST_SEEN)) {
        *r = r.max(b);
    }
    let [here, before, after] = around;
    let mut speed = here.clone();
    for (i, v) in speed.data_mut().iter_mut().enumerate() {
        let (b, a) = (before.data()[i], after.data()[i]);
        *v = (b - *v).abs().max((a - *v).abs());
    }
    Shape {
        residual,
        speed: cell_means(&speed, seen, LEAST_SEEN),
    }
}

fn joined(a: Option<Plane>, mut b: Plane, join: impl Fn(f32, f32) -> f32) -> Plane {
    if let Some(a) = a {
        for (b, a) in b.data_mut().iter_mut().zip(a.data()) {
            *b = join(*b, *a);
        }
    }
    b
}

fn outside(plane: &Plane, high: &Plane, low: &Plane) -> Plane {
    let mut out = plane.clone();
    for ((v, h), l) in out.data_mut().iter_mut().zip(high.data()).zip(low.data()) {
        *v = (*v - h).max(l - *v).max(0.0);
    }
    out
}
