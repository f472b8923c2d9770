//! Smoothness of a movement: spectral arc length and log dimensionless jerk of its speed.

use std::f64::consts::PI;

use super::limits::Limits;
use super::scene::Scene;
use super::series::{clip, gaps, largest};
use super::{BODY, CannotTell};
use crate::trace::Recording;

/// Smoothness. Independent of the size of the movement.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Smoothness {
    /// [`spectral_arc_length`] at 10 Hz (or half the frame rate) and 0.05, below 0, nearer to 0 smoother. A single reach has about -1.4.
    pub sparc: f64,
    /// [`log_dimensionless_jerk`], nearer to 0 smoother. Falls with noise much faster than the arc length.
    pub ldlj: f64,
    /// The exponent of [`speed_by_curvature`]: near 1/3 in drawing and reaching hands. None where the path hardly curves.
    pub speed_exponent: Option<f64>,
}

/// The discrete Fourier transform of a row whose length is a power of two, in place (Cooley and Tukey 1965).
fn transform(re: &mut [f64], im: &mut [f64]) {
    let n = re.len();
    let bits = n.trailing_zeros();
    for i in 0..n {
        let j = i.reverse_bits() >> (usize::BITS - bits.max(1));
        if bits > 0 && i < j {
            re.swap(i, j);
            im.swap(i, j);
        }
    }
    let mut half = 1;
    while half < n {
        for k in 0..half {
            let angle = -PI * k as f64 / half as f64;
            let (cos, sin) = (angle.cos(), angle.sin());
            for i in (k..n).step_by(2 * half) {
                let j = i + half;
                let (x, y) = (re[j] * cos - im[j] * sin, re[j] * sin + im[j] * cos);
                (re[j], im[j]) = (re[i] - x, im[i] - y);
                (re[i], im[i]) = (re[i] + x, im[i] + y);
            }
        }
        half *= 2;
    }
}

/// Spectral arc length of a row of speeds taken `rate` times a second: less the length of its normalised amplitude spectrum up to
/// `cutoff` Hz, from the first to the last frequency with at least `least` of the largest amplitude, padded to 16 times the next power
/// of two (Balasubramanian, Melendez-Calderon, Roby-Brami, Burdet 2015).
///
/// None if a speed is not finite, all are 0, or fewer than two frequencies are left.
#[must_use]
pub fn spectral_arc_length(speeds: &[f64], rate: f64, cutoff: f64, least: f64) -> Option<f64> {
    let timed = rate > 0.0;
    if speeds.is_empty() || !timed || speeds.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let n = speeds.len().next_power_of_two() * 16;
    let (mut re, mut im) = (speeds.to_vec(), vec![0.0; n]);
    re.resize(n, 0.0);
    transform(&mut re, &mut im);
    let step = rate / n as f64;
    let size: Vec<f64> = re.iter().zip(&im).map(|(a, b)| a.hypot(*b)).collect();
    let most = largest(size.iter().copied()).filter(|m| *m > 0.0)?;
    let low: Vec<f64> = size
        .iter()
        .enumerate()
        .take_while(|(k, _)| *k as f64 * step <= cutoff)
        .map(|(_, a)| a / most)
        .collect();
    let first = low.iter().position(|a| *a >= least)?;
    let last = low.iter().rposition(|a| *a >= least)?;
    let kept = &low[first..=last];
    let across = 1.0 / (kept.len() as f64 - 1.0);
    let length: f64 = kept.windows(2).map(|w| across.hypot(w[1] - w[0])).sum();
    (kept.len() > 1).then_some(-length)
}

/// Log dimensionless jerk of a row of speeds taken `rate` times a second: `-ln((n dt)^3 / peak^2 * sum((d2v / dt^2)^2) dt)`
/// (Balasubramanian, Melendez-Calderon, Burdet 2012).
///
/// None if a speed is not finite, there are fewer than four, or the jerk or the largest speed is 0.
#[must_use]
pub fn log_dimensionless_jerk(speeds: &[f64], rate: f64) -> Option<f64> {
    let dt = 1.0 / rate;
    let peak = largest(speeds.iter().copied())?;
    if speeds.len() < 4 || speeds.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let jerk = |w: &[f64]| (w[2] - 2.0 * w[1] + w[0]) / (dt * dt);
    let squares: f64 = speeds.windows(3).map(|w| jerk(w) * jerk(w)).sum();
    let value = -((speeds.len() as f64 * dt).powi(3) / (peak * peak) * squares * dt).ln();
    value.is_finite().then_some(value)
}

/// The power law between speed and curvature: exponent and gain of `v = gain * curvature^-exponent`, by least squares of `ln v` on
/// `ln 1/curvature`, from central differences of places taken `rate` times a second. Movements that obey the two-thirds power law
/// (Lacquaniti, Terzuolo and Viviani 1983) have an exponent of 1/3.
///
/// Frames on which nothing moves or nothing curves are left out; none if fewer than eight are left or all curve alike.
#[must_use]
pub fn speed_by_curvature(places: &[[f64; 2]], rate: f64) -> Option<(f64, f64)> {
    let known = places.windows(3).filter_map(|w| {
        let velocity = |i: usize| (w[2][i] - w[0][i]) * rate / 2.0;
        let change = |i: usize| (w[2][i] - 2.0 * w[1][i] + w[0][i]) * rate * rate;
        let (v, a) = ([velocity(0), velocity(1)], [change(0), change(1)]);
        let speed = v[0].hypot(v[1]);
        let turn = (v[0] * a[1] - v[1] * a[0]).abs();
        let (x, y) = ((speed.powi(3) / turn).ln(), speed.ln());
        (x.is_finite() && y.is_finite()).then_some((x, y))
    });
    let known: Vec<(f64, f64)> = known.collect();
    let n = known.len() as f64;
    let (mx, my) = known
        .iter()
        .fold((0.0, 0.0), |(a, b), (x, y)| (a + x / n, b + y / n));
    let xx: f64 = known.iter().map(|(x, _)| (x - mx) * (x - mx)).sum();
    let xy: f64 = known.iter().map(|(x, y)| (x - mx) * (y - my)).sum();
    let slope = xy / xx;
    (known.len() >= 8 && slope.is_finite()).then(|| (slope, (my - slope * mx).exp()))
}

/// Smoothness of a part over the frames `start..=end`, as its parent carries it (an arm from the shoulder, the head from the neck).
///
/// # Errors
/// [`CannotTell`] if the part is not traced, the frames are not in the clip, a frame is lost, or nothing moves.
pub fn smoothness(
    recording: &Recording,
    part: &str,
    start: usize,
    end: usize,
    limits: &Limits,
) -> Result<Smoothness, CannotTell> {
    let scene = Scene::new(recording, limits);
    if !scene.has_height() {
        return Err(CannotTell::NoHeight);
    }
    if start > end || end >= scene.frames {
        return Err(CannotTell::NoFrames(start, end));
    }
    if part != BODY && !scene.tracks.contains_key(part) {
        return Err(CannotTell::NoTrace(part.to_owned()));
    }
    let moving = scene
        .carried(part)
        .ok_or_else(|| CannotTell::NoTrace(part.to_owned()))?;
    let path = &moving.path[clip(start as isize, end as isize + 1, scene.frames)];
    let speeds = gaps(path).split_off(1);
    if speeds.iter().any(|v| !v.is_finite()) {
        return Err(CannotTell::Unsure(part.to_owned()));
    }
    let sparc = spectral_arc_length(
        &speeds,
        recording.fps,
        (recording.fps / 2.0).min(10.0),
        0.05,
    );
    let ldlj = log_dimensionless_jerk(&speeds, recording.fps);
    match (sparc, ldlj) {
        (Some(sparc), Some(ldlj)) => Ok(Smoothness {
            sparc,
            ldlj,
            speed_exponent: speed_by_curvature(path, recording.fps).map(|(slope, _)| slope),
        }),
        _ => Err(CannotTell::NoMove),
    }
}
