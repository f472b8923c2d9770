//! Slow settle: after the movement the part creeps on in the same direction for many frames before it stands.

use super::Candidate;
use super::scene::{Moving, Scene};
use super::series::{LOST, V2, clip, dot, largest, mean, norm, sub};

/// When a settle is slow.
#[derive(Debug, Clone, PartialEq)]
pub struct SettleLimits {
    /// Findings have at least this value, in frames. Default 10.
    pub limit: f64,
    /// Slowest movement that can settle, in standing heights a frame. Default 0.008.
    pub least: f64,
    /// The settle begins below this share of the speed. Default 0.3.
    pub begins: f64,
    /// It has ended below this share of the speed. Default 0.02.
    pub ends: f64,
    /// It has ended below this many deviations of the noise. Default 1.5.
    pub ends_noise: f64,
    /// It has ended below this speed, in standing heights a frame. Default 0.0005.
    pub ends_speed: f64,
}

impl Default for SettleLimits {
    fn default() -> Self {
        Self {
            limit: 10.0,
            least: 0.008,
            begins: 0.3,
            ends: 0.02,
            ends_noise: 1.5,
            ends_speed: 0.0005,
        }
    }
}

/// A settle: from where to where, and how long.
struct Settle {
    start: usize,
    end: usize,
    frames: f64,
}

/// Velocities over three frames, centred between them: the mean of three gaps keeps a third of the noise of one.
fn velocities(path: &[V2]) -> Vec<V2> {
    let mut out = vec![LOST; path.len()];
    for (f, w) in path.windows(4).enumerate() {
        out[f + 2] = [(w[3][0] - w[0][0]) / 3.0, (w[3][1] - w[0][1]) / 3.0];
    }
    out
}

/// Frames that a rest is looked for after the movement, and that one must last.
const SEARCHED: usize = 36;
const RESTS: usize = 4;
/// A settle that slows evenly lasts this many times the mean delay of its way.
const EVEN: f64 = 3.0;

/// The first frame from which the part stands for some frames; in a rest that is cut off by the end of the clip, one is enough.
fn rest(speeds: &[f64], from: usize, still: f64) -> Option<usize> {
    let to = (from + SEARCHED).min(speeds.len());
    (from..to).find(|f| {
        let after = &speeds[*f..(*f + RESTS).min(speeds.len())];
        after[0] < still && !after.iter().any(|s| *s >= 2.5 * still)
    })
}

/// The settle that ends the movement whose fastest frame is `peak`; none if the part does not come to rest.
///
/// Its length is the mean delay of the way that is left when it begins, which the whole tail decides and not the frame where it sinks
/// into the noise; three times that is the length of a tail that slows evenly.
fn settle(
    path: &[V2],
    velocities: &[V2],
    peak: usize,
    sigma: f64,
    limits: &SettleLimits,
) -> Option<Settle> {
    let speeds: Vec<f64> = velocities.iter().map(|v| norm(*v)).collect();
    // Noise of a three-frame velocity is sqrt(2) / 3 of that of a place.
    let noise = limits.ends_noise * sigma * 2.0_f64.sqrt() / 3.0;
    let still = (limits.ends * speeds[peak])
        .max(noise)
        .max(limits.ends_speed);
    let end = rest(&speeds, peak + 1, still)?;
    // The movement that comes to this rest, which may not be the fastest before it.
    let fast = largest(
        speeds[clip(end as isize - 30, end as isize, speeds.len())]
            .iter()
            .copied(),
    )
    .filter(|f| *f >= limits.least)?;
    let mut start = end;
    while start > peak && speeds[start - 1] < limits.begins * fast {
        start -= 1;
    }
    let stands = &path[clip(end as isize + 1, (end + 1 + RESTS) as isize, path.len())];
    let place = [
        mean(stands.iter().map(|p| p[0])),
        mean(stands.iter().map(|p| p[1])),
    ];
    let way = sub(place, path[start]);
    let left = |f: usize| dot(sub(place, path[f]), way) / norm(way);
    let total = left(start);
    // A way that is mostly noise has no delay.
    let delay: f64 = (start..=end).map(left).sum::<f64>() / (total + 2.0 * sigma) - 0.5;
    let turns = (start..end).any(|f| dot(velocities[f], way) < 0.0 && speeds[f] > 3.0 * still);
    (!turns && delay.is_finite()).then(|| Settle {
        start,
        end,
        frames: (EVEN * delay).clamp(0.0, (end - start + 2) as f64),
    })
}

/// The fastest frame of `range`.
fn peak(velocities: &[V2], range: std::ops::Range<usize>) -> Option<usize> {
    range
        .filter(|f| norm(velocities[*f]).is_finite())
        .max_by(|a, b| norm(velocities[*a]).total_cmp(&norm(velocities[*b])))
}

/// Frames of creeping after the movement at the start of the span.
pub(crate) fn at(
    scene: &Scene,
    part: &str,
    start: usize,
    end: usize,
    limits: &SettleLimits,
) -> Option<f64> {
    let moving = scene.carried(part)?;
    let v = velocities(&moving.path);
    let half = (end - start) as isize / 2;
    let peak = peak(
        &v,
        clip(
            start as isize - 2,
            start as isize + half.clamp(1, 4),
            scene.frames,
        ),
    )?;
    let found = (norm(v[peak]) >= limits.least)
        .then(|| settle(&moving.path, &v, peak, moving.sigma, limits))?;
    found.map(|s| s.frames)
}

/// Whether `f` is the fastest frame within eight frames.
fn leads(v: &[V2], f: usize) -> bool {
    let fast = norm(v[f]);
    !v[clip(f as isize - 8, f as isize + 9, v.len())]
        .iter()
        .any(|w| norm(*w) > fast)
}

fn of(moving: &Moving<'_>, limits: &SettleLimits) -> Vec<Settle> {
    let v = velocities(&moving.path);
    (0..v.len())
        .filter(|f| norm(v[*f]) >= limits.least && leads(&v, *f))
        .filter_map(|f| settle(&moving.path, &v, f, moving.sigma, limits))
        .filter(|s| s.frames >= limits.limit)
        .collect()
}

pub(crate) fn scan(scene: &Scene, limits: &SettleLimits) -> Vec<Candidate> {
    let parts = scene.tracks.keys().filter(|p| super::leads(scene, p));
    parts
        .flat_map(|part| {
            let settles = scene
                .carried(part)
                .map(|m| of(&m, limits))
                .unwrap_or_default();
            settles
                .into_iter()
                .map(move |s| Candidate::new(part, s.start, s.end, s.frames))
        })
        .collect()
}
