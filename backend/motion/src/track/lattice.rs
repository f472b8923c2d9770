//! The best path through candidates in time, and how much weight all paths put on each candidate.
//!
//! Best path: Viterbi's dynamic programme; weights: forward-backward (both as in Rabiner, "A tutorial on hidden Markov
//! models", 1989). That a path may leave the candidates and come back later follows Buchanan and Fitzgibbon, "Interactive
//! feature tracking using K-D trees and dynamic programming" (2006), from memory.

use crate::wide::{nearest, wide};

/// What being hidden costs.
#[derive(Debug, Clone, PartialEq)]
pub struct HiddenOptions {
    /// Longest way over hidden frames, in frames from seen to seen. Default 30.
    pub longest: usize,
    /// Cost of leaving or beginning. Default 3.2.
    pub leaving: f32,
    /// Cost of each hidden frame. Default 0.42.
    pub per_frame: f32,
    /// The move over one frame that begins to cost, in pixels. Default 2.5.
    pub reach_px: f32,
    /// How that grows with the frames between: `reach_px * frames ^ growth`. Default 0.8.
    pub growth: f32,
}

impl Default for HiddenOptions {
    fn default() -> Self {
        Self {
            longest: 30,
            leaving: 3.2,
            per_frame: 0.42,
            reach_px: 2.5,
            growth: 0.8,
        }
    }
}

impl HiddenOptions {
    /// Cost of `frames` from seen to seen without the move's.
    fn base(&self, frames: usize) -> f64 {
        f64::from(self.leaving + self.per_frame * (frames as f32 - 1.0))
    }

    /// Cost of beginning after, or ending before, `frames` hidden ones.
    fn free_end(&self, frames: usize) -> f64 {
        if frames == 0 {
            0.0
        } else {
            f64::from(self.leaving + self.per_frame * frames as f32)
        }
    }

    /// Cost of a jump to the next frame that the picture does not explain: the most a step costs.
    pub(crate) fn jump(&self, from: [f32; 2], to: [f32; 2]) -> f32 {
        self.leaving + (square(from, to) * self.inverse_reach(1)).ln_1p()
    }

    /// One over the square of the move that begins to cost over `frames`.
    fn inverse_reach(&self, frames: usize) -> f32 {
        let reach = self.reach_px * (frames as f32).powf(self.growth);
        1.0 / (reach * reach)
    }
}

/// A candidate: where, and how well it fits (larger is better).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Node {
    pub(crate) at: [f32; 2],
    pub(crate) fit: f64,
}

/// The candidates of one frame.
#[derive(Debug, Clone, Default)]
pub(crate) struct Layer {
    pub(crate) nodes: Vec<Node>,
    /// A click: every path goes through it.
    pub(crate) fixed: bool,
    /// Costs from each node of the layer before to each of this, row by row.
    pub(crate) from_before: Vec<f32>,
}

/// Candidates of all frames.
pub(crate) struct Lattice<'a> {
    pub(crate) layers: Vec<Layer>,
    /// `None`: a path takes a candidate on every frame.
    pub(crate) hidden: Option<&'a HiddenOptions>,
}

/// What is known of every frame once the lattice is solved.
pub(crate) struct Solved {
    /// The best path's candidate; `None` where it is hidden.
    pub(crate) path: Vec<Option<usize>>,
    /// The share of all paths' weight that goes through each candidate; the rest of 1 is hidden.
    pub(crate) weights: Vec<Vec<f64>>,
}

impl Lattice<'_> {
    /// Best path and weights; `sharpness` multiplies all scores before they become weights.
    pub(crate) fn solve(&self, sharpness: f64) -> Solved {
        Solved {
            path: self.best_path(),
            weights: self.weights(sharpness),
        }
    }

    /// From which earlier frames a path may come to frame `t`, besides the one just before by a seen step: pairs of frame
    /// and frames between. Never over a click, but two neighbouring clicks are always joined.
    fn hops(&self, t: usize) -> impl Iterator<Item = (usize, usize)> + '_ {
        let longest = self.hidden.map_or(0, |h| h.longest.max(1));
        let click = (0..t).rev().find(|&s| self.layers[s].fixed);
        let first = click.unwrap_or(0);
        let near = t.saturating_sub(longest).max(first);
        let joined = click.filter(|&c| self.hidden.is_some() && self.layers[t].fixed && c < near);
        let until = if self.hidden.is_some() {
            t.saturating_sub(1)
        } else {
            near
        };
        joined
            .into_iter()
            .chain(near..until.max(near))
            .map(move |s| (s, t - s))
    }

    fn may_begin(&self, t: usize) -> bool {
        let hidden_before = self.hidden.is_some() && !self.layers[..t].iter().any(|l| l.fixed);
        t == 0 || hidden_before
    }

    fn may_end(&self, t: usize) -> bool {
        let last = t + 1 == self.layers.len();
        last || (self.hidden.is_some() && !self.layers[t + 1..].iter().any(|l| l.fixed))
    }

    fn free_end(&self, frames: usize) -> f64 {
        self.hidden.map_or(0.0, |h| h.free_end(frames))
    }

    fn best_path(&self) -> Vec<Option<usize>> {
        let n = self.layers.len();
        let mut best: Vec<Vec<f64>> = Vec::with_capacity(n);
        let mut came: Vec<Vec<Option<(usize, usize)>>> = Vec::with_capacity(n);
        for (t, layer) in self.layers.iter().enumerate() {
            let begin = if self.may_begin(t) {
                -self.free_end(t)
            } else {
                f64::NEG_INFINITY
            };
            let mut score = vec![begin; layer.nodes.len()];
            let mut from = vec![None; layer.nodes.len()];
            if t > 0 {
                let count = layer.nodes.len();
                for (i, &before) in best[t - 1].iter().enumerate() {
                    for j in 0..count {
                        let value = before - f64::from(layer.from_before[i * count + j]);
                        if value > score[j] {
                            score[j] = value;
                            from[j] = Some((t - 1, i));
                        }
                    }
                }
            }
            for (s, frames) in self.hops(t) {
                self.hop_best(s, t, frames, &best[s], &mut score, &mut from);
            }
            for (value, node) in score.iter_mut().zip(&layer.nodes) {
                *value += node.fit;
            }
            best.push(score);
            came.push(from);
        }
        self.trace_back(&best, &came)
    }

    fn hop_best(
        &self,
        s: usize,
        t: usize,
        frames: usize,
        before: &[f64],
        score: &mut [f64],
        from: &mut [Option<(usize, usize)>],
    ) {
        let Some(hidden) = self.hidden else { return };
        let (base, inverse) = (hidden.base(frames), hidden.inverse_reach(frames));
        for (i, &before) in before.iter().enumerate() {
            let most = before - base;
            let a = self.layers[s].nodes[i].at;
            for (j, node) in self.layers[t].nodes.iter().enumerate() {
                if most > score[j] {
                    let value = most - move_cost(a, node.at, inverse);
                    if value > score[j] {
                        score[j] = value;
                        from[j] = Some((s, i));
                    }
                }
            }
        }
    }

    fn trace_back(
        &self,
        best: &[Vec<f64>],
        came: &[Vec<Option<(usize, usize)>>],
    ) -> Vec<Option<usize>> {
        let n = self.layers.len();
        let mut path = vec![None; n];
        let mut last: Option<(f64, usize, usize)> = None;
        for t in (0..n).filter(|&t| self.may_end(t)) {
            for (i, &score) in best[t].iter().enumerate() {
                let value = score - self.free_end(n - 1 - t);
                if value > f64::NEG_INFINITY && last.is_none_or(|(most, ..)| value > most) {
                    last = Some((value, t, i));
                }
            }
        }
        let mut at = last.map(|(_, t, i)| (t, i));
        while let Some((t, i)) = at {
            path[t] = Some(i);
            at = came[t][i];
        }
        path
    }

    fn weights(&self, sharpness: f64) -> Vec<Vec<f64>> {
        let steps = self.step_weights(sharpness);
        let spots: Vec<Spots> = self.layers.iter().map(Spots::of).collect();
        let forward = self.forward(sharpness, &steps, &spots);
        let backward = self.backward(sharpness, &steps, &spots);
        let n = self.layers.len();
        // The sum over all ends, on the scale of the largest.
        let ends: Vec<f64> = (0..n)
            .filter(|&t| self.may_end(t))
            .flat_map(|t| {
                let end = -sharpness * self.free_end(n - 1 - t);
                forward[t].iter().map(move |f| f + end)
            })
            .collect();
        let total = log_sum(&ends);
        forward
            .iter()
            .zip(&backward)
            .map(|(f, b)| {
                f.iter()
                    .zip(b)
                    .map(|(f, b)| (f + b - total).exp())
                    .collect()
            })
            .collect()
    }

    fn step_weights(&self, sharpness: f64) -> Vec<Vec<f32>> {
        let weigh = |layer: &Layer| {
            layer
                .from_before
                .iter()
                .map(|cost| (-sharpness as f32 * cost).exp())
                .collect()
        };
        self.layers.iter().map(weigh).collect()
    }

    /// Logarithms of the weight of all beginnings up to each candidate, its own fit included.
    fn forward(&self, sharpness: f64, steps: &[Vec<f32>], spots: &[Spots]) -> Vec<Vec<f64>> {
        let mut logs: Vec<Vec<f64>> = Vec::with_capacity(self.layers.len());
        for (t, layer) in self.layers.iter().enumerate() {
            let count = layer.nodes.len();
            let mut sum = Sum::new(count);
            if self.may_begin(t) {
                sum.add_all(-sharpness * self.free_end(t));
            }
            if t > 0 {
                sum.add_rows(&logs[t - 1], |i, j| f64::from(steps[t][i * count + j]));
            }
            for (s, frames) in self.hops(t) {
                self.hop_sum(
                    &mut sum,
                    sharpness,
                    (&spots[s], &spots[t]),
                    frames,
                    &logs[s],
                );
            }
            let mut log = sum.logs();
            for (value, node) in log.iter_mut().zip(&layer.nodes) {
                *value += sharpness * node.fit;
            }
            logs.push(log);
        }
        logs
    }

    /// Logarithms of the weight of all endings from each candidate, its own fit excluded.
    fn backward(&self, sharpness: f64, steps: &[Vec<f32>], spots: &[Spots]) -> Vec<Vec<f64>> {
        let n = self.layers.len();
        let mut sums: Vec<Sum> = self
            .layers
            .iter()
            .map(|l| Sum::new(l.nodes.len()))
            .collect();
        let mut logs = vec![Vec::new(); n];
        for t in (0..n).rev() {
            if self.may_end(t) {
                sums[t].add_all(-sharpness * self.free_end(n - 1 - t));
            }
            logs[t] = sums[t].logs();
            let layer = &self.layers[t];
            let with_fit: Vec<f64> = logs[t]
                .iter()
                .zip(&layer.nodes)
                .map(|(log, node)| log + sharpness * node.fit)
                .collect();
            let count = layer.nodes.len();
            if t > 0 {
                sums[t - 1].add_rows(&with_fit, |i, j| f64::from(steps[t][j * count + i]));
            }
            for (s, frames) in self.hops(t).collect::<Vec<_>>() {
                self.hop_sum(
                    &mut sums[s],
                    sharpness,
                    (&spots[t], &spots[s]),
                    frames,
                    &with_fit,
                );
            }
        }
        logs
    }

    /// Adds to the candidates of frame `to` what comes over hidden frames from those of `from`.
    fn hop_sum(
        &self,
        sum: &mut Sum,
        sharpness: f64,
        (from, to): (&Spots, &Spots),
        frames: usize,
        logs: &[f64],
    ) {
        let Some(hidden) = self.hidden else { return };
        let inverse = hidden.inverse_reach(frames);
        let weights = sum.weights(logs, -sharpness * hidden.base(frames));
        let mut added = vec![0.0; sum.values.len()];
        for (i, &weight) in weights.iter().enumerate() {
            if weight > NEXT_TO_NOTHING {
                let at = [from.x[i], from.y[i]];
                add_hops(
                    at,
                    weight as f32,
                    to,
                    (inverse, -sharpness as f32),
                    &mut added,
                );
            }
        }
        for (value, added) in sum.values.iter_mut().zip(added) {
            *value += f64::from(added);
        }
    }
}

/// Where the candidates of a layer are.
struct Spots {
    x: Vec<f32>,
    y: Vec<f32>,
}

impl Spots {
    fn of(layer: &Layer) -> Self {
        let side = |c: usize| layer.nodes.iter().map(|node| node.at[c]).collect();
        Self {
            x: side(0),
            y: side(1),
        }
    }
}

wide! {
    /// Adds to each of `sums` the weight of a hop from `at` to that spot: `weight * (1 + distance² * shape.0) ^ shape.1`.
    fn add_hops(at: [f32; 2], weight: f32, to: &Spots, shape: (f32, f32), sums: &mut [f32]) = add_each_hop
}

#[inline(always)]
fn add_each_hop(at: [f32; 2], weight: f32, to: &Spots, shape: (f32, f32), sums: &mut [f32]) {
    for ((sum, &x), &y) in sums.iter_mut().zip(&to.x).zip(&to.y) {
        let square = (x - at[0]) * (x - at[0]) + (y - at[1]) * (y - at[1]);
        *sum += weight * power(1.0 + square * shape.0, shape.1);
    }
}

fn square(a: [f32; 2], b: [f32; 2]) -> f32 {
    let (x, y) = (a[0] - b[0], a[1] - b[1]);
    x * x + y * y
}

/// ln(1 + (distance / reach)²).
fn move_cost(a: [f32; 2], b: [f32; 2], inverse: f32) -> f64 {
    f64::from((square(a, b) * inverse).ln_1p())
}

fn log_sum(logs: &[f64]) -> f64 {
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if most == f64::NEG_INFINITY {
        return most;
    }
    most + logs.iter().map(|l| (l - most).exp()).sum::<f64>().ln()
}

/// Sources of less than this share of the largest so far, e^-40, are left out: together they are less than one part in 10^13.
const NEXT_TO_NOTHING: f64 = 4e-18;

/// Sums of weights for each candidate of a frame, kept on a common scale that rises when it must.
struct Sum {
    scale: f64,
    values: Vec<f64>,
}

impl Sum {
    fn new(count: usize) -> Self {
        Self {
            scale: f64::NEG_INFINITY,
            values: vec![0.0; count],
        }
    }

    fn rise(&mut self, log: f64) {
        if log > self.scale {
            let shrink = (self.scale - log).exp();
            for value in &mut self.values {
                *value *= shrink;
            }
            self.scale = log;
        }
    }

    fn add_all(&mut self, log: f64) {
        self.rise(log);
        let weight = (log - self.scale).exp();
        for value in &mut self.values {
            *value += weight;
        }
    }

    /// The weights, on this scale, of sources with the logarithms `logs[i] + more`; the scale rises to the largest.
    fn weights(&mut self, logs: &[f64], more: f64) -> Vec<f64> {
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if most == f64::NEG_INFINITY {
            return Vec::new();
        }
        self.rise(most + more);
        let weight = |log: &f64| (log + more - self.scale).exp();
        logs.iter().map(weight).collect()
    }

    /// Adds, for each source i with the logarithm `logs[i]`, its weight times `factor(i, j)` (at most 1) to each j.
    fn add_rows(&mut self, logs: &[f64], factor: impl Fn(usize, usize) -> f64) {
        for (i, weight) in self.weights(logs, 0.0).into_iter().enumerate() {
            if weight > NEXT_TO_NOTHING {
                for (j, value) in self.values.iter_mut().enumerate() {
                    *value += weight * factor(i, j);
                }
            }
        }
    }

    fn logs(&self) -> Vec<f64> {
        self.values.iter().map(|v| v.ln() + self.scale).collect()
    }
}

/// `x ^ exponent` for x >= 1, within 1 part in 10^5: logarithm and exponential by polynomials, so that loops over it can be
/// vectorised.
#[inline(always)]
fn power(x: f32, exponent: f32) -> f32 {
    let bits = x.to_bits();
    let whole = (bits >> 23) as i32 - 127;
    let m = f32::from_bits((bits & 0x007f_ffff) | 0x3f80_0000);
    // log2(m) by the series of artanh about the middle of 1 to 2.
    let z = (m - std::f32::consts::SQRT_2) / (m + std::f32::consts::SQRT_2);
    let z2 = z * z;
    let log = 0.5 + z * (2.885_39 + z2 * (0.961_797 + z2 * 0.577_078));
    let y = ((whole as f32 + log) * exponent).clamp(-126.0, 126.0) + 127.0;
    let biased = nearest(y);
    let f = (y - biased as i32 as f32) * std::f32::consts::LN_2;
    let e = 1.0 + f * (1.0 + f * (0.5 + f * (1.0 / 6.0 + f * (1.0 / 24.0 + f / 120.0))));
    f32::from_bits(biased << 23) * e
}

#[cfg(test)]
#[path = "lattice_tests.rs"]
mod tests;
