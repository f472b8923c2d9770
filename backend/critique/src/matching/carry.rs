//! Frames of one revision on another, and how much the picture changed on the way.

use crate::contract::{FrameMap, Shot};

/// Anchors less sure than this are left out.
const SURE: f64 = 0.4;

/// The frame maps of a shot, in order.
pub struct Maps {
    steps: Vec<Step>,
}

struct Step {
    from: u32,
    anchors: Vec<(f64, f64)>,
    changed: Vec<(f64, f64, f64)>,
}

impl Maps {
    /// From the maps between neighbouring revisions. Where one is missing frames stay as they are.
    pub fn new(shot: &Shot) -> Maps {
        let mut steps: Vec<Step> = shot.frame_maps.iter().map(step).collect();
        steps.sort_by_key(|s| s.from);
        Maps { steps }
    }

    fn between(&self, from: u32, to: u32) -> impl DoubleEndedIterator<Item = &Step> {
        self.steps
            .iter()
            .filter(move |s| s.from >= from && s.from < to)
    }

    /// A span of revision `from` on the frames of the later revision `to`.
    pub fn carry(&self, span: (f64, f64), from: u32, to: u32) -> (f64, f64) {
        self.between(from, to)
            .fold(span, |s, step| in_order(step.forth(s.0), step.forth(s.1)))
    }

    /// The largest change of the picture under a span of revision `to`, all the way back to revision `from`.
    /// None if nothing is known about it.
    pub fn change(&self, span: (f64, f64), from: u32, to: u32) -> Option<f64> {
        let mut span = span;
        let mut most: Option<f64> = None;
        for step in self.between(from, to).rev() {
            let here = step
                .changed
                .iter()
                .filter(|c| c.0 <= span.1 && c.1 >= span.0)
                .map(|c| c.2)
                .fold(None, |top: Option<f64>, c| {
                    Some(top.map_or(c, |t| t.max(c)))
                })?;
            most = Some(most.map_or(here, |m| m.max(here)));
            span = in_order(step.back(span.0), step.back(span.1));
        }
        most
    }
}

fn in_order(a: f64, b: f64) -> (f64, f64) {
    (a.min(b), a.max(b))
}

fn step(map: &FrameMap) -> Step {
    let mut anchors: Vec<(f64, f64)> = map
        .anchors
        .iter()
        .filter(|a| a.2 >= SURE)
        .map(|a| (a.0, a.1))
        .collect();
    anchors.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    anchors.dedup_by(|later, held| later.0 <= held.0);
    Step {
        from: map.from,
        anchors,
        changed: map.changed.clone(),
    }
}

impl Step {
    fn forth(&self, frame: f64) -> f64 {
        along(frame, &self.anchors)
    }

    fn back(&self, frame: f64) -> f64 {
        let mut turned: Vec<(f64, f64)> =
            self.anchors.iter().map(|(old, new)| (*new, *old)).collect();
        turned.sort_by(|a, b| a.0.total_cmp(&b.0));
        turned.dedup_by(|later, held| later.0 <= held.0);
        along(frame, &turned)
    }
}

/// Linear between anchors, slope 1 outside.
fn along(frame: f64, anchors: &[(f64, f64)]) -> f64 {
    let (Some(first), Some(last)) = (anchors.first(), anchors.last()) else {
        return frame;
    };
    if frame <= first.0 {
        return first.1 + frame - first.0;
    }
    if frame >= last.0 {
        return last.1 + frame - last.0;
    }
    let at = anchors.partition_point(|a| a.0 <= frame);
    let (a, b) = (anchors[at - 1], anchors[at]);
    a.1 + (frame - a.0) * (b.1 - a.1) / (b.0 - a.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn maps(anchors: Vec<(f64, f64, f64)>) -> Maps {
        let map = FrameMap {
            from: 1,
            to: 2,
            anchors,
            changed: vec![(0.0, 49.0, 0.01), (50.0, 99.0, 0.5)],
        };
        Maps {
            steps: vec![step(&map)],
        }
    }

    #[test]
    fn frames_are_carried_between_and_beside_anchors() {
        let maps = maps(vec![
            (10.0, 10.0, 0.9),
            (20.0, 40.0, 0.9),
            (15.0, 99.0, 0.1),
        ]);
        assert_eq!(maps.carry((15.0, 25.0), 1, 2), (25.0, 45.0));
        assert_eq!(maps.carry((5.0, 5.0), 1, 2), (5.0, 5.0));
        assert_eq!(maps.carry((5.0, 9.0), 2, 3), (5.0, 9.0));
    }

    #[test]
    fn the_largest_change_under_a_span_counts() {
        let maps = maps(vec![]);
        assert_eq!(maps.change((10.0, 20.0), 1, 2), Some(0.01));
        assert_eq!(maps.change((40.0, 60.0), 1, 2), Some(0.5));
        assert_eq!(maps.change((40.0, 60.0), 2, 2), None);
    }
}
