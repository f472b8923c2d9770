//! Slow settle: after the movement the part creeps on in the same direction for many frames before it stands.

use super::Candidate;
use super::scene::{Moving, Scene};
use super::series::{LOST, V2, clip, dot, norm};

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
    /// Cosine that its direction keeps with that of the movement. Default 0.2.
    pub direction: f64,
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
            direction: 0.2,
        }
    }
}

/// A settle: from where to where, and how long to a fraction of a frame.
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

/// The settle after the fastest frame `peak`; none if the part does not come to rest.
fn settle(velocities: &[V2], peak: usize, sigma: f64, limits: &SettleLimits) -> Option<Settle> {
    let speed = |f: usize| velocities.get(f).map(|v| norm(*v)).filter(|v| v.is_finite());
    let fast = speed(peak)?;
    let mut begin = peak + 1;
    while speed(begin)? >= limits.begins * fast {
        begin += 1;
    }
    // Noise of a three-frame velocity is sqrt(2) / 3 of that of a place.
    let still = (limits.ends * fast)
        .max(limits.ends_noise * sigma * 2.0_f64.sqrt() / 3.0)
        .max(limits.ends_speed);
    let running = velocities[begin - 1];
    let mut end = begin;
    while speed(end)? >= still {
        let v = velocities[end];
        if dot(v, running) < limits.direction * norm(v) * norm(running) {
            break;
        }
        end += 1;
    }
    let rests = (end..end + 4).all(|f| speed(f).is_none_or(|v| v < (2.0 * still).max(0.1 * fast)));
    let before = |f: usize, level: f64| {
        let (a, b) = (speed(f - 1).unwrap_or(level), speed(f).unwrap_or(level));
        if a > b { ((a - level) / (a - b)).clamp(0.0, 1.0) } else { 1.0 }
    };
    let from = (begin - 1) as f64 + before(begin, limits.begins * fast);
    let to = (end - 1) as f64 + before(end, still);
    rests.then(|| Settle {
        start: begin,
        end,
        frames: (to - from).max(0.0),
    })
}

/// The fastest frame of `range`.
fn peak(velocities: &[V2], range: std::ops::Range<usize>) -> Option<usize> {
    range
        .filter(|f| norm(velocities[*f]).is_finite())
        .max_by(|a, b| norm(velocities[*a]).total_cmp(&norm(velocities[*b])))
}

/// Frames of creeping after the movement at the start of the span.
pub(crate) fn at(scene: &Scene, part: &str, start: usize, end: usize, limits: &SettleLimits) -> Option<f64> {
    let moving = scene.carried(part)?;
    let v = velocities(&moving.path);
    let half = (end - start) as isize / 2;
    let peak = peak(&v, clip(start as isize - 4, start as isize + half.clamp(2, 4), scene.frames))?;
    let found = (norm(v[peak]) >= limits.least).then(|| settle(&v, peak, moving.sigma, limits))?;
    found.map(|s| s.frames)
}

/// Whether `f` is the fastest frame within eight frames.
fn leads(v: &[V2], f: usize) -> bool {
    let fast = norm(v[f]);
    v[clip(f as isize - 8, f as isize + 9, v.len())].iter().all(|w| !(norm(*w) > fast))
}

fn of(moving: &Moving<'_>, limits: &SettleLimits) -> Vec<Settle> {
    let v = velocities(&moving.path);
    (0..v.len())
        .filter(|f| norm(v[*f]) >= limits.least && leads(&v, *f))
        .filter_map(|f| settle(&v, f, moving.sigma, limits))
        .filter(|s| s.frames >= limits.limit)
        .collect()
}

pub(crate) fn scan(scene: &Scene, limits: &SettleLimits) -> Vec<Candidate> {
    let parts = scene.tracks.keys().filter(|p| super::leads(scene, p));
    parts
        .flat_map(|part| {
            let settles = scene.carried(part).map(|m| of(&m, limits)).unwrap_or_default();
            settles.into_iter().map(move |s| Candidate::new(part, s.start, s.end, s.frames))
        })
        .collect()
}
