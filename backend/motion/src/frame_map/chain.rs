//! The chain of states along the new frames, and how likely each is given all the evidence.
//!
//! A hidden Markov model with forward and backward recursions, scaled per row (Rabiner 1989, sections III.A and V.A). The
//! states without evidence are affine gaps (Needleman & Wunsch 1970, Gotoh 1982).

use super::band::{Band, Table};

/// A share of a row that is nothing.
const NOTHING: f64 = 1e-250;

/// Chances of the chain's steps. The defaults are measured on shots of known truth.
#[derive(Debug, Clone, PartialEq)]
pub struct Steps {
    /// A matched frame's successor lies this many old frames on: 0, 1, 2, 3, 4.
    pub ahead: [f64; 5],
    /// ... or anywhere later, in all.
    pub jump: f64,
    /// A reworked stretch begins.
    pub rework: f64,
    /// A reworked stretch goes on.
    pub rework_stays: f64,
    /// Old frames a reworked frame moves on by: 0, 1, 2.
    pub rework_ahead: [f64; 3],
    /// What each reworked frame costs besides.
    pub rework_cost: f64,
    /// A stretch without counterpart begins.
    pub gap: f64,
    /// A stretch without counterpart goes on.
    pub gap_stays: f64,
    /// It ends on the old frame it began after, or 1, 2, 3 later.
    pub gap_ahead: [f64; 4],
    /// Of the endings, the share that lead there; the others lead anywhere later.
    pub gap_near: f64,
    /// The first frame's counterpart is one of so many first old ones, the last frame's one of so many last ones ...
    pub edge: usize,
    /// ... or any other at this chance.
    pub off_edge: f64,
}

impl Default for Steps {
    fn default() -> Self {
        Self {
            ahead: [0.10, 0.66, 0.17, 0.05, 0.015],
            jump: 4e-4,
            rework: 1e-3,
            rework_stays: 0.93,
            rework_ahead: [0.08, 0.82, 0.10],
            rework_cost: 0.9,
            gap: 7e-4,
            gap_stays: 0.93,
            gap_ahead: [0.3, 0.4, 0.2, 0.1],
            gap_near: 0.8,
            edge: 4,
            off_edge: 0.05,
        }
    }
}

impl Steps {
    /// The chances when frames without clear counterpart say little (`poor`, 0 to 1): nothing is evidence for a gap or a jump.
    #[must_use]
    pub fn forgiving(&self, poor: f32) -> Self {
        Self {
            gap: self.gap * 0.02f64.powf(f64::from(poor)),
            jump: self.jump * 0.3f64.powf(f64::from(poor)),
            ..self.clone()
        }
    }
}

/// How likely each state is.
#[derive(Debug, Clone)]
pub struct Posterior {
    /// For each new frame and old frame: that they belong together.
    pub pairs: Table<f32>,
    /// For each new frame: that it has no counterpart.
    pub none: Vec<f32>,
    /// Natural logarithm of the likelihood of all evidence.
    pub log_likelihood: f64,
}

/// One row of the chain: matched and reworked by old frame, and no counterpart by how many old frames have gone by.
#[derive(Clone)]
struct Row {
    matched: Vec<f64>,
    reworked: Vec<f64>,
    none: Vec<f64>,
}

impl Row {
    fn zeros(columns: usize) -> Self {
        Self {
            matched: vec![0.0; columns],
            reworked: vec![0.0; columns],
            none: vec![0.0; columns + 1],
        }
    }

    fn clear(&mut self) {
        self.matched.fill(0.0);
        self.reworked.fill(0.0);
        self.none.fill(0.0);
    }

    /// Divides by the sum and returns it.
    fn scale(&mut self) -> f64 {
        let parts = [&mut self.matched, &mut self.reworked, &mut self.none];
        let sum: f64 = parts.iter().flat_map(|p| p.iter()).sum();
        if sum > 0.0 && sum.is_finite() {
            for part in parts {
                for v in part.iter_mut() {
                    // What can no longer matter is dropped before it becomes slow to reckon with.
                    *v = if *v < sum * NOTHING { 0.0 } else { *v / sum };
                }
            }
        }
        sum
    }
}

/// Forward and backward over `evidence` (natural logarithms of likelihood ratios). `fixed[i]`, where given, is the old frame
/// new frame `i` must meet.
#[must_use]
pub fn posterior(evidence: &Table<f32>, steps: &Steps, fixed: &[Option<usize>]) -> Posterior {
    let band = evidence.band().clone();
    let (rows, columns) = (band.rows(), band.columns());
    let mut pairs = Table::filled(&band, 0.0f32);
    let mut none = vec![0.0f32; rows];
    if rows == 0 || columns == 0 {
        return Posterior {
            pairs,
            none: vec![1.0; rows],
            log_likelihood: 0.0,
        };
    }
    let chain = Chain {
        evidence,
        steps,
        fixed,
        band: &band,
    };
    let (forward, log_likelihood) = chain.forward();
    let mut after = chain.end();
    for i in (0..rows).rev() {
        if i + 1 < rows {
            after = chain.back(i, &after);
        }
        let (before, run) = (&forward[i], band.row(i));
        let mut sum = 0.0;
        let mut weights = vec![0.0; run.len()];
        for (k, w) in weights.iter_mut().enumerate() {
            let j = run.start + k;
            *w = before.matched[k] * after.matched[j] + before.reworked[k] * after.reworked[j];
            sum += *w;
        }
        let lost: f64 = before
            .none
            .iter()
            .zip(&after.none[run.start..])
            .map(|(f, b)| f * b)
            .sum();
        sum += lost;
        let share = if sum > 0.0 { 1.0 / sum } else { 0.0 };
        for (p, w) in pairs.row_mut(i).iter_mut().zip(&weights) {
            *p = (w * share) as f32;
        }
        none[i] = if sum > 0.0 {
            (lost * share) as f32
        } else {
            1.0
        };
    }
    Posterior {
        pairs,
        none,
        log_likelihood,
    }
}

struct Chain<'a> {
    evidence: &'a Table<f32>,
    steps: &'a Steps,
    fixed: &'a [Option<usize>],
    band: &'a Band,
}

impl Chain<'_> {
    fn fixed(&self, i: usize) -> Option<usize> {
        self.fixed.get(i).copied().flatten()
    }

    /// The chance of starting or ending at old frame `j`, `from_edge` frames from the edge.
    fn edge(&self, from_edge: usize) -> f64 {
        if from_edge < self.steps.edge {
            1.0
        } else {
            self.steps.off_edge
        }
    }

    /// Multiplies row `i` by what its frame shows, and forbids what an anchor forbids.
    fn emit(&self, i: usize, row: &mut Row) {
        let run = self.band.row(i);
        if let Some(j) = self.fixed(i) {
            // The person says that they belong together, whatever the picture shows.
            let (m, r) = (row.matched[j], row.reworked[j]);
            row.clear();
            (row.matched[j], row.reworked[j]) = (m, r);
            return;
        }
        for (m, e) in row.matched[run].iter_mut().zip(self.evidence.row(i)) {
            *m *= f64::from(*e).exp();
        }
    }

    /// Forward rows, kept for the band alone, and the log likelihood.
    fn forward(&self) -> (Vec<Row>, f64) {
        let columns = self.band.columns();
        let mut row = self.begin();
        let mut kept = Vec::with_capacity(self.band.rows());
        let mut log_likelihood = 0.0;
        for i in 0..self.band.rows() {
            if i > 0 {
                row = self.next(i, &row);
            }
            self.emit(i, &mut row);
            let sum = row.scale();
            if !(sum > 0.0 && sum.is_finite()) {
                // Two anchors no step leads between: start anew from here.
                row = self.anywhere(i, columns);
                row.scale();
            }
            log_likelihood += sum.max(f64::MIN_POSITIVE).ln();
            let run = self.band.row(i);
            kept.push(Row {
                matched: row.matched[run.clone()].to_vec(),
                reworked: row.reworked[run.clone()].to_vec(),
                none: row.none[run.start..=run.end].to_vec(),
            });
        }
        (kept, log_likelihood)
    }

    fn anywhere(&self, i: usize, columns: usize) -> Row {
        let mut row = Row::zeros(columns);
        match self.fixed(i) {
            Some(j) => row.matched[j] = 1.0,
            None => row.matched[self.band.row(i)].fill(1.0),
        }
        row
    }

    fn begin(&self) -> Row {
        let mut row = Row::zeros(self.band.columns());
        for j in self.band.row(0) {
            row.matched[j] = self.edge(j);
            row.reworked[j] = self.steps.rework * self.edge(j);
        }
        if self.band.row(0).start == 0 {
            row.none[0] = self.steps.gap;
        }
        row
    }

    fn end(&self) -> Row {
        let columns = self.band.columns();
        let mut row = Row::zeros(columns);
        for j in 0..columns {
            let edge = self.edge(columns - 1 - j);
            row.matched[j] = edge;
            row.reworked[j] = edge;
            row.none[j + 1] = 1.0;
        }
        row.none[0] = 1.0;
        row
    }

    /// The row before its frame is seen.
    fn next(&self, i: usize, from: &Row) -> Row {
        let s = self.steps;
        let columns = self.band.columns();
        let mut to = Row::zeros(columns);
        let (before, run) = (self.band.row(i - 1), self.band.row(i));
        let anywhere = s.jump / columns as f64;
        let away = (1.0 - s.gap_stays) * (1.0 - s.gap_near) / columns as f64;
        // What jumps from anywhere earlier, by prefix sums.
        let mut jumping = 0.0;
        for j in before.start..run.end {
            if run.contains(&j) {
                to.matched[j] += jumping;
            }
            if before.contains(&j) {
                jumping += anywhere * from.matched[j] + away * from.none[j + 1];
            }
        }
        if before.start == 0 {
            for m in &mut to.matched[run.clone()] {
                *m += away * from.none[0];
            }
        }
        for j in before.clone() {
            let (m, r) = (from.matched[j], from.reworked[j]);
            let both = m + (1.0 - s.rework_stays) * r;
            for (d, chance) in s.ahead.iter().enumerate() {
                if run.contains(&(j + d)) {
                    to.matched[j + d] += both * chance;
                }
            }
            let on = (s.rework * m + s.rework_stays * r) * s.rework_cost;
            for (d, chance) in s.rework_ahead.iter().enumerate() {
                if run.contains(&(j + d)) {
                    to.reworked[j + d] += on * chance;
                }
            }
            if run.contains(&j) {
                to.none[j + 1] += s.gap * m;
            }
        }
        let near = (1.0 - s.gap_stays) * s.gap_near;
        for gone in before.start..=before.end {
            let n = from.none[gone];
            if gone >= run.start && gone <= run.end {
                to.none[gone] += s.gap_stays * n;
            }
            for (d, chance) in s.gap_ahead.iter().enumerate() {
                let j = gone.saturating_sub(1) + d;
                if run.contains(&j) {
                    to.matched[j] += near * chance * n;
                }
            }
        }
        to
    }

    /// The backward row `i`, from the one after it.
    fn back(&self, i: usize, after: &Row) -> Row {
        let s = self.steps;
        let columns = self.band.columns();
        let mut seen = after.clone();
        self.emit(i + 1, &mut seen);
        let mut to = Row::zeros(columns);
        let (run, later) = (self.band.row(i), self.band.row(i + 1));
        let anywhere = s.jump / columns as f64;
        let away = (1.0 - s.gap_stays) * (1.0 - s.gap_near) / columns as f64;
        let near = (1.0 - s.gap_stays) * s.gap_near;
        let mut landing = 0.0;
        for j in (run.start..later.end).rev() {
            if run.contains(&j) {
                to.matched[j] += anywhere * landing;
                to.none[j + 1] += away * landing;
            }
            if later.contains(&j) {
                landing += seen.matched[j];
            }
        }
        if run.start == 0 {
            to.none[0] += away * seen.matched[later.clone()].iter().sum::<f64>();
        }
        for j in run.clone() {
            let ahead = |row: &[f64], chances: &[f64]| -> f64 {
                chances
                    .iter()
                    .enumerate()
                    .filter(|(d, _)| later.contains(&(j + d)))
                    .map(|(d, chance)| chance * row[j + d])
                    .sum()
            };
            let matched = ahead(&seen.matched, &s.ahead);
            let reworked = ahead(&seen.reworked, &s.rework_ahead) * s.rework_cost;
            let lost = if later.contains(&j) {
                seen.none[j + 1]
            } else {
                0.0
            };
            to.matched[j] += matched + s.rework * reworked + s.gap * lost;
            to.reworked[j] += (1.0 - s.rework_stays) * matched + s.rework_stays * reworked;
        }
        for gone in run.start..=run.end {
            let base = gone.saturating_sub(1);
            let back: f64 = s
                .gap_ahead
                .iter()
                .enumerate()
                .filter(|(d, _)| later.contains(&(base + d)))
                .map(|(d, chance)| chance * seen.matched[base + d])
                .sum();
            let stays = if gone >= later.start && gone <= later.end {
                s.gap_stays * seen.none[gone]
            } else {
                0.0
            };
            to.none[gone] += stays + near * back;
        }
        to.scale();
        to
    }
}
