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
    /// How far the old frames before and after leave this one's envelope, the larger: as much of it shows as the place is off.
    pub(super) step: [f32; CELLS],
}

/// The old frame nearest to a place, and those next to it.
pub(super) struct Nearby<'a> {
    pub(super) here: &'a Plane,
    pub(super) before: &'a Plane,
    pub(super) after: &'a Plane,
    /// That of the two towards which the place lies, if it lies between two.
    pub(super) toward: Option<&'a Plane>,
}

/// Compares a new frame's contrast with those of the old frames it may be, and these with it.
pub(super) fn compare(new: &Plane, old: &Nearby<'_>, seen: &Plane) -> Shape {
    let mean = |plane: &Plane| cell_means(plane, seen, LEAST_SEEN);
    let here = Envelope::of(old.here);
    let step = larger(
        mean(&here.outside(old.before)),
        mean(&here.outside(old.after)),
    );
    let own = Envelope::of(new);
    let mut back = own.outside(old.here);
    let either = match old.toward {
        None => here,
        Some(toward) => {
            back = joined(back, &own.outside(toward), f32::min);
            here.or(&Envelope::of(toward))
        }
    };
    let mut speed = old.here.clone();
    for (i, v) in speed.data_mut().iter_mut().enumerate() {
        let (b, a) = (old.before.data()[i], old.after.data()[i]);
        *v = (b - *v).abs().max((a - *v).abs());
    }
    Shape {
        residual: larger(mean(&either.outside(new)), mean(&back)),
        speed: mean(&speed),
        step,
    }
}

fn larger(mut a: [f32; CELLS], b: [f32; CELLS]) -> [f32; CELLS] {
    for (a, b) in a.iter_mut().zip(b) {
        *a = a.max(b);
    }
    a
}

/// The largest and the smallest value of each 3 x 3: a shift below a pixel stays inside.
struct Envelope {
    high: Plane,
    low: Plane,
}

impl Envelope {
    fn of(plane: &Plane) -> Self {
        let (high, low) = extremes(plane);
        Self { high, low }
    }

    /// What is inside this one or the other, or between them.
    fn or(self, other: &Self) -> Self {
        Self {
            high: joined(self.high, &other.high, f32::max),
            low: joined(self.low, &other.low, f32::min),
        }
    }

    /// How far each pixel of a plane is outside.
    fn outside(&self, plane: &Plane) -> Plane {
        let mut out = plane.clone();
        let bounds = self.high.data().iter().zip(self.low.data());
        for (v, (h, l)) in out.data_mut().iter_mut().zip(bounds) {
            *v = (*v - h).max(l - *v).max(0.0);
        }
        out
    }
}

fn joined(mut a: Plane, b: &Plane, join: impl Fn(f32, f32) -> f32) -> Plane {
    for (a, b) in a.data_mut().iter_mut().zip(b.data()) {
        *a = join(*a, *b);
    }
    a
}
