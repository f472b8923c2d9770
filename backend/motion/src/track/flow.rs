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

/// A row of a patch, and a value for each of its pixels.
type Row = [f32; SIDE];
type Square = [Row; SIDE];

/// A patch of the first picture with its gradients; means are taken out.
struct Patch {
    left: usize,
    top: usize,
    value: Square,
    across: Square,
    down: Square,
    inverse: [f32; 3],
}

impl Patch {
    #[inline(always)]
    fn cut(level: &Level, left: usize, top: usize) -> Self {
        let nothing = [[0.0; SIDE]; SIDE];
        let mut patch = Self {
            left,
            top,
            value: nothing,
            across: nothing,
            down: nothing,
            inverse: [0.0; 3],
        };
        let [mut xx, mut xy, mut yy] = [[0.0; SIDE]; 3];
        let row = |y: usize| row_of::<{ SIDE + 2 }>(level, left + RIM - 1, top + RIM + y - 1);
        let [mut above, mut own] = [row(0), row(1)];
        for y in 0..SIDE {
            let below = row(y + 2);
            let [mut gx, mut gy] = [[0.0; SIDE]; 2];
            for x in 0..SIDE {
                patch.value[y][x] = own[x + 1];
                gx[x] = 0.5 * (own[x + 2] - own[x]);
                gy[x] = 0.5 * (below[x + 1] - above[x + 1]);
                xx[x] += gx[x] * gx[x];
                xy[x] += gx[x] * gy[x];
                yy[x] += gy[x] * gy[x];
            }
            (patch.across[y], patch.down[y]) = (gx, gy);
            (above, own) = (own, below);
        }
        for values in [&mut patch.value, &mut patch.across, &mut patch.down] {
            take_out_mean(values);
        }
        let [xx, xy, yy] = [xx, xy, yy].map(|columns| columns.iter().sum::<f32>());
        let (xx, yy) = (xx + LEAST, yy + LEAST);
        let determinant = xx * yy - xy * xy;
        patch.inverse = [yy, -xy, xx].map(|v| v / determinant);
        patch
    }

    /// The second picture under the patch moved by `by`, less the patch; means are not taken out.
    #[inline(always)]
    fn off(&self, level: &Level, by: [f32; 2]) -> Square {
        let place = |start: usize, by: f32, size: usize| {
            // Counted from the rim's corner, so that cutting is rounding down.
            split((start as f32 + by).max(-16.0).min((size + 8) as f32) + RIM as f32)
        };
        let (x, u) = place(self.left, by[0], level.width);
        let (y, v) = place(self.top, by[1], level.height);
        let row = |y: usize| {
            let row = row_of::<{ SIDE + 1 }>(level, x, y);
            let mut out = [0.0; SIDE];
            for i in 0..SIDE {
                out[i] = row[i] + u * (row[i + 1] - row[i]);
            }
            out
        };
        let mut off = [[0.0; SIDE]; SIDE];
        let mut above = row(y);
        for (k, (off, value)) in off.iter_mut().zip(&self.value).enumerate() {
            let below = row(y + k + 1);
            for i in 0..SIDE {
                off[i] = above[i] + v * (below[i] - above[i]) - value[i];
            }
            above = below;
        }
        off
    }

    /// The squared difference once means are taken out: that of squares less the square of the sum.
    #[inline(always)]
    fn error(&self, level: &Level, by: [f32; 2]) -> f32 {
        let off = self.off(level, by);
        summed(&off, &off) - summed(&off, &ONES).powi(2) / (SIDE * SIDE) as f32
    }

    /// The best move near `start`, or `start` when the search runs away.
    #[inline(always)]
    fn find(&self, level: &Level, start: [f32; 2]) -> [f32; 2] {
        let mut by = start;
        for _ in 0..STEPS {
            let off = self.off(level, by);
            // The gradients' means are 0, so that of the difference says nothing.
            let bx = summed(&off, &self.across);
            let by_ = summed(&off, &self.down);
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

/// `N` values of a level's data from column `x` of row `y` on, the rim counted; 0 past its end.
#[inline(always)]
fn row_of<const N: usize>(level: &Level, x: usize, y: usize) -> [f32; N] {
    let row = level.data.get(y * level.stride + x..);
    row.and_then(|row| row.first_chunk().copied())
        .unwrap_or([0.0; N])
}

/// Added to the squared gradients, so that a plain patch stays where it is.
const LEAST: f32 = 0.1;

const ONES: Square = [[1.0; SIDE]; SIDE];

/// A step this short ends the search of a patch, in pixels.
const ENOUGH: f32 = 0.03;

/// The sum of products, a column each at first.
#[inline(always)]
fn summed(a: &Square, b: &Square) -> f32 {
    let mut columns = [0.0; SIDE];
    for (a, b) in a.iter().zip(b) {
        for x in 0..SIDE {
            columns[x] += a[x] * b[x];
        }
    }
    columns.iter().sum()
}

#[inline(always)]
fn take_out_mean(values: &mut Square) {
    let mean = summed(values, &ONES) / (SIDE * SIDE) as f32;
    for value in values.as_flattened_mut() {
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

/// Weighted sums of the moves of the patches over each pixel: across, down and the weights, with room for a patch at the
/// right and below.
struct Gathered {
    width: usize,
    height: usize,
    stride: usize,
    sums: [Vec<f32>; 3],
}

impl Gathered {
    fn new(width: usize, height: usize) -> Self {
        let stride = width + SIDE;
        Self {
            width,
            height,
            stride,
            sums: [0, 1, 2].map(|_| vec![0.0; stride * (height + SIDE)]),
        }
    }

    #[inline(always)]
    fn add(&mut self, patch: &Patch, level: &Level, by: [f32; 2]) {
        let mut off = patch.off(level, by);
        take_out_mean(&mut off);
        for (y, off) in off.iter().enumerate() {
            let weights = off.map(|off| 1.0 / off.abs().max(1.0));
            let start = (patch.top + y) * self.stride + patch.left;
            for (sums, by) in self.sums.iter_mut().zip([by[0], by[1], 1.0]) {
                let Some(row) = sums.get_mut(start..start + SIDE) else {
                    continue;
                };
                for (sum, weight) in row.iter_mut().zip(weights) {
                    *sum += weight * by;
                }
            }
        }
    }

    fn spread(self) -> Field {
        let mut moves = Vec::with_capacity(self.width * self.height);
        for y in 0..self.height {
            let own = y * self.stride..y * self.stride + self.width;
            let [x, y, weight] = self.sums.each_ref().map(|sums| &sums[own.clone()]);
            let sums = x.iter().zip(y).zip(weight);
            moves.extend(sums.map(
                |((x, y), w)| {
                    if *w > 0.0 { [x / w, y / w] } else { [0.0; 2] }
                },
            ));
        }
        Field {
            width: self.width,
            height: self.height,
            moves,
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
