//! What a frame looks like, in numbers that light, set and compression leave alone: a soft mask of what moves, local
//! texture against the picture at rest, and the directions of edges on what moves.

mod vectors;

pub(crate) use vectors::Vectors;

use crate::plane::Plane;
use crate::stats::spread;
use crate::view::{HALF, Tones, View, middle};
use crate::wide::wide;

/// Cells of mask and edge directions.
const CELLS: (usize, usize) = (32, 18);
/// Length of the mask descriptor.
pub(crate) const MASK_CELLS: usize = CELLS.0 * CELLS.1;
/// Cells of texture.
const TEXTURE: (usize, usize) = (64, 36);
/// Edge directions told apart, over half a turn.
const DIRECTIONS: usize = 6;
/// A difference of this many levels from the picture at rest counts half.
const DIFFERENT: f32 = 15.0;
/// Colour differences count this much more than light.
const COLOUR: f32 = 1.5;
/// Pixels a soft mask is blurred by.
const SOFT: f32 = 1.5;
/// Frames the middle texture is taken of.
const TEXTURE_FRAMES: usize = 41;

/// The descriptors of all frames of a clip.
pub(crate) struct Descriptors {
    pub(crate) mask: Vectors,
    pub(crate) texture: Vectors,
    pub(crate) edges: Vectors,
}

impl Descriptors {
    pub(crate) fn len(&self) -> usize {
        self.mask.len()
    }

    /// Those of every `stride`-th frame.
    pub(crate) fn thinned(&self, stride: usize) -> Self {
        Self {
            mask: self.mask.thinned(stride),
            texture: self.texture.thinned(stride),
            edges: self.edges.thinned(stride),
        }
    }
}

/// Difference from the picture at rest, in levels: the larger of light's and colour's.
pub(crate) fn difference(tones: &Tones, still: &Tones) -> Plane {
    let mut out = tones.light.clone();
    let rest = still.light.data();
    let [u, v] = [0, 1].map(|k| (tones.colours[k].data(), still.colours[k].data()));
    for (i, d) in out.data_mut().iter_mut().enumerate() {
        let colour = (u.0[i] - u.1[i]).abs().max((v.0[i] - v.1[i]).abs());
        *d = (*d - rest[i]).abs().max(COLOUR * colour);
    }
    out
}

/// How much each pixel differs from the picture at rest, 0 to 1, blurred, at half size.
pub(crate) fn soft_mask(tones: &Tones, still: &Tones) -> Plane {
    difference(tones, still)
        .map(|d| d * d / (d * d + DIFFERENT * DIFFERENT))
        .blurred(SOFT)
}

/// The mask descriptor of soft masks.
pub(crate) fn mask_vector(mask: &Plane) -> Vec<f32> {
    mask.resized(CELLS.0, CELLS.1).data().to_vec()
}

/// All descriptors of a clip, where `seen` (at half size) is 1. Calls `each` after every frame; `None` when it says stop.
pub(crate) fn describe(
    view: &View<'_>,
    seen: &Plane,
    each: &mut dyn FnMut() -> bool,
) -> Option<Descriptors> {
    let still = view.still(None);
    let rest = resting_texture(view);
    let n = view.len();
    let mut mask = Vectors::for_frames(n, CELLS.0 * CELLS.1);
    let mut texture = Vectors::for_frames(n, TEXTURE.0 * TEXTURE.1);
    let mut edges = Vectors::for_frames(n, CELLS.0 * CELLS.1 * DIRECTIONS);
    for i in 0..n {
        if view.reel.repeats(i) && view.rests() {
            mask.repeat();
            texture.repeat();
            edges.repeat();
        } else {
            let tones = view.half_tones(i);
            let mut soft = soft_mask(&tones, &still);
            times(&mut soft, seen);
            let contrast = tones.light.local_contrast(5.0, 10.0);
            mask.push(&mask_vector(&soft));
            edges.push(&edge_directions(&contrast, &soft));
            texture.push(texture_of(&contrast, &rest, seen).data());
        }
        if !each() {
            return None;
        }
    }
    for set in [&mut mask, &mut texture, &mut edges] {
        set.finish();
    }
    Some(Descriptors {
        mask,
        texture,
        edges,
    })
}

fn times(plane: &mut Plane, by: &Plane) {
    for (p, b) in plane.data_mut().iter_mut().zip(by.data()) {
        *p *= b;
    }
}

fn resting_texture(view: &View<'_>) -> Plane {
    let some: Vec<Plane> = spread(view.len(), TEXTURE_FRAMES)
        .into_iter()
        .map(|i| view.half_light(i).local_contrast(5.0, 10.0))
        .collect();
    middle(&some.iter().collect::<Vec<_>>())
}

fn texture_of(contrast: &Plane, rest: &Plane, seen: &Plane) -> Plane {
    let mut out = contrast.clone();
    for ((t, r), s) in out.data_mut().iter_mut().zip(rest.data()).zip(seen.data()) {
        *t = (*t - r) * s;
    }
    out.shrunk(HALF.0 / TEXTURE.0)
}

/// The direction of (x, y) as a share of half a turn, 0 to 1, opposite directions being one. Within 4e-6: Abramowitz and
/// Stegun, Handbook of Mathematical Functions (1964), 4.4.49.
#[inline(always)]
fn half_turns(x: f32, y: f32) -> f32 {
    let (near, far) = (x.abs().min(y.abs()), x.abs().max(y.abs()));
    let t = near / far.max(f32::MIN_POSITIVE);
    let s = t * t;
    let turn = t
        * (0.999_866 + s * (-0.330_299_5 + s * (0.180_141 + s * (-0.085_133 + s * 0.020_835_1))))
        / std::f32::consts::PI;
    let turn = if y.abs() > x.abs() { 0.5 - turn } else { turn };
    if (x < 0.0) == (y < 0.0) {
        turn
    } else {
        1.0 - turn
    }
}

wide! {
    /// How much edge each pixel of a row has, and its direction as [`half_turns`] times [`DIRECTIONS`].
    fn edges_of(slopes: [&[f32]; 2], mask: &[f32], sizes: &mut [f32], directions: &mut [f32]) = edges_of_row
}

#[inline(always)]
fn edges_of_row(slopes: [&[f32]; 2], mask: &[f32], sizes: &mut [f32], directions: &mut [f32]) {
    let n = mask.len();
    let [gx, gy] = slopes.map(|row| &row[..n]);
    let (sizes, directions) = (&mut sizes[..n], &mut directions[..n]);
    for x in 0..n {
        sizes[x] = mask[x] * (gx[x] * gx[x] + gy[x] * gy[x]).sqrt();
        directions[x] = half_turns(gx[x], gy[x]) * DIRECTIONS as f32;
    }
}

/// Per cell, how much edge there is in each direction (over half a turn, shared between neighbouring directions), weighted by
/// the mask (Dalal & Triggs 2005, without their block normalisation).
fn edge_directions(contrast: &Plane, mask: &Plane) -> Vec<f32> {
    let slope = [-0.5, 0.0, 0.5];
    let across = contrast.filtered_across(&slope);
    let down = contrast.filtered_down(&slope);
    let mut out = vec![0.0; CELLS.0 * CELLS.1 * DIRECTIONS];
    let times = HALF.0 / CELLS.0;
    let [mut sizes, mut directions] = [[0.0; HALF.0]; 2];
    for y in 0..HALF.1 {
        let slopes = [across.row(y), down.row(y)];
        edges_of(slopes, mask.row(y), &mut sizes, &mut directions);
        let cells = (y / times) * CELLS.0;
        for (x, (&size, &at)) in sizes.iter().zip(&directions).enumerate() {
            if size < 1e-4 {
                continue;
            }
            let first = (at as usize).min(DIRECTIONS - 1);
            let share = at - first as f32;
            let cell = (cells + x / times) * DIRECTIONS;
            out[cell + first] += size * (1.0 - share);
            out[cell + (first + 1) % DIRECTIONS] += size * share;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::half_turns;

    #[test]
    fn directions_are_those_of_the_arc_tangent() {
        for k in 0..720 {
            let angle = (k as f32).to_radians() / 2.0;
            let (y, x) = angle.sin_cos();
            let want = (y.atan2(x) / std::f32::consts::PI).rem_euclid(1.0);
            let off = (half_turns(x, y) - want).abs();
            assert!(off.min(1.0 - off) < 1e-5, "{angle}: {off}");
        }
        assert_eq!(half_turns(0.0, 0.0), 0.0);
    }
}
