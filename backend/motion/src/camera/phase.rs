//! Phase correlation: the shift between two pictures in one go (Kuglin & Hines 1975).

use crate::plane::Plane;

/// The shift `(x, y)` in pixels by which `moved` lies to the right of and below `fixed`, and how clear that is, 0 to 1.
/// Both are taken to the next smaller power of two in each side, under a Hann window; the peak is refined by the centroid
/// of the 5 x 5 pixels around it. Accurate to about half a pixel for shifts below a quarter of the picture.
#[must_use]
pub fn phase_shift(fixed: &Plane, moved: &Plane) -> ((f32, f32), f32) {
    let (width, height) = (floor_power(fixed.width()), floor_power(fixed.height()));
    let a = spectrum(&fixed.resized(width, height), width, height);
    let b = spectrum(&moved.resized(width, height), width, height);
    let mut cross: Vec<Complex> = a
        .iter()
        .zip(&b)
        .map(|(a, b)| {
            // conj(a) b: the phase grows with the shift of `moved`.
            let (re, im) = (a.0 * b.0 + a.1 * b.1, a.0 * b.1 - a.1 * b.0);
            let size = re.hypot(im);
            if size < 1e-12 {
                (0.0, 0.0)
            } else {
                (re / size, im / size)
            }
        })
        .collect();
    transform_both(&mut cross, width, height, true);
    let ((x, y), clear) = peak(&cross, width, height);
    let scale = (
        fixed.width() as f32 / width as f32,
        fixed.height() as f32 / height as f32,
    );
    ((x * scale.0, y * scale.1), clear)
}

type Complex = (f64, f64);

fn floor_power(side: usize) -> usize {
    if side < 2 { 1 } else { 1 << side.ilog2() }
}

fn spectrum(plane: &Plane, width: usize, height: usize) -> Vec<Complex> {
    let across = hann(width);
    let down = hann(height);
    let mut data: Vec<Complex> = (0..width * height)
        .map(|i| {
            let weight = across[i % width] * down[i / width];
            (f64::from(plane.data()[i]) * weight, 0.0)
        })
        .collect();
    transform_both(&mut data, width, height, false);
    data
}

/// The Hann window, 0 at both ends.
fn hann(len: usize) -> Vec<f64> {
    let last = (len.max(2) - 1) as f64;
    (0..len)
        .map(|i| 0.5 * (1.0 - (std::f64::consts::TAU * i as f64 / last).cos()))
        .collect()
}

fn transform_both(data: &mut [Complex], width: usize, height: usize, back: bool) {
    for row in data.chunks_exact_mut(width) {
        transform(row, back);
    }
    let mut column = vec![(0.0, 0.0); height];
    for x in 0..width {
        for y in 0..height {
            column[y] = data[y * width + x];
        }
        transform(&mut column, back);
        for y in 0..height {
            data[y * width + x] = column[y];
        }
    }
}

/// The discrete Fourier transform in place, radix 2 (Cooley & Tukey 1965); the length is a power of two. `back` turns the
/// sign and divides by the length.
fn transform(data: &mut [Complex], back: bool) {
    let n = data.len();
    if n < 2 {
        return;
    }
    let bits = n.ilog2();
    for i in 0..n {
        let j = i.reverse_bits() >> (usize::BITS - bits);
        if i < j {
            data.swap(i, j);
        }
    }
    let sign = if back { 1.0 } else { -1.0 };
    let mut half = 1;
    while half < n {
        let turn = sign * std::f64::consts::PI / half as f64;
        for start in (0..n).step_by(2 * half) {
            for k in 0..half {
                let (sin, cos) = (turn * k as f64).sin_cos();
                let (i, j) = (start + k, start + k + half);
                let t = (
                    data[j].0 * cos - data[j].1 * sin,
                    data[j].0 * sin + data[j].1 * cos,
                );
                let u = data[i];
                data[i] = (u.0 + t.0, u.1 + t.1);
                data[j] = (u.0 - t.0, u.1 - t.1);
            }
        }
        half *= 2;
    }
    if back {
        let share = 1.0 / n as f64;
        for v in data {
            *v = (v.0 * share, v.1 * share);
        }
    }
}

/// Peak of the correlation as a signed shift, refined by the centroid of the 5 x 5 pixels around it, and its sum there.
fn peak(data: &[Complex], width: usize, height: usize) -> ((f32, f32), f32) {
    let best = (0..data.len())
        .max_by(|&i, &j| data[i].0.total_cmp(&data[j].0))
        .unwrap_or(0);
    let (bx, by) = ((best % width) as isize, (best / width) as isize);
    let (mut sum, mut sx, mut sy) = (0.0, 0.0, 0.0);
    for dy in -2..=2isize {
        for dx in -2..=2isize {
            let x = (bx + dx).rem_euclid(width as isize) as usize;
            let y = (by + dy).rem_euclid(height as isize) as usize;
            let v = data[y * width + x].0;
            sum += v;
            sx += v * dx as f64;
            sy += v * dy as f64;
        }
    }
    let signed = |at: f64, side: usize| {
        if at > side as f64 / 2.0 {
            at - side as f64
        } else {
            at
        }
    };
    if sum <= 0.0 {
        return ((0.0, 0.0), 0.0);
    }
    let x = signed(bx as f64 + sx / sum, width) as f32;
    let y = signed(by as f64 + sy / sum, height) as f32;
    ((x, y), (sum as f32).clamp(0.0, 1.0))
}
