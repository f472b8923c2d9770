//! From residuals to a verdict per cell and frame: what this pair of clips shows everywhere is not change.

use super::grid::{CELLS, COLUMNS, neighbours};
use crate::stats::{median, quantile};

/// What one frame says in each cell.
#[derive(Debug, Clone)]
pub(super) struct Signs {
    /// Residual of shape.
    pub(super) shape: [f32; CELLS],
    /// Residual of colour.
    pub(super) colour: [f32; CELLS],
    /// Speed of the old picture.
    pub(super) speed: [f32; CELLS],
    /// Residual of shape of the old picture one frame off.
    pub(super) step: [f32; CELLS],
}

/// A frame's verdict.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Verdict {
    pub(super) value: f32,
    pub(super) cells: [f32; CELLS],
}

/// What a cell says, from which the logistic score is made.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Features {
    /// Shape and colour against what is usual at that speed.
    pub(super) shape: f32,
    pub(super) colour: f32,
    pub(super) raw_shape: f32,
    pub(super) raw_colour: f32,
    /// Both together, and their middle over five frames.
    pub(super) both: f32,
    pub(super) lasting: f32,
    pub(super) around: f32,
    pub(super) usual: f32,
    pub(super) speed: f32,
    pub(super) step: f32,
}

/// How strange moving cells are in this pair as a whole.
fn pair_level(frames: &[Signs]) -> f32 {
    let mut moving: Vec<f32> = each_cell(frames)
        .filter(|&(f, k)| f.speed[k] > 0.05)
        .map(|(f, k)| f.shape[k])
        .collect();
    if moving.len() < 50 {
        return -4.0;
    }
    (0.005 + median(&mut moving)).ln()
}

fn each_cell(frames: &[Signs]) -> impl Iterator<Item = (&Signs, usize)> {
    frames.iter().flat_map(|f| (0..CELLS).map(move |k| (f, k)))
}

/// Borders of the speeds told apart, and the middles of the ranges between.
const SPEEDS: [f32; 8] = [0.0, 0.01, 0.03, 0.06, 0.1, 0.15, 0.2, 0.3];
const MIDDLES: [f32; 8] = [0.005, 0.02, 0.045, 0.08, 0.125, 0.175, 0.25, 0.35];

/// The 80th percentile of a residual by speed, never falling.
struct Usual([f32; 8]);

impl Usual {
    fn of(frames: &[Signs], residual: impl Fn(&Signs, usize) -> f32) -> Self {
        let mut bins: [Vec<f32>; 8] = Default::default();
        for (f, k) in each_cell(frames) {
            let bin = SPEEDS.partition_point(|&s| s <= f.speed[k]).max(1) - 1;
            bins[bin].push(residual(f, k));
        }
        let mut level = 0.0f32;
        Self(bins.map(|mut bin| {
            if bin.len() >= 60 {
                level = level.max(quantile(&mut bin, 0.8));
            }
            level
        }))
    }

    fn at(&self, speed: f32) -> f32 {
        let upper = MIDDLES.partition_point(|&m| m < speed);
        if upper == 0 {
            return self.0[0];
        }
        if upper == MIDDLES.len() {
            return self.0[7];
        }
        let t = (speed - MIDDLES[upper - 1]) / (MIDDLES[upper] - MIDDLES[upper - 1]);
        self.0[upper - 1] + t * (self.0[upper] - self.0[upper - 1])
    }
}

/// What the whole pair shows of each cell.
pub(super) struct Standing {
    /// Middle residual of shape over time.
    resting: [f32; CELLS],
    /// Cells that never agree although the set is the same: something burnt in.
    pub(super) fixed: [bool; CELLS],
}

impl Standing {
    pub(super) fn of(frames: &[Signs], likeness: f32) -> Self {
        let mut resting = [0.0; CELLS];
        for (k, r) in resting.iter_mut().enumerate() {
            *r = median(&mut frames.iter().map(|f| f.shape[k]).collect::<Vec<_>>());
        }
        Self {
            fixed: resting.map(|r| r >= 0.3 && likeness >= 0.8),
            resting,
        }
    }

    fn near_fixed(&self, k: usize) -> bool {
        self.fixed[k] || neighbours(k).any(|n| self.fixed[n])
    }
}

/// Features of every cell of every frame, and the level of the pair.
pub(super) fn features(frames: &[Signs], standing: &Standing) -> (Vec<[Features; CELLS]>, f32) {
    let shape = Usual::of(frames, |f, k| f.shape[k]);
    let colour = Usual::of(frames, |f, k| f.colour[k]);
    let mut out: Vec<[Features; CELLS]> = frames
        .iter()
        .map(|f| {
            let mut cells = [Features::default(); CELLS];
            for (k, cell) in cells.iter_mut().enumerate() {
                cell.speed = f.speed[k];
                cell.step = f.step[k];
                cell.raw_shape = f.shape[k];
                cell.raw_colour = f.colour[k];
                cell.shape = f.shape[k] / (0.01 + 2.5 * shape.at(f.speed[k]));
                cell.colour = f.colour[k] / (0.04 + 2.0 * colour.at(f.speed[k]));
                cell.both = (cell.shape * cell.colour).max(0.0).sqrt();
            }
            cells
        })
        .collect();
    for k in 0..CELLS {
        let both: Vec<f32> = out.iter().map(|c| c[k].both).collect();
        let usual = quantile(&mut both.clone(), 0.6);
        for (i, cells) in out.iter_mut().enumerate() {
            let window = i.saturating_sub(2)..(i + 3).min(both.len());
            cells[k].lasting = median(&mut both[window].to_vec());
            cells[k].usual = usual;
        }
    }
    for cells in &mut out {
        for k in 0..CELLS {
            let sum: f32 = neighbours(k)
                .filter(|&n| !standing.fixed[n])
                .map(|n| cells[n].lasting)
                .sum();
            cells[k].around = sum / 8.0;
        }
    }
    (out, pair_level(frames))
}

/// Logarithm of the odds that a cell changed: a logistic regression over shots of known truth, and how many times more it
/// takes before a viewer should be told.
fn score(f: &Features, level: f32) -> f32 {
    0.881 - 4.4 + 0.710 * (f.shape + 0.05).ln() - 0.398 * (f.colour + 0.05).ln()
        + 0.598 * (f.raw_shape + 0.005).ln()
        + 0.365 * (f.raw_colour + 0.005).ln()
        + 0.698 * (f.lasting + 0.05).ln()
        + 2.625 * (f.around + 0.05).ln()
        - 0.127 * (f.usual + 0.05).ln()
        + 0.835 * (f.speed + 0.01).ln()
        - 2.593 * level
}

/// A cell's chance to have changed at each frame: two states that last, forward and backward (Rabiner 1989).
/// `weights`, 0 to 1, say how much each score counts.
fn lasting_chance(scores: &[f32], weights: &[f32]) -> Vec<f32> {
    const BEGINS: f64 = 2e-4;
    const STAYS: f64 = 0.9;
    const FIRST: f64 = 0.002;
    let odds: Vec<f64> = scores
        .iter()
        .zip(weights)
        .map(|(x, w)| f64::from(w * (0.5 * x).clamp(-4.0, 4.0)).exp())
        .collect();
    let n = odds.len();
    let mut forward = vec![0.0; n];
    let mut p = FIRST;
    for i in 0..n {
        if i > 0 {
            p = p * STAYS + (1.0 - p) * BEGINS;
        }
        p = p * odds[i] / (p * odds[i] + 1.0 - p);
        forward[i] = p;
    }
    let (mut on, mut off) = (1.0, 1.0);
    let mut out = vec![0.0; n];
    for i in (0..n).rev() {
        let (a, b) = (forward[i] * on, (1.0 - forward[i]) * off);
        out[i] = (a / (a + b)) as f32;
        let (seen_on, seen_off) = (odds[i] * on, off);
        on = STAYS * seen_on + (1.0 - STAYS) * seen_off;
        off = BEGINS * seen_on + (1.0 - BEGINS) * seen_off;
        let sum = on + off;
        (on, off) = (on / sum, off / sum);
    }
    out
}

/// How much a frame's score counts: a picture that stands says the same again and again.
fn news(speed: f32) -> f32 {
    (0.1 + speed / 0.05).min(1.0)
}

/// A residual of shape below this is a place a part of a frame off, where the old picture one frame off leaves `step`.
fn explained(step: f32) -> f32 {
    0.01 + 0.18 * step
}

/// The verdict on each frame.
pub(super) fn judge(frames: &[Signs], likeness: f32) -> Vec<Verdict> {
    let standing = Standing::of(frames, likeness);
    let (features, level) = features(frames, &standing);
    let n = frames.len();
    let mut scores = vec![[0.0f32; CELLS]; n];
    let mut chances = vec![[0.0f32; CELLS]; n];
    for k in 0..CELLS {
        let of_cell: Vec<f32> = features.iter().map(|f| score(&f[k], level)).collect();
        let news: Vec<f32> = features.iter().map(|f| news(f[k].speed)).collect();
        for (i, p) in lasting_chance(&of_cell, &news).into_iter().enumerate() {
            scores[i][k] = of_cell[i];
            chances[i][k] = p;
        }
    }
    let on = switched_on(&features, &chances, &standing);
    let ever = always_on(&on);
    (0..n)
        .map(|i| {
            let mut cells = [0.0; CELLS];
            let mut value = 0.0f32;
            for (k, cell) in cells.iter_mut().enumerate() {
                let z = 0.5 + 0.5 * (scores[i][k] / 8.0).tanh();
                *cell = if on[i][k] { 0.5 + 0.5 * z } else { 0.49 * z };
                if !ever[k] && !standing.near_fixed(k) {
                    value = value.max(*cell);
                }
            }
            let set = another_set(&mut cells, &standing, likeness);
            Verdict {
                value: value.max(set),
                cells,
            }
        })
        .collect()
}

/// Cells that count as changed: by themselves, or next to one that did a frame before or after.
fn switched_on(
    features: &[[Features; CELLS]],
    chances: &[[f32; CELLS]],
    standing: &Standing,
) -> Vec<[bool; CELLS]> {
    let holds = |i: usize, k: usize, least: f32| {
        let f = &features[i][k];
        let shown = f.raw_shape >= explained(f.step);
        !standing.fixed[k] && chances[i][k] >= least && f.both >= 0.6 * f.lasting && shown
    };
    let n = features.len();
    let mut on: Vec<[bool; CELLS]> = (0..n)
        .map(|i| std::array::from_fn(|k| holds(i, k, 0.5)))
        .collect();
    let order: Vec<(usize, usize)> = (1..n)
        .map(|i| (i, i - 1))
        .chain((0..n.saturating_sub(1)).rev().map(|i| (i, i + 1)))
        .collect();
    for (i, from) in order {
        for k in 0..CELLS {
            let touched = on[from][k] || neighbours(k).any(|c| on[from][c]);
            on[i][k] = on[i][k] || (touched && holds(i, k, 0.02));
        }
    }
    on
}

/// Cells on in more than 70 % of frames: the set, not what happens in it.
fn always_on(on: &[[bool; CELLS]]) -> [bool; CELLS] {
    std::array::from_fn(|k| {
        let count = on.iter().filter(|f| f[k]).count();
        count as f32 > 0.7 * on.len() as f32
    })
}

/// Raises the cells of a set that changed for good, and returns the frame's value for it.
fn another_set(cells: &mut [f32; CELLS], standing: &Standing, likeness: f32) -> f32 {
    let other = likeness < 0.8;
    let limit = if other { 0.16 } else { 0.3 };
    let mut inner = 0;
    for (k, cell) in cells.iter_mut().enumerate() {
        let r = standing.resting[k];
        if r >= limit {
            *cell = cell.max((0.5 * r / limit).min(1.0));
            let row = k / COLUMNS;
            inner += usize::from((2..=6).contains(&row));
        }
    }
    if inner >= 4 { 0.75 } else { 0.0 }
}
