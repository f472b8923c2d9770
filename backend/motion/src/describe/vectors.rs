//! Many vectors of one length, kept as 16-bit numbers so that scalar products are fast and small.

use crate::stats::median;
use crate::wide::wide;

/// 1 in the numbers kept.
const ONE: f32 = 32_767.0;

/// A vector for each frame, each divided by the larger of its length and a quarter of the middle length.
#[derive(Debug, Clone)]
pub(crate) struct Vectors {
    dim: usize,
    data: Vec<i16>,
    /// What `ONE` stands for in each, until they are finished.
    scales: Vec<f32>,
    lengths: Vec<f32>,
}

impl Vectors {
    pub(crate) fn for_frames(frames: usize, dim: usize) -> Self {
        // Padded with zeros so that every loop over one has whole lanes.
        let dim = dim.next_multiple_of(16);
        Self {
            dim,
            data: Vec::with_capacity(frames * dim),
            scales: vec![],
            lengths: vec![],
        }
    }

    pub(crate) fn len(&self) -> usize {
        self.lengths.len()
    }

    pub(crate) fn push(&mut self, vector: &[f32]) {
        let largest = vector.iter().fold(0.0f32, |m, v| m.max(v.abs()));
        let scale = if largest > 0.0 && largest.is_finite() {
            largest
        } else {
            1.0
        };
        let by = ONE / scale;
        let start = self.data.len();
        self.data.extend(vector.iter().map(|v| nearest(v * by)));
        self.data.resize(start + self.dim, 0);
        self.scales.push(scale);
        self.lengths
            .push(vector.iter().map(|v| v * v).sum::<f32>().sqrt());
    }

    /// Adds the last vector once more.
    pub(crate) fn repeat(&mut self) {
        if let (Some(&scale), Some(&length)) = (self.scales.last(), self.lengths.last()) {
            let start = self.data.len() - self.dim;
            self.data.extend_from_within(start..);
            self.scales.push(scale);
            self.lengths.push(length);
        }
    }

    /// Divides every vector by its length, or by a quarter of the middle one if that is more: a frame that shows next to
    /// nothing stays small instead of becoming noise.
    pub(crate) fn finish(&mut self) {
        let floor = 0.25 * median(&mut self.lengths.clone()).max(1e-9);
        for ((vector, scale), length) in self
            .data
            .chunks_exact_mut(self.dim)
            .zip(&self.scales)
            .zip(&self.lengths)
        {
            let by = scale / length.max(floor);
            for v in vector {
                *v = nearest(f32::from(*v) * by);
            }
        }
    }

    /// Every `stride`-th vector.
    pub(crate) fn thinned(&self, stride: usize) -> Self {
        let every = |values: &[f32]| values.iter().step_by(stride).copied().collect();
        Self {
            dim: self.dim,
            data: self
                .data
                .chunks_exact(self.dim)
                .step_by(stride)
                .flatten()
                .copied()
                .collect(),
            scales: every(&self.scales),
            lengths: every(&self.lengths),
        }
    }

    fn vector(&self, i: usize) -> &[i16] {
        &self.data[i * self.dim..(i + 1) * self.dim]
    }

    /// The scalar product of vector `i` of this and `j` of another.
    pub(crate) fn dot(&self, i: usize, other: &Self, j: usize) -> f32 {
        product(self.vector(i), other.vector(j)) as f32 / (ONE * ONE)
    }

    /// The scalar products of vector `i` with the vectors `from..from + out.len()` of another.
    pub(crate) fn dots(&self, i: usize, other: &Self, from: usize, out: &mut [f32]) {
        products(self.vector(i), &other.data[from * other.dim..], out);
    }
}

/// The nearest whole number, halves away from 0.
fn nearest(v: f32) -> i16 {
    (v + 0.5f32.copysign(v)) as i16
}

wide! {
    /// The scalar products of a vector with others one after the other.
    fn products(own: &[i16], others: &[i16], out: &mut [f32]) = products_here
}

#[inline(always)]
fn products_here(own: &[i16], others: &[i16], out: &mut [f32]) {
    for (out, other) in out.iter_mut().zip(others.chunks_exact(own.len())) {
        *out = product(own, other) as f32 / (ONE * ONE);
    }
}

/// The sum of products; lengths of at most 1 keep it inside 31 bits (Cauchy and Schwarz).
#[inline(always)]
fn product(a: &[i16], b: &[i16]) -> i32 {
    let mut sum = 0i32;
    for (a, b) in a.chunks_exact(16).zip(b.chunks_exact(16)) {
        let mut part = 0i32;
        for k in 0..16 {
            part += i32::from(a[k]) * i32::from(b[k]);
        }
        sum += part;
    }
    sum
}
