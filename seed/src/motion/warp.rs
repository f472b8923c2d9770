//! Retiming: where the frames of the performance fall in a revision.

use serde::Serialize;

use crate::math::smooth;

/// Frames put in (or taken out) around one place of the performance.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Retime {
    /// Middle of the change, frame of the unretimed performance.
    pub at: f32,
    /// The stretch of the performance it is spread over, frames.
    pub over: f32,
    /// Frames added; negative takes frames out.
    pub frames: f32,
}

/// The map between a performance and one revision of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Warp {
    retimes: Vec<Retime>,
    base_frames: usize,
    /// Frames of the performance for every quarter frame of the revision, from [`TABLE_LEAD`] before the first.
    inverse: Vec<f32>,
}

/// Frames before the first and after the last one the inverse knows.
const TABLE_LEAD: f32 = 40.0;
/// Steps of the inverse a frame.
const TABLE_STEPS: f32 = 12.0;

impl Warp {
    /// Builds the map; a list that would run time backwards is softened until it does not.
    #[must_use]
    pub fn new(base_frames: usize, retimes: &[Retime]) -> Self {
        let retimes: Vec<Retime> = retimes
            .iter()
            .map(|r| Retime {
                frames: r.frames.max(-r.over * 0.6),
                ..*r
            })
            .collect();
        let mut warp = Self {
            retimes,
            base_frames,
            inverse: Vec::new(),
        };
        if !warp.retimes.is_empty() {
            let steps = (warp.frames() as f32 + 2.0 * TABLE_LEAD) * TABLE_STEPS;
            warp.inverse = (0..=steps as usize)
                .map(|q| warp.solve(q as f32 / TABLE_STEPS - TABLE_LEAD))
                .collect();
        }
        warp
    }

    /// Frames of the revision.
    #[must_use]
    pub fn frames(&self) -> usize {
        self.to_revision(self.base_frames as f32 - 1.0).round() as usize + 1
    }

    /// Frame of the revision, fractional, that shows frame `t` of the performance.
    #[must_use]
    pub fn to_revision(&self, t: f32) -> f32 {
        t + self
            .retimes
            .iter()
            .map(|r| r.frames * smooth((t - r.at) / r.over + 0.5))
            .sum::<f32>()
    }

    /// Frame of the performance, fractional, shown by frame `f` of the revision; exact to a hundredth, also where
    /// frames taken out make the performance rush by several frames between two entries of the table.
    #[must_use]
    pub fn to_performance(&self, f: f32) -> f32 {
        let (Some(&first), Some(&last)) = (self.inverse.first(), self.inverse.last()) else {
            return f;
        };
        let q = (f + TABLE_LEAD) * TABLE_STEPS;
        let end = self.inverse.len() - 1;
        if q <= 0.0 {
            return first + q / TABLE_STEPS;
        }
        if q >= end as f32 {
            return last + (q - end as f32) / TABLE_STEPS;
        }
        let i = q as usize;
        let (before, after) = (self.inverse[i], self.inverse[i + 1]);
        if after - before < 2.0 / TABLE_STEPS {
            return before + (after - before) * q.fract();
        }
        self.between(f, before, after, 0.005)
    }

    /// Frame of the performance between `lo` and `hi` that frame `f` of the revision shows, to within `close`.
    fn between(&self, f: f32, mut lo: f32, mut hi: f32, close: f32) -> f32 {
        while hi - lo > close {
            let mid = (lo + hi) * 0.5;
            if self.to_revision(mid) < f {
                lo = mid;
            } else {
                hi = mid;
            }
        }
        (lo + hi) * 0.5
    }

    fn solve(&self, f: f32) -> f32 {
        let lead = 2.0 * TABLE_LEAD;
        self.between(f, -lead, self.base_frames as f32 + lead, 0.001)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn there_and_back(t in 0.0f32..90.0, at in 10.0f32..80.0, over in 6.0f32..30.0, frames in -20.0f32..20.0) {
            let w = Warp::new(96, &[Retime { at, over, frames }]);
            prop_assert!((w.to_performance(w.to_revision(t)) - t).abs() < 0.02);
            prop_assert!(w.to_revision(t + 0.5) > w.to_revision(t));
        }
    }

    #[test]
    fn a_hold_adds_its_frames() {
        let w = Warp::new(
            96,
            &[Retime {
                at: 40.0,
                over: 6.0,
                frames: 8.0,
            }],
        );
        assert_eq!(w.frames(), 104);
        assert!((w.to_revision(20.0) - 20.0).abs() < 1e-4);
        assert!((w.to_revision(60.0) - 68.0).abs() < 1e-4);
    }
}
