//! Carrying what was said of an old clip onto the new one: spans of frames, and regions of the picture.

use serde::{Deserialize, Serialize};

use crate::change::FrameChange;
use crate::change::grid::{COLUMNS, ROWS};
use crate::frame_map::{FrameMap, Place};
use crate::similarity::Similarity;

/// What counts as carried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CarryOptions {
    /// Frames of less confidence carry nothing.
    pub least_confidence: f32,
    /// Old frames before and after a span that still belong to it.
    pub reach: f32,
    /// A cell of at least this value changed.
    pub changed: f32,
}

impl Default for CarryOptions {
    /// Confidence 0.5, half a frame, 0.5.
    fn default() -> Self {
        Self {
            least_confidence: 0.5,
            reach: 0.5,
            changed: 0.5,
        }
    }
}

/// Where a span of old frames is in the new clip.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "found", rename_all = "kebab-case")]
pub enum CarriedSpan {
    /// In these new frames.
    Here {
        /// First new frame.
        first: usize,
        /// Last new frame.
        last: usize,
        /// Mean confidence of the frames that carry it, 0 to 1.
        confidence: f32,
    },
    /// The new clip passes over it: it lies between these new frames, if there are any before or after.
    Dropped {
        /// The last new frame that stands for an earlier old one.
        before: Option<usize>,
        /// The first new frame that stands for a later old one.
        after: Option<usize>,
    },
    /// It cannot be told: no frame is sure enough, although the new clip does not pass over it.
    Unknown {
        /// The last new frame that stands for an earlier old one.
        before: Option<usize>,
        /// The first new frame that stands for a later old one.
        after: Option<usize>,
    },
}

/// Carries the old frames `first..=last` through a map: the outer hull of the new frames that stand for one of them.
#[must_use]
pub fn carry_span(
    map: &FrameMap,
    first: usize,
    last: usize,
    options: &CarryOptions,
) -> CarriedSpan {
    let (low, high) = (first as f32 - options.reach, last as f32 + options.reach);
    let placed = || {
        map.places
            .iter()
            .enumerate()
            .filter_map(|(i, p)| p.old.map(|f| (i, f, p.confidence)))
    };
    let inside: Vec<(usize, f32)> = placed()
        .filter(|&(_, f, c)| f >= low && f <= high && c >= options.least_confidence)
        .map(|(i, _, c)| (i, c))
        .collect();
    if let (Some(from), Some(to)) = (inside.first(), inside.last()) {
        let sum: f32 = inside.iter().map(|(_, c)| c).sum();
        return CarriedSpan::Here {
            first: from.0,
            last: to.0,
            confidence: sum / inside.len() as f32,
        };
    }
    let before = placed().rfind(|&(_, f, _)| f < low).map(|(i, ..)| i);
    let after = placed().find(|&(_, f, _)| f > high).map(|(i, ..)| i);
    let unsure = placed().any(|(_, f, _)| f >= low && f <= high);
    let sure =
        |i: Option<usize>| i.is_none_or(|i| map.places[i].confidence >= options.least_confidence);
    if unsure || (before.is_none() && after.is_none()) || !sure(before) || !sure(after) {
        CarriedSpan::Unknown { before, after }
    } else {
        CarriedSpan::Dropped { before, after }
    }
}

/// A rectangle of the picture, in shares of its width and height from the left upper corner.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Region {
    /// Left side.
    pub x: f32,
    /// Upper side.
    pub y: f32,
    /// Width.
    pub width: f32,
    /// Height.
    pub height: f32,
}

/// A region of an old frame on the new one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CarriedRegion {
    /// Where it is: the upright rectangle around it, cut at the picture's rim.
    pub region: Region,
    /// The largest change of the cells it touches, 0 to 1.
    pub change: f32,
    /// Whether that counts as changed.
    pub changed: bool,
}

/// Carries a region to the new frame whose change is `change`. `camera` says where the points of the new picture lie in the
/// old one. `None` if it lies outside the new picture.
#[must_use]
pub fn carry_region(
    region: &Region,
    camera: &Similarity,
    change: &FrameChange,
    options: &CarryOptions,
) -> Option<CarriedRegion> {
    let back = camera.inverse();
    let tall = ROWS as f32 / COLUMNS as f32;
    let corner = |x: f32, y: f32| {
        let (u, v) = back.apply(x - 0.5, (y - 0.5) * tall);
        (u + 0.5, v / tall + 0.5)
    };
    let (right, bottom) = (region.x + region.width, region.y + region.height);
    let corners = [
        corner(region.x, region.y),
        corner(right, region.y),
        corner(region.x, bottom),
        corner(right, bottom),
    ];
    let least = |f: fn(&(f32, f32)) -> f32| corners.iter().map(f).fold(f32::INFINITY, f32::min);
    let most = |f: fn(&(f32, f32)) -> f32| corners.iter().map(f).fold(f32::NEG_INFINITY, f32::max);
    let (x0, x1) = (least(|c| c.0).max(0.0), most(|c| c.0).min(1.0));
    let (y0, y1) = (least(|c| c.1).max(0.0), most(|c| c.1).min(1.0));
    // Also false for what is not a number.
    let inside = x1 > x0 && y1 > y0;
    if !inside {
        return None;
    }
    let cells = |from: f32, to: f32, count: usize| {
        let first = (from * count as f32) as usize;
        let last = ((to * count as f32).ceil() as usize).clamp(first + 1, count.max(first + 1));
        first..last
    };
    let mut largest = 0.0f32;
    for row in cells(y0, y1, ROWS) {
        for column in cells(x0, x1, COLUMNS) {
            largest = largest.max(
                change
                    .cells
                    .get(row * COLUMNS + column)
                    .copied()
                    .unwrap_or(0.0),
            );
        }
    }
    Some(CarriedRegion {
        region: Region {
            x: x0,
            y: y0,
            width: x1 - x0,
            height: y1 - y0,
        },
        change: largest,
        changed: largest >= options.changed,
    })
}

/// What counts as a break and as a disagreement when maps are chained.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ComposeOptions {
    /// Two neighbouring frames whose places are more old frames apart have nothing between them.
    pub jump: f32,
    /// Places further apart than this many old frames disagree.
    pub disagree: f32,
    /// The confidence of a place on which two maps disagree is at most this.
    pub doubted: f32,
}

impl Default for ComposeOptions {
    /// 4 frames, 2 frames, 0.5.
    fn default() -> Self {
        Self {
            jump: 4.0,
            disagree: 2.0,
            doubted: 0.5,
        }
    }
}

/// The map from the newest clip to the oldest by way of the one between: `newer` places the newest on the middle one, `older`
/// the middle one on the oldest. Confidences are multiplied.
#[must_use]
pub fn compose(older: &FrameMap, newer: &FrameMap, options: &ComposeOptions) -> FrameMap {
    let places = newer.places.iter().map(|place| match place.old {
        None => *place,
        Some(at) => {
            let found = between(&older.places, at, options.jump);
            Place {
                confidence: found.confidence * place.confidence,
                ..found
            }
        }
    });
    FrameMap {
        old_frames: older.old_frames,
        places: places.collect(),
    }
}

/// The place at `at`, between two frames of the middle clip; none if either has none or a jump lies between.
fn between(places: &[Place], at: f32, jump: f32) -> Place {
    let Some(last) = places.len().checked_sub(1) else {
        return Place::none(0.0);
    };
    let first = (at.max(0.0) as usize).min(last);
    let share = (at - first as f32).clamp(0.0, 1.0);
    let (here, next) = (places[first], places[(first + 1).min(last)]);
    if share < 1e-3 {
        return here;
    }
    if share > 1.0 - 1e-3 {
        return next;
    }
    let confidence = here.confidence + share * (next.confidence - here.confidence);
    match (here.old, next.old) {
        (Some(a), Some(b)) if (b - a).abs() <= jump => Place::at(a + share * (b - a), confidence),
        _ => Place::none(confidence),
    }
}

/// Two maps of the same pair of clips, one direct and one by way of others: where they differ by more than 2 frames the likelier
/// place is kept, and doubted.
#[must_use]
pub fn reconcile(direct: &FrameMap, chained: &FrameMap, options: &ComposeOptions) -> FrameMap {
    let mut highest = 0.0f32;
    let places = direct.places.iter().zip(&chained.places).map(|(a, b)| {
        let agree = match (a.old, b.old) {
            (Some(x), Some(y)) => (x - y).abs() <= options.disagree,
            (None, None) => true,
            _ => false,
        };
        let likelier = if a.confidence >= b.confidence { a } else { b };
        let mut place = if agree { *a } else { *likelier };
        if !agree {
            place.confidence = place.confidence.min(options.doubted);
        }
        if let Some(old) = &mut place.old {
            highest = highest.max(*old);
            *old = highest;
        }
        place
    });
    FrameMap {
        old_frames: direct.old_frames,
        places: places.collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn map(old_frames: usize, old: &[Option<f32>]) -> FrameMap {
        FrameMap {
            old_frames,
            places: old
                .iter()
                .map(|o| o.map_or(Place::none(0.9), |f| Place::at(f, 0.9)))
                .collect(),
        }
    }

    #[test]
    fn a_span_is_found_dropped_or_unknown() {
        let options = CarryOptions::default();
        let m = map(
            30,
            &[
                Some(0.0),
                Some(1.0),
                None,
                Some(2.4),
                Some(20.0),
                Some(21.0),
            ],
        );
        let CarriedSpan::Here {
            first,
            last,
            confidence,
        } = carry_span(&m, 1, 2, &options)
        else {
            panic!()
        };
        assert_eq!((first, last), (1, 3));
        assert!((confidence - 0.9).abs() < 1e-6);
        assert_eq!(
            carry_span(&m, 8, 10, &options),
            CarriedSpan::Dropped {
                before: Some(3),
                after: Some(4)
            }
        );
        let mut doubted = m;
        doubted.places[4].confidence = 0.2;
        assert_eq!(
            carry_span(&doubted, 20, 20, &options),
            CarriedSpan::Unknown {
                before: Some(3),
                after: Some(5)
            }
        );
    }

    #[test]
    fn a_region_follows_the_camera_and_sees_its_cells() {
        let mut cells = vec![0.0; COLUMNS * ROWS];
        cells[4 * COLUMNS + 9] = 0.7;
        let change = FrameChange { value: 0.7, cells };
        let region = Region {
            x: 0.5,
            y: 0.45,
            width: 0.05,
            height: 0.1,
        };
        let camera = Similarity::shift(-0.07, 0.0);
        let options = CarryOptions::default();
        let found = carry_region(&region, &camera, &change, &options).unwrap();
        assert!(
            (found.region.x - 0.57).abs() < 1e-5 && found.changed,
            "{found:?}"
        );
        let still = carry_region(&region, &Similarity::IDENTITY, &change, &options).unwrap();
        assert!(!still.changed, "{still:?}");
        let away = Similarity::shift(-0.9, 0.0);
        assert_eq!(carry_region(&region, &away, &change, &options), None);
    }

    #[test]
    fn a_disagreement_is_doubted() {
        let direct = map(40, &[Some(1.0), Some(2.0), None]);
        let mut chained = map(40, &[Some(1.5), Some(9.0), Some(10.0)]);
        chained.places[1].confidence = 0.95;
        let both = reconcile(&direct, &chained, &ComposeOptions::default());
        assert_eq!(both.places[0], Place::at(1.0, 0.9));
        assert_eq!(both.places[1], Place::at(9.0, 0.5));
        assert_eq!(both.places[2], Place::none(0.5));
    }

    fn rising(frames: usize, old_frames: usize) -> impl Strategy<Value = FrameMap> {
        let steps = proptest::collection::vec(0.0f32..2.0, frames);
        steps.prop_map(move |steps| {
            let mut at = 0.0;
            let old: Vec<Option<f32>> = steps
                .into_iter()
                .map(|s| {
                    at = (at + s).min(old_frames as f32 - 1.0);
                    Some(at)
                })
                .collect();
            map(old_frames, &old)
        })
    }

    proptest! {
        #[test]
        fn chaining_does_not_depend_on_the_order(a in rising(40, 40), b in rising(40, 40), c in rising(40, 40)) {
            let o = ComposeOptions::default();
            let left = compose(&compose(&a, &b, &o), &c, &o);
            let right = compose(&a, &compose(&b, &c, &o), &o);
            for (l, r) in left.places.iter().zip(&right.places) {
                let (Some(l), Some(r)) = (l.old, r.old) else { panic!("a place was lost") };
                prop_assert!((l - r).abs() <= 1.0, "{l} {r}");
            }
        }
    }
}
