//! Limb snap (ik-lock): a knee or elbow is thrown straight for a few frames and bends back.

use super::Candidate;
use super::scene::Scene;
use super::series::{V2, clip, dot, largest, median, norm, sub};

/// When a limb snaps.
#[derive(Debug, Clone, PartialEq)]
pub struct LimbLimits {
    /// Findings have at least this value, in degrees a frame. Default 24.
    pub limit: f64,
    /// Findings: bend of the snapped limb at most this, in degrees. Default 32.
    pub straight: f64,
    /// A limb that stays straight longer than this many frames counts half. Default 6.
    pub frames: usize,
    /// Shortest bone in the picture, in standing heights; a shorter one points at the camera. Default 0.05.
    pub bone: f64,
}

impl Default for LimbLimits {
    fn default() -> Self {
        Self {
            limit: 24.0,
            straight: 32.0,
            frames: 6,
            bone: 0.05,
        }
    }
}

/// The joints above and below a joint that bends.
fn limb(part: &str) -> Option<(String, String)> {
    let (joint, side) = part.split_once('.')?;
    let (above, below) = match joint {
        "knee" => ("thigh", "ankle"),
        "elbow" => ("shoulder", "wrist"),
        _ => return None,
    };
    Some((format!("{above}.{side}"), format!("{below}.{side}")))
}

/// Bend in degrees, 0 straight; NaN where a bone is too short to tell.
fn bend(above: V2, joint: V2, below: V2, shortest: f64) -> f64 {
    let (u, v) = (sub(joint, above), sub(below, joint));
    if !(norm(u) >= shortest && norm(v) >= shortest) {
        return f64::NAN;
    }
    (u[0] * v[1] - u[1] * v[0])
        .atan2(dot(u, v))
        .abs()
        .to_degrees()
}

fn bends(scene: &Scene, part: &str, limits: &LimbLimits) -> Option<Vec<f64>> {
    let (above, below) = limb(part)?;
    let (above, joint, below) = (scene.path(&above)?, scene.path(part)?, scene.path(&below)?);
    Some(
        (0..scene.frames)
            .map(|f| bend(above[f], joint[f], below[f], limits.bone))
            .collect(),
    )
}

/// Change of bend that is usual about the frames `start..=end`, degrees a frame.
fn usual(bends: &[f64], start: usize, end: usize) -> f64 {
    let (a, b, n) = (start as isize, end as isize, bends.len());
    let before = bends[clip(a - 6, a, n)].windows(2);
    let after = bends[clip(b + 1, b + 7, n)].windows(2);
    let usual = median(before.chain(after).map(|w| (w[1] - w[0]).abs()));
    if usual.is_finite() { usual } else { 0.0 }
}

/// Degrees by which the limb is straighter in `start..=end` than on its way: half of what it loses going in and gains coming out.
fn snap(bends: &[f64], start: usize, end: usize) -> Option<f64> {
    let lost = bends.get(start.checked_sub(1)?)? - bends[start];
    let gained = bends.get(end + 1)? - bends[end];
    let both = (lost + gained) / 2.0;
    // Both ways, or it is a swing that passes through straight.
    (both.is_finite() && lost > 0.0 && gained > 0.0).then_some(both)
}

/// Degrees a frame by which the limb snaps in the span, above what is usual about it; 0 if it does not.
pub(crate) fn at(
    scene: &Scene,
    part: &str,
    start: usize,
    end: usize,
    limits: &LimbLimits,
) -> Option<f64> {
    let bends = bends(scene, part, limits)?;
    let range = clip(start as isize - 1, end as isize + 2, scene.frames);
    if range.clone().any(|f| bends[f].is_nan()) {
        return None;
    }
    let spans = range.clone().flat_map(|a| {
        range
            .clone()
            .filter(move |b| *b >= a && *b < a + limits.frames)
            .map(move |b| (a, b))
    });
    let value =
        |(a, b): (usize, usize)| snap(&bends, a, b).map(|s| (s - usual(&bends, a, b)).max(0.0));
    Some(largest(spans.filter_map(value)).unwrap_or(0.0))
}

pub(crate) fn scan(scene: &Scene, limits: &LimbLimits) -> Vec<Candidate> {
    let mut found = vec![];
    for part in scene.tracks.keys() {
        let Some(bends) = bends(scene, part, limits) else {
            continue;
        };
        for start in 1..scene.frames {
            for end in start..(start + limits.frames.max(1)).min(scene.frames) {
                let straight = bends[start..=end].iter().all(|b| *b <= limits.straight);
                let value = snap(&bends, start, end).map(|s| s - usual(&bends, start, end));
                if let Some(value) = value.filter(|v| straight && *v >= limits.limit) {
                    found.push(Candidate::new(part, start, end, value));
                }
            }
        }
    }
    found
}
