//! Where the picture around a point moves from one frame to the next, and whether it finds back.

use super::clip::Prepared;
use super::flow::Flow;
use super::lk::{Followed, LkOptions, Windows};
use super::score::apart;

/// Two starts this close in error are as good as each other, in pixels.
const TIE: f32 = 0.2;

/// A start this close to rest leads where rest leads, in pixels.
const SAME_START: f32 = 0.5;

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
}

/// Follows points from frame to frame; keeps the room it needs for that.
pub(crate) struct Follower<'a> {
    options: &'a LkOptions,
    there: Windows,
    back: Windows,
}

impl<'a> Follower<'a> {
    pub(crate) fn new(options: &'a LkOptions) -> Self {
        Self {
            options,
            there: Windows::new(options),
            back: Windows::new(options),
        }
    }

    /// Follows a point, once begun at rest and, unless that finds back, once begun at the dense flow.
    pub(crate) fn step(&mut self, pair: &Pair<'_>, point: [f32; 2]) -> Step {
        self.there.cut(&pair.from.pyramid, point, self.options);
        let rest = self.there_and_back(pair, point, [0.0; 2]);
        let by = pair.forth.at(point);
        if rest.error <= TIE || apart(by, [0.0; 2]) < SAME_START {
            return rest;
        }
        let moved = self.there_and_back(pair, point, by);
        if moved.error < rest.error - TIE {
            moved
        } else {
            rest
        }
    }

    fn there_and_back(&mut self, pair: &Pair<'_>, point: [f32; 2], by: [f32; 2]) -> Step {
        let (a, b) = (&pair.from.pyramid, &pair.to.pyramid);
        let start = [point[0] + by[0], point[1] + by[1]];
        let there = self.there.follow(b, start, self.options);
        let to = [there.x, there.y];
        if !there.found {
            return Step { to, error: LOST };
        }
        self.back.cut(b, to, self.options);
        let start = [to[0] - by[0], to[1] - by[1]];
        let Followed { x, y, found } = self.back.follow(a, start, self.options);
        let error = if found { apart([x, y], point) } else { LOST };
        Step { to, error }
    }
}
