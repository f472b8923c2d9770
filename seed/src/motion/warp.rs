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
}

impl Warp {
    /// Builds the map; a list that would run time backwards is softened until it does not.
    #[must_use]
    pub fn new(base_frames: usize, retimes: &[Retime]) -> Self {
        let retimes = retimes
            .iter()
            .map(|r| Retime {
                frames: r.frames.max(-r.over * 0.6),
                ..*r
            })
            .collect();
        Self {
            retimes,
            base_frames,
        }
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

    /// Frame of the performance, fractional, shown by frame `f` of the revision.
    #[must_use]
    pub fn to_performance(&self, f: f32) -> f32 {
        if self.retimes.is_empty() {
            return f;
        }
        let (mut lo, mut hi) = (-40.0, self.base_frames as f32 + 40.0);
        for _ in 0..28 {
            let mid = (lo + hi) * 0.5;
            if self.to_revision(mid) < f {
                lo = mid;
            } else {
                hi = mid;
            }
        }
        (lo + hi) * 0.5
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
