//! A map in a few lines: stretches that run through without a break.

use super::FrameMap;

/// A step of more old frames than this is a break.
pub const BREAK: f32 = 4.0;

/// New frames in a row that follow the old ones, or that have no counterpart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// First new frame.
    pub first: usize,
    /// Last new frame.
    pub last: usize,
    /// The old frames of both, unless they have none.
    pub old: Option<(f32, f32)>,
    /// Mean confidence, 0 to 1.
    pub confidence: f32,
}

impl Stretch {
    /// Old frames per new frame; 1 for a single frame or one without counterpart.
    #[must_use]
    pub fn speed(&self) -> f32 {
        match self.old {
            Some((from, to)) if self.last > self.first => {
                (to - from) / (self.last - self.first) as f32
            }
            _ => 1.0,
        }
    }
}

/// The stretches of a map, in order.
#[must_use]
pub fn stretches(map: &FrameMap) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = vec![];
    for (i, place) in map.places.iter().enumerate() {
        let goes_on = out.last().is_some_and(|last| match (last.old, place.old) {
            (None, None) => true,
            (Some((_, to)), Some(old)) => old - to <= BREAK,
            _ => false,
        });
        match out.last_mut() {
            Some(last) if goes_on => {
                last.last = i;
                last.confidence += place.confidence;
                if let (Some((_, to)), Some(old)) = (&mut last.old, place.old) {
                    *to = old;
                }
            }
            _ => out.push(Stretch {
                first: i,
                last: i,
                old: place.old.map(|f| (f, f)),
                confidence: place.confidence,
            }),
        }
    }
    for stretch in &mut out {
        stretch.confidence /= (stretch.last - stretch.first + 1) as f32;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::super::Place;
    use super::*;

    #[test]
    fn gaps_and_jumps_break_a_map() {
        let old = [Some(0.0), Some(1.5), None, Some(2.0), Some(9.0), Some(10.0)];
        let map = FrameMap {
            old_frames: 12,
            places: old
                .map(|old| Place {
                    old,
                    confidence: 0.5,
                })
                .to_vec(),
        };
        let runs: Vec<_> = stretches(&map)
            .iter()
            .map(|s| (s.first, s.last, s.old))
            .collect();
        assert_eq!(
            runs,
            [
                (0, 1, Some((0.0, 1.5))),
                (2, 2, None),
                (3, 3, Some((2.0, 2.0))),
                (4, 5, Some((9.0, 10.0)))
            ]
        );
    }
}
