//! Where the picture around a point moves from one frame to the next, and whether it finds back.

use super::clip::Prepared;
use super::flow::Flow;
use super::lk::{Followed, LkOptions, Windows, follow};
use super::score::apart;

/// Two starts this close in error are as good as each other, in pixels.
const TIE: f32 = 0.2;

/// Where a point went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Step {
    pub(crate) to: [f32; 2],
    /// How far following it back ends from where it began, in pixels.
    pub(crate) error: f32,
}

/// What stands for the error of a point that following lost.
const LOST: f32 = 99.0;

/// Two neighbouring frames and the dense flow from each to the other.
pub(crate) struct Pair<'a> {
    pub(crate) from: &'a Prepared,
    pub(crate) to: &'a Prepared,
    pub(crate) forth: &'a Flow,
    pub(crate) back: &'a Flow,
}

impl<'a> Pair<'a> {
    /// The same pair in the other direction.
    pub(crate) fn reversed(&self) -> Pair<'a> {
        Pair {
            from: self.to,
            to: self.from,
            forth: self.back,
            back: self.forth,
        }
    }

    /// Follows a point, once begun at rest and, unless that finds back, once begun at the dense flow.
    pub(crate) fn step(&self, point: [f32; 2], options: &LkOptions) -> Step {
        let windows = Windows::cut(&self.from.pyramid, point, options);
        let rest = self.there_and_back(&windows, point, [0.0; 2], options);
        if rest.error <= TIE {
            return rest;
        }
        let moved = self.there_and_back(&windows, point, self.forth.at(point), options);
        if moved.error < rest.error - TIE {
            moved
        } else {
            rest
        }
    }

    fn there_and_back(
        &self,
        windows: &Windows,
        point: [f32; 2],
        by: [f32; 2],
        options: &LkOptions,
    ) -> Step {
        let (a, b) = (&self.from.pyramid, &self.to.pyramid);
        let start = [point[0] + by[0], point[1] + by[1]];
        let there = windows.follow(b, start, options);
        let to = [there.x, there.y];
        if !there.found {
            return Step { to, error: LOST };
        }
        let start = [to[0] - by[0], to[1] - by[1]];
        let Followed { x, y, found } = follow(b, a, to, start, options);
        let error = if found { apart([x, y], point) } else { LOST };
        Step { to, error }
    }
}
