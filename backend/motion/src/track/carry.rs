//! The clicks of a trace proposed anew on the next revision of a clip.

use super::clip::{Clip, Prepared};
use super::ncc::{best, correlate};
use super::trace::{Click, TraceError};
use crate::plane::Plane;

/// How clicks are found again.
#[derive(Debug, Clone, PartialEq)]
pub struct CarryOptions {
    /// Side of the patch around a click, in pixels, odd. Default 21.
    pub patch_px: usize,
    /// How far around the old place is looked, in pixels. Default 32.
    pub reach_px: usize,
    /// Turned copies of the patch that are looked for, evenly over the whole circle. Default 24, so every 15 degrees.
    pub turns: usize,
    /// The correlation above which a place is proposed. Default 0.72.
    pub least: f32,
}

impl Default for CarryOptions {
    fn default() -> Self {
        Self {
            patch_px: 21,
            reach_px: 32,
            turns: 24,
            least: 0.72,
        }
    }
}

/// A click on the next revision, proposed: shown to a person, never taken as theirs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Carried {
    /// The click on the old clip.
    pub from: Click,
    /// The click on the new one, in its shown pixels; `None` where the frame has no counterpart or nothing there is enough
    /// like the old patch.
    pub to: Option<Click>,
    /// The best correlation found, −1 to 1; 0 without a counterpart.
    pub likeness: f32,
}

/// Finds the patch around each click again on the frame of `new` that stands for the click's. `new_to_old` gives for each new
/// frame the old one it stands for (fractions between two), as a frame map does; the nearest within half a frame counts.
///
/// Tracing `new` through the proposed clicks gives the proposed trace. Found in pictures whose part looks alike: a patch
/// half covered or turned out of the picture's plane is not found.
///
/// # Errors
/// A click past the old clip's last frame.
pub fn carry(
    old: &Clip,
    new: &Clip,
    clicks: &[Click],
    new_to_old: &[Option<f32>],
    options: &CarryOptions,
) -> Result<Vec<Carried>, TraceError> {
    clicks
        .iter()
        .map(|&from| {
            if from.frame >= old.len() || !from.x.is_finite() || !from.y.is_finite() {
                let last = old.len().saturating_sub(1);
                return Err(TraceError::FrameOutside {
                    frame: from.frame,
                    last,
                });
            }
            let nothing = Carried {
                from,
                to: None,
                likeness: 0.0,
            };
            let Some(frame) = counterpart(from.frame, new_to_old).filter(|&f| f < new.len()) else {
                return Ok(nothing);
            };
            let at = old.to_work([from.x, from.y]);
            let start = new.to_work(rescaled(old, new, [from.x, from.y]));
            let (place, likeness) = found(
                &old.prepared(from.frame)?,
                at,
                &new.prepared(frame)?,
                start,
                options,
            );
            let [x, y] = new.to_shown(place);
            let (width, height) = new.shown_size();
            let inside = |v: f64, size: usize| v >= -0.5 && v <= size as f64 - 0.5;
            let good = likeness > options.least && inside(x, width) && inside(y, height);
            Ok(Carried {
                to: good.then_some(Click { frame, x, y }),
                likeness,
                ..nothing
            })
        })
        .collect()
}

fn counterpart(frame: usize, new_to_old: &[Option<f32>]) -> Option<usize> {
    new_to_old
        .iter()
        .enumerate()
        .filter_map(|(new, old)| old.map(|old| (new, (old - frame as f32).abs())))
        .filter(|&(_, off)| off <= 0.5)
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(new, _)| new)
}

/// A place of the old shown picture at the same share of the new one.
fn rescaled(old: &Clip, new: &Clip, at: [f64; 2]) -> [f64; 2] {
    let ((w, h), (nw, nh)) = (old.shown_size(), new.shown_size());
    [
        (at[0] + 0.5) * nw as f64 / w as f64 - 0.5,
        (at[1] + 0.5) * nh as f64 / h as f64 - 0.5,
    ]
}

/// The place in `to` most like the patch of `from` around `at`, looked for around `start`, and the correlation.
fn found(
    from: &Prepared,
    at: [f32; 2],
    to: &Prepared,
    start: [f32; 2],
    options: &CarryOptions,
) -> ([f32; 2], f32) {
    let side = options.patch_px.max(3) | 1;
    let area = side + 2 * options.reach_px;
    let corner = start.map(|v| v.round() - (area / 2) as f32);
    let picture = cut(to, area, |x, y| [corner[0] + x, corner[1] + y]);
    let half = (side / 2) as f32;
    (0..options.turns.max(1))
        .filter_map(|turn| {
            let angle = turn as f32 * std::f32::consts::TAU / options.turns.max(1) as f32;
            let (sin, cos) = angle.sin_cos();
            let patch = cut(from, side, |x, y| {
                let (x, y) = (x - half, y - half);
                [at[0] + cos * x - sin * y, at[1] + sin * x + cos * y]
            });
            correlate(&picture, &patch).map(|map| best(&map))
        })
        .map(|([x, y], value)| ([corner[0] + x + half, corner[1] + y + half], value))
        .fold(
            (start, 0.0),
            |best, next| {
                if next.1 > best.1 { next } else { best }
            },
        )
}

/// A square of `side` pixels, channel by channel, whose pixel (x, y) is taken at `place(x, y)`.
fn cut(frame: &Prepared, side: usize, place: impl Fn(f32, f32) -> [f32; 2]) -> [Plane; 3] {
    let mut planes = [0; 3].map(|_| Plane::filled(side, side, 0.0));
    for y in 0..side {
        for x in 0..side {
            let [px, py] = place(x as f32, y as f32);
            let colour = frame.colour(px, py);
            for (plane, value) in planes.iter_mut().zip(colour) {
                plane.data_mut()[y * side + x] = value;
            }
        }
    }
    planes
}
