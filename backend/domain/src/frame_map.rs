//! Old frame to new frame between two revisions, with confidence.

use crate::picture::Span;

/// For every frame of the old revision, its counterpart in the new one (none: it has no counterpart), and how sure that is.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct FrameMap {
    /// Frames of the old revision.
    pub old_frames: i32,
    /// Frames of the new revision.
    pub new_frames: i32,
    /// Per old frame: the new frame.
    pub to_new: Vec<Option<i32>>,
    /// Per old frame: confidence, 0..1.
    pub confidence: Vec<f32>,
    /// How the map was made.
    pub method: String,
}

/// Below this confidence a carried span is drawn as unsure.
pub const SURE: f32 = 0.5;

impl FrameMap {
    /// The map that stretches the old revision evenly over the new one. Nothing was compared, so nothing is sure,
    /// save that a clip of equal length maps onto itself frame by frame.
    pub fn proportional(old_frames: i32, new_frames: i32) -> FrameMap {
        let scale = |frame: i32| {
            if old_frames <= 1 || new_frames <= 0 {
                return 0;
            }
            let (num, den) = (
                i64::from(frame) * i64::from(new_frames - 1),
                i64::from(old_frames - 1),
            );
            i32::try_from((2 * num + den) / (2 * den)).unwrap_or(new_frames - 1)
        };
        let old = old_frames.max(0);
        FrameMap {
            old_frames: old,
            new_frames: new_frames.max(0),
            to_new: (0..old)
                .map(|frame| (new_frames > 0).then(|| scale(frame)))
                .collect(),
            confidence: vec![0.0; usize::try_from(old).unwrap_or(0)],
            method: "proportional".into(),
        }
    }

    /// The span on the new revision's frames, and whether it is unsure. Ends without a counterpart take the nearest one inside
    /// the span, then the nearest outside it.
    pub fn carry(&self, span: Span) -> (Span, bool) {
        let last = self.old_frames - 1;
        let (from, to) = (
            span.start.clamp(0, last.max(0)),
            span.end.clamp(0, last.max(0)),
        );
        let at = |frame: i32| {
            usize::try_from(frame)
                .ok()
                .and_then(|i| self.to_new.get(i).copied().flatten())
        };
        let start = (from..=to)
            .find_map(at)
            .or_else(|| (0..from).rev().find_map(at))
            .unwrap_or(0);
        let end = (from..=to)
            .rev()
            .find_map(at)
            .or_else(|| (to..=last).find_map(at))
            .unwrap_or(start);
        let sure = (from..=to).all(|f| {
            usize::try_from(f)
                .ok()
                .and_then(|i| self.confidence.get(i))
                .is_some_and(|c| *c >= SURE)
        });
        (
            Span {
                start: start.min(end),
                end: end.max(start),
            },
            !sure,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn equal_lengths_map_frame_by_frame() {
        let map = FrameMap::proportional(96, 96);
        assert!(
            map.to_new
                .iter()
                .enumerate()
                .all(|(old, new)| *new == Some(old as i32))
        );
    }

    proptest! {
        #[test]
        fn a_carried_span_stays_inside_and_in_order(old in 1..400i32, new in 1..400i32, a in 0..400i32, b in 0..400i32) {
            let (start, end) = (a.min(b) % old, b.max(a) % old);
            let span = Span { start: start.min(end), end: start.max(end) };
            let (carried, unsure) = FrameMap::proportional(old, new).carry(span);
            prop_assert!(carried.fits(new));
            prop_assert!(unsure);
        }

        #[test]
        fn the_map_never_runs_backwards_and_keeps_both_ends(old in 2..400i32, new in 2..400i32) {
            let map = FrameMap::proportional(old, new);
            prop_assert!(map.to_new.windows(2).all(|w| w[0] <= w[1]));
            prop_assert_eq!((map.to_new[0], map.to_new[old as usize - 1]), (Some(0), Some(new - 1)));
        }
    }
}
