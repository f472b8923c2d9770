//! A coarse dense flow, by inverse search of small patches on a pyramid (after Kroeger, Timofte, Dai and Van Gool, "Fast
//! optical flow using dense inverse search", 2016; without their variational refinement). Only starts searches.

use super::pyramid::{Level, Pyramid, RIM};
use crate::wide::{split, wide};

/// Side of a patch and the distance between patches, in pixels of a level.
const SIDE: usize = 8;
const APART: usize = 4;

/// Levels gone through, coarsest first; the flow has the size of the last.
const COARSEST: usize = 5;
pub(crate) const FINEST: usize = 3;

/// Most steps of the search of a patch.
const STEPS: usize = 16;

/// Where each part of a picture went, in pixels of the finest level of the pyramids.
#[derive(Debug, Clone)]
pub(crate) struct Flow {
    width: usize,
    height: usize,
    moves: Vec<[i16; 2]>,
}

/// Moves are kept in this part of a pixel: they only begin searches, and those of a whole clip are kept.
const PART: f32 = 1.0 / 16.0;

impl Flow {
    /// From one frame to another.
    pub(crate) fn between(from: &Pyramid, to: &Pyramid) -> Self {
        let pairs = from.levels.iter().zip(&to.levels).enumerate();
        let mut field: Option<Field> = None;
        for (_, (a, b)) in pairs.take(COARSEST + 1).skip(FINEST).rev() {
            field = Some(refined(a, b, field.as_ref()));
        }
        let Some(field) = field else {
            return Self {
                width: 1,
                height: 1,
                moves: vec![[0; 2]],
            };
        };
        let kept = |v: f32| (v * (1 << FINEST) as f32 / PART).round() as i16;
        Self {
            width: field.width,
            height: field.height,
            moves: field.moves.iter().map(|m| m.map(kept)).collect(),
        }
    }

    /// The move at a place in pixels of the finest level of the pyramids.
    pub(crate) fn at(&self, point: [f32; 2]) -> [f32; 2] {
        let at = cell(
            point.map(|v| v / (1 << FINEST) as f32),
            self.width,
            self.height,
        );
        self.moves[at].map(|v| f32::from(v) * PART)
    }
}

/// The pixel nearest to a place, the edge's outside.
#[inline(always)]
fn cell([x, y]: [f32; 2], width: usize, height: usize) -> usize {
    let x = (x + 0.5).clamp(0.0, (width - 1) as f32) as usize;
    let y = (y + 0.5).clamp(0.0, (height - 1) as f32) as usize;
    y * width + x
}

/// The moves on one level, in its own pixels.
struct Field {
    width: usize,
    height: usize,
    moves: Vec<[f32; 2]>,
}

impl Field {
    #[inline(always)]
    fn nearest(&self, x: f32, y: f32) -> [f32; 2] {
        self.moves[cell([x, y], self.width, self.height)]
    }
}

/// A patch of the first picture with its gradients; means are taken out.
struct Patch {
    left: usize,
    top: usize,
    value: [f32; SIDE * SIDE],
    across: [f32; SIDE * SIDE],
    down: [f32; SIDE * SIDE],
    inverse: [f32; 3],
}

impl Patch {
    #[inline(always)]
    fn cut(level: &Level, left: usize, top: usize) -> Self {
        let mut patch = Self {
            left,
            top,
            value: [0.0; SIDE * SIDE],
            across: [0.0; SIDE * SIDE],
            down: [0.0; SIDE * SIDE],
            inverse: [0.0; 3],
        };
        let (mut xx, mut xy, mut yy) = (0.1, 0.0, 0.1);
        for y in 0..SIDE {
            let start = level.index(left as isize, (top + y) as isize);
            for x in 0..SIDE {
                let (at, i) = (start + x, y * SIDE + x);
                let gx = 0.5 * (level.data[at + 1] - level.data[at - 1]);
                let gy = 0.5 * (level.data[at + level.stride] - level.data[at - level.stride]);
                patch.value[i] = level.data[at];
                patch.across[i] = gx;
                patch.down[i] = gy;
                xx += gx * gx;
                xy += gx * gy;
                yy += gy * gy;
            }
        }
        for values in [&mut patch.value, &mut patch.across, &mut patch.down] {
            take_out_mean(values);
        }
        let determinant = xx * yy - xy * xy;
        patch.inverse = [yy, -xy, xx].map(|v| v / determinant);
        patch
    }

    /// The second picture under the patch moved by `by`, less the patch; means are not taken out.
    #[inline(always)]
    fn off(&self, level: &Level, by: [f32; 2]) -> [f32; SIDE * SIDE] {
        let mut off = [0.0; SIDE * SIDE];
        let x = (self.left as f32 + by[0])
            .max(-16.0)
            .min((level.width + 8) as f32);
        let y = (self.top as f32 + by[1])
            .max(-16.0)
            .min((level.height + 8) as f32);
        // Counted from the rim's corner, so that cutting is rounding down.
        let (x, y) = (x + RIM as f32, y + RIM as f32);
        let ((x0, u), (y0, v)) = (split(x), split(y));
        let corner = y0 * level.stride + x0;
        for (row, (off, value)) in off
            .chunks_exact_mut(SIDE)
            .zip(self.value.chunks_exact(SIDE))
            .enumerate()
        {
            let top = &level.data[corner + row * level.stride..][..=SIDE];
            let bottom = &level.data[corner + (row + 1) * level.stride..][..=SIDE];
            for i in 0..SIDE {
                let a = top[i] + u * (top[i + 1] - top[i]);
                let b = bottom[i] + u * (bottom[i + 1] - bottom[i]);
                off[i] = a + v * (b - a) - value[i];
            }
        }
        off
    }

    /// The squared difference once means are taken out: that of squares less the square of the sum.
    #[inline(always)]
    fn error(&self, level: &Level, by: [f32; 2]) -> f32 {
        let off = self.off(level, by);
        let squares = summed(|i| off[i] * off[i]);
        squares - summed(|i| off[i]).powi(2) / (SIDE * SIDE) as f32
    }

    /// The best move near `start`, or `start` when the search runs away.
    #[inline(always)]
    fn find(&self, level: &Level, start: [f32; 2]) -> [f32; 2] {
        let mut by = start;
        for _ in 0..STEPS {
            let off = self.off(level, by);
            // The gradients' means are 0, so that of the difference says nothing.
            let bx = summed(|i| off[i] * self.across[i]);
            let by_ = summed(|i| off[i] * self.down[i]);
            let [xx, xy, yy] = self.inverse;
            let step = [xx * bx + xy * by_, xy * bx + yy * by_];
            by = [by[0] - step[0], by[1] - step[1]];
            if step[0] * step[0] + step[1] * step[1] < ENOUGH * ENOUGH {
                break;
            }
        }
        let away = (by[0] - start[0]).hypot(by[1] - start[1]);
        if away <= SIDE as f32 && self.error(level, by) <= self.error(level, start) {
            by
        } else {
            start
        }
    }
}

/// A step this short ends the search of a patch, in pixels.
const ENOUGH: f32 = 0.03;

/// The sum of a value for each pixel of a patch, a column each at first.
#[inline(always)]
fn summed(value: impl Fn(usize) -> f32) -> f32 {
    let mut columns = [0.0; SIDE];
    for row in 0..SIDE {
        for (x, sum) in columns.iter_mut().enumerate() {
            *sum += value(row * SIDE + x);
        }
    }
    columns.iter().sum()
}

#[inline(always)]
fn take_out_mean(values: &mut [f32; SIDE * SIDE]) {
    let mean = summed(|i| values[i]) / (SIDE * SIDE) as f32;
    for value in values {
        *value -= mean;
    }
}

wide! {
    /// The moves on one level, begun from the coarser one.
    fn refined(a: &Level, b: &Level, coarser: Option<&Field>) -> Field = refine
}

#[inline(always)]
fn refine(a: &Level, b: &Level, coarser: Option<&Field>) -> Field {
    let columns = starts(a.width);
    let rows = starts(a.height);
    let mut moves: Vec<[f32; 2]> = Vec::with_capacity(columns.len() * rows.len());
    let mut flow = Gathered::new(a.width, a.height);
    for (r, &top) in rows.iter().enumerate() {
        for (c, &left) in columns.iter().enumerate() {
            let patch = Patch::cut(a, left, top);
            let middle = [left, top].map(|v| (v + SIDE / 2) as f32 * 0.5);
            let begun = coarser.map_or([0.0; 2], |f| {
                f.nearest(middle[0], middle[1]).map(|v| v * 2.0)
            });
            let neighbours = [
                (c > 0).then(|| moves[r * columns.len() + c - 1]),
                (r > 0).then(|| moves[(r - 1) * columns.len() + c]),
            ];
            let start = neighbours
                .into_iter()
                .flatten()
                .fold((begun, patch.error(b, begun)), |best, by| {
                    let error = patch.error(b, by);
                    if error < best.1 { (by, error) } else { best }
                })
                .0;
            let by = patch.find(b, start);
            moves.push(by);
            flow.add(&patch, b, by);
        }
    }
    flow.spread()
}

/// Where patches begin along a side: every [`APART`] pixels, the last flush with the end.
fn starts(size: usize) -> Vec<usize> {
    let last = size.saturating_sub(SIDE);
    let mut starts: Vec<usize> = (0..last).step_by(APART).collect();
    starts.push(last);
    starts
}

/// Weighted sums of the moves of the patches over each pixel.
struct Gathered {
    width: usize,
    height: usize,
    sums: Vec<[f32; 3]>,
}

impl Gathered {
    fn new(width: usize, height: usize) -> Self {
        Self {
            width,
            height,
            sums: vec![[0.0; 3]; width * height],
        }
    }

    #[inline(always)]
    fn add(&mut self, patch: &Patch, level: &Level, by: [f32; 2]) {
        let mut off = patch.off(level, by);
        take_out_mean(&mut off);
        for (i, off) in off.iter().enumerate() {
            let (x, y) = (patch.left + i % SIDE, patch.top + i / SIDE);
            if x < self.width && y < self.height {
                let weight = 1.0 / off.abs().max(1.0);
                let sum = &mut self.sums[y * self.width + x];
                *sum = [
                    sum[0] + weight * by[0],
                    sum[1] + weight * by[1],
                    sum[2] + weight,
                ];
            }
        }
    }

    fn spread(self) -> Field {
        let mean = |[x, y, w]: [f32; 3]| if w > 0.0 { [x / w, y / w] } else { [0.0; 2] };
        Field {
            width: self.width,
            height: self.height,
            moves: self.sums.into_iter().map(mean).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Plane;

    #[test]
    fn a_moved_picture_flows_as_it_moved() {
        let wave = |x: f32, y: f32| 120.0 + 50.0 * ((x / 23.0).sin() + (y / 17.0 + x / 61.0).cos());
        let picture = |dx: f32, dy: f32| {
            let plane = Plane::from_fn(320, 180, |x, y| wave(x as f32 - dx, y as f32 - dy));
            Pyramid::new(&plane, 6)
        };
        let flow = Flow::between(&picture(0.0, 0.0), &picture(14.0, -9.0));
        let mut off: Vec<f32> = (40..280)
            .step_by(20)
            .map(|x| flow.at([x as f32, 90.0]))
            .map(|[dx, dy]| (dx - 14.0).hypot(dy + 9.0))
            .collect();
        off.sort_by(f32::total_cmp);
        assert!(off[off.len() / 2] < 1.5, "{off:?}");
    }

    #[test]
    fn pictures_smaller_than_a_patch_flow_too() {
        let dot = Pyramid::new(&Plane::filled(3, 2, 9.0), 6);
        assert_eq!(Flow::between(&dot, &dot).at([1.0, 1.0]), [0.0; 2]);
    }
}
