//! Softmax regression with a ridge penalty, by L-BFGS (Nocedal & Wright, Numerical Optimization, algorithm 7.4). No chance in it:
//! the same samples give the same weights.

use std::collections::BTreeMap;

use critique::weights::{Features, Softmax, softmax};

/// One example: features, the share of each class, and how much it counts.
pub struct Sample {
    pub features: Features,
    pub target: Vec<f64>,
    pub weight: f64,
}

/// How many pairs of steps are kept.
const MEMORY: usize = 8;
/// Steps at most.
const STEPS: usize = 120;

struct Rows {
    names: Vec<String>,
    rows: Vec<Vec<(usize, f64)>>,
}

fn rows(samples: &[Sample], least: usize) -> Rows {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for sample in samples {
        for (name, _) in &sample.features {
            *counts.entry(name).or_default() += 1;
        }
    }
    counts.retain(|_, count| *count >= least);
    let names: Vec<String> = counts.keys().map(|n| (*n).to_owned()).collect();
    let number: BTreeMap<&str, usize> = names
        .iter()
        .enumerate()
        .map(|(n, name)| (name.as_str(), n))
        .collect();
    let rows = samples
        .iter()
        .map(|s| {
            s.features
                .iter()
                .filter_map(|(name, x)| Some((*number.get(name.as_str())?, *x)))
                .collect()
        })
        .collect();
    Rows { names, rows }
}

/// Fits; features seen less often than `least` are left out. `ridge` is the penalty on half the squared weights, biases free.
pub fn fit(samples: &[Sample], classes: &[&str], ridge: f64, least: usize) -> Softmax {
    let Rows { names, rows } = rows(samples, least);
    let (k, n) = (classes.len(), names.len());
    // Weights by feature, the biases behind them.
    let weights = lbfgs(vec![0.0; (n + 1) * k], |w, gradient| {
        loss(samples, &rows, k, n, ridge, w, gradient)
    });
    let row = |at: usize| {
        weights[at * k..(at + 1) * k]
            .iter()
            .map(|w| round(*w))
            .collect::<Vec<_>>()
    };
    let kept = names
        .into_iter()
        .enumerate()
        .map(|(at, name)| (name, row(at)));
    Softmax {
        classes: classes.iter().map(|c| (*c).to_owned()).collect(),
        bias: row(n),
        w: kept
            .filter(|(_, row)| row.iter().any(|w| *w != 0.0))
            .collect(),
    }
}

fn loss(
    samples: &[Sample],
    rows: &[Vec<(usize, f64)>],
    k: usize,
    n: usize,
    ridge: f64,
    w: &[f64],
    gradient: &mut [f64],
) -> f64 {
    gradient.fill(0.0);
    let mut total = 0.0;
    let mut p = vec![0.0; k];
    for (sample, row) in samples.iter().zip(rows) {
        p.copy_from_slice(&w[n * k..]);
        for (at, x) in row {
            p.iter_mut()
                .zip(&w[at * k..])
                .for_each(|(p, w)| *p += w * x);
        }
        softmax(&mut p);
        for (class, share) in sample.target.iter().enumerate() {
            if *share > 0.0 {
                total -= sample.weight * share * p[class].max(1e-300).ln();
            }
            p[class] = sample.weight * (p[class] - share);
        }
        gradient[n * k..]
            .iter_mut()
            .zip(&p)
            .for_each(|(g, d)| *g += d);
        for (at, x) in row {
            gradient[at * k..(at + 1) * k]
                .iter_mut()
                .zip(&p)
                .for_each(|(g, d)| *g += d * x);
        }
    }
    for (g, w) in gradient[..n * k].iter_mut().zip(w) {
        total += 0.5 * ridge * w * w;
        *g += ridge * w;
    }
    total
}

/// Three decimals: the file stays small, and the last bits of another processor do not show.
pub fn round(value: f64) -> f64 {
    let rounded = (value * 1000.0).round() / 1000.0;
    if rounded == 0.0 { 0.0 } else { rounded }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Minimises a convex function that gives its value and writes its gradient.
fn lbfgs(start: Vec<f64>, mut function: impl FnMut(&[f64], &mut [f64]) -> f64) -> Vec<f64> {
    let mut x = start;
    let mut gradient = vec![0.0; x.len()];
    let mut value = function(&x, &mut gradient);
    let mut steps: Vec<(Vec<f64>, Vec<f64>)> = vec![];
    for _ in 0..STEPS {
        let direction = two_loops(&gradient, &steps);
        let slope = dot(&direction, &gradient);
        if slope > -1e-9 {
            break;
        }
        let mut rate = if steps.is_empty() {
            1.0 / dot(&gradient, &gradient).sqrt().max(1.0)
        } else {
            1.0
        };
        let mut next = vec![0.0; x.len()];
        let mut next_gradient = vec![0.0; x.len()];
        let found = loop {
            next.iter_mut()
                .zip(&x)
                .zip(&direction)
                .for_each(|((n, x), d)| *n = x + rate * d);
            let next_value = function(&next, &mut next_gradient);
            if next_value <= value + 1e-4 * rate * slope {
                break Some(next_value);
            }
            rate *= 0.5;
            if rate < 1e-10 {
                break None;
            }
        };
        let Some(next_value) = found else { break };
        let s: Vec<f64> = next.iter().zip(&x).map(|(a, b)| a - b).collect();
        let y: Vec<f64> = next_gradient
            .iter()
            .zip(&gradient)
            .map(|(a, b)| a - b)
            .collect();
        if dot(&s, &y) > 1e-12 {
            steps.push((s, y));
            if steps.len() > MEMORY {
                steps.remove(0);
            }
        }
        let done = (value - next_value).abs() < 1e-7 * value.abs().max(1.0);
        (x, gradient, value) = (next, next_gradient, next_value);
        if done {
            break;
        }
    }
    x
}

fn two_loops(gradient: &[f64], steps: &[(Vec<f64>, Vec<f64>)]) -> Vec<f64> {
    let mut q: Vec<f64> = gradient.iter().map(|g| -g).collect();
    let mut alphas = vec![];
    for (s, y) in steps.iter().rev() {
        let alpha = dot(s, &q) / dot(s, y);
        q.iter_mut().zip(y).for_each(|(q, y)| *q -= alpha * y);
        alphas.push(alpha);
    }
    if let Some((s, y)) = steps.last() {
        let scale = dot(s, y) / dot(y, y);
        q.iter_mut().for_each(|q| *q *= scale);
    }
    for ((s, y), alpha) in steps.iter().zip(alphas.into_iter().rev()) {
        let beta = dot(y, &q) / dot(s, y);
        q.iter_mut()
            .zip(s)
            .for_each(|(q, s)| *q += (alpha - beta) * s);
    }
    q
}
