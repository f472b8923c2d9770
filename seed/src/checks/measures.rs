//! Measures of motion faults on the joints of a revision. Formulas and limits follow the project's own measures design:
//! values rise with the fault, lengths are shares of the standing height.

use crate::clip::Play;
use crate::motion::skeleton::{ARMS, Joint, LEGS};

/// A point in standing heights.
type P = [f64; 2];

/// A trace: one point a frame, in standing heights, y down.
pub struct Trace {
    points: Vec<P>,
    /// Noise of the trace, standing heights.
    sigma: f64,
}

fn sub(a: P, b: P) -> P {
    [a[0] - b[0], a[1] - b[1]]
}

fn norm(a: P) -> f64 {
    a[0].hypot(a[1])
}

fn median(mut v: Vec<f64>) -> f64 {
    v.sort_by(f64::total_cmp);
    if v.is_empty() { 0.0 } else { v[v.len() / 2] }
}

/// A joint, relative to another if given.
pub fn trace(play: &Play, j: Joint, to: Option<Joint>) -> Trace {
    let h = f64::from(play.figure_px());
    let at = |f: usize, j: Joint| play.joint(f, j).map(|v| f64::from(v) / h);
    let points: Vec<P> = (0..play.frames())
        .map(|f| match to {
            Some(o) => sub(at(f, j), at(f, o)),
            None => at(f, j),
        })
        .collect();
    let d4: Vec<P> = fourth(&points);
    let mut all: Vec<f64> = d4.iter().flat_map(|p| [p[0].abs(), p[1].abs()]).collect();
    all.sort_by(f64::total_cmp);
    let lower = all[..all.len() / 2].to_vec();
    let sigma = (median(lower) / 0.3186 / 70f64.sqrt()).max(0.1 / h);
    Trace { points, sigma }
}

/// The trace a fault of this joint is measured on: arms from the shoulder, the head from the neck.
pub fn own_trace(play: &Play, j: Joint) -> Trace {
    let arm = ARMS.iter().find(|a| a[1..].contains(&j)).map(|a| a[0]);
    trace(play, j, arm.or((j == Joint::Head).then_some(Joint::Neck)))
}

fn fourth(p: &[P]) -> Vec<P> {
    (0..p.len())
        .map(|t| {
            if t < 2 || t + 2 >= p.len() {
                return [0.0; 2];
            }
            [0, 1].map(|k| {
                p[t - 2][k] - 4.0 * p[t - 1][k] + 6.0 * p[t][k] - 4.0 * p[t + 1][k] + p[t + 2][k]
            })
        })
        .collect()
}

impl Trace {
    fn gap(&self, t: usize) -> f64 {
        if t == 0 || t >= self.points.len() {
            0.0
        } else {
            norm(sub(self.points[t], self.points[t - 1]))
        }
    }

    /// Every one- or two-frame jump: frame and value (times its neighbours).
    pub fn pops(&self) -> Vec<(usize, f64)> {
        let d4 = fourth(&self.points);
        let n = self.points.len();
        let mut out = Vec::new();
        for f in 4..n.saturating_sub(5) {
            let best = [
                &[1.0, -4.0, 6.0, -4.0, 1.0][..],
                &[1.0, -3.0, 2.0, 2.0, -3.0, 1.0][..],
            ]
            .iter()
            .filter_map(|w| self.pop_at(&d4, f, w))
            .fold(0.0, f64::max);
            if best > 0.0 {
                out.push((f, best));
            }
        }
        out
    }

    fn pop_at(&self, d4: &[P], f: usize, w: &[f64]) -> Option<f64> {
        let w2: f64 = w.iter().map(|x| x * x).sum();
        let window = &d4[f - 2..f - 2 + w.len()];
        let d = [0, 1].map(|k| w.iter().zip(window).map(|(a, p)| a * p[k]).sum::<f64>() / w2);
        let energy: f64 = window.iter().map(|p| p[0] * p[0] + p[1] * p[1]).sum();
        let size = norm(d);
        let fit = size * size * w2 / energy.max(1e-18);
        if fit <= 0.72 || size <= (4.0 * self.sigma).max(0.005) {
            return None;
        }
        let around: Vec<usize> = (f.saturating_sub(12)..=f.saturating_sub(5))
            .chain(f + 6..=f + 13)
            .filter(|&t| t < d4.len())
            .collect();
        let mut rough: Vec<f64> = around.iter().map(|&t| norm(d4[t]) / 6.0).collect();
        rough.sort_by(f64::total_cmp);
        let p75 = rough[(rough.len() * 3 / 4).min(rough.len() - 1)];
        let gaps = median(around.iter().map(|&t| self.gap(t)).collect());
        Some(size / (p75 + 0.05 * gaps + 1.2 * self.sigma + 0.0006) * (fit / 0.9).min(1.0).powi(3))
    }

    /// Every stop from speed to rest within two frames: frame and share of the speed lost.
    pub fn dead_stops(&self) -> Vec<(usize, f64)> {
        (4..self.points.len().saturating_sub(9))
            .filter_map(|f| self.dead_stop_at(f).map(|v| (f, v)))
            .collect()
    }

    fn dead_stop_at(&self, f: usize) -> Option<f64> {
        let peak = median(vec![self.gap(f - 2), self.gap(f - 1), self.gap(f)]);
        let rest = (f + 2..=f + 4).all(|t| self.gap(t) <= (0.22 * peak).max(3.0 * self.sigma));
        let stays = (f + 2..=f + 7).all(|t| {
            norm(sub(self.points[t], self.points[f + 2])) <= 0.18 * peak + 3.0 * self.sigma
        });
        if peak < (6.0 * self.sigma).max(0.014) || !rest || !stays {
            return None;
        }
        let most = (f - 2..=f + 1).map(|t| self.gap(t)).fold(0.0, f64::max);
        let loss = |k: usize| {
            (f - 1..=f + 2)
                .map(|t| self.gap(t - 1) - self.gap(t - 1 + k))
                .fold(0.0, f64::max)
                / most
        };
        Some(0.5 * (loss(1) + loss(2)).min(2.0))
    }

    /// Every creeping settle: first slow frame and how many frames it creeps.
    pub fn slow_settles(&self) -> Vec<(usize, f64)> {
        let n = self.points.len();
        let soft: Vec<f64> = (0..n)
            .map(|t| 0.25 * self.gap(t.max(1) - 1) + 0.5 * self.gap(t) + 0.25 * self.gap(t + 1))
            .collect();
        let mut out = Vec::new();
        for p in 2..n.saturating_sub(3) {
            if soft[p] < 0.014 || soft[p] < soft[p - 1] || soft[p] < soft[p + 1] {
                continue;
            }
            let Some(slow) = (p..n).find(|&t| soft[t] < 0.3 * soft[p]) else {
                continue;
            };
            let floor = (0.02 * soft[p]).max(1.5 * self.sigma).max(0.0005);
            let mut t = slow;
            while t + 1 < n && soft[t] >= floor && self.runs_on(t) {
                t += 1;
            }
            let rests = t + 2 < n && (t..(t + 3).min(n)).all(|k| soft[k] < floor * 2.0);
            if rests && (slow..t).all(|k| soft[k] <= 0.31 * soft[p]) {
                out.push((slow, (t - slow) as f64));
            }
        }
        out
    }

    fn runs_on(&self, t: usize) -> bool {
        let (a, b) = (
            sub(self.points[t], self.points[t - 1]),
            sub(self.points[t + 1], self.points[t]),
        );
        (a[0] * b[0] + a[1] * b[1]) > 0.2 * norm(a) * norm(b)
    }

    /// How straight the way from `a` to `b` is: 1 less its greatest distance from the chord over the chord.
    pub fn straightness(&self, a: usize, b: usize) -> f64 {
        let (p, q) = (self.points[a], self.points[b]);
        let c = sub(q, p);
        let l = norm(c).max(1e-9);
        let off = |x: P| ((x[0] - p[0]) * -c[1] + (x[1] - p[1]) * c[0]).abs() / l;
        1.0 - (a..=b).map(|t| off(self.points[t])).fold(0.0, f64::max) / l
    }

    /// Every window of 6 to 10 frames whose gaps alternate: middle frame and value.
    pub fn uneven(&self) -> Vec<(usize, f64)> {
        let n = self.points.len();
        let h = |t: usize| (2.0 * self.gap(t) - self.gap(t - 1) - self.gap(t + 1)) / 4.0;
        let mut out = Vec::new();
        for len in 6..=10usize {
            for a in 2..n.saturating_sub(len + 2) {
                let hs: Vec<f64> = (a..a + len).map(h).collect();
                let size: Vec<f64> = hs.iter().map(|v| v.abs()).collect();
                let mid = median(size.clone());
                let mean = (a..a + len).map(|t| self.gap(t)).sum::<f64>() / len as f64;
                let alternates = hs.windows(2).all(|w| w[0] * w[1] < 0.0);
                if alternates
                    && mean > 4.0 * self.sigma
                    && size.iter().copied().fold(f64::MAX, f64::min) >= 0.3 * mid
                {
                    out.push((
                        a + len / 2,
                        mid / mean * (0.9 + 0.1 * (len as f64 - 6.0) / 4.0),
                    ));
                }
            }
        }
        out
    }
}

/// Likeness of both wrists' velocities over 20 frames from `a`, plain or mirrored; none when they hardly move.
pub fn in_step(play: &Play, a: usize) -> Option<f64> {
    let [r, l] = ARMS.map(|arm| trace(play, arm[2], Some(arm[0])));
    let b = (a + 20).min(play.frames() - 1);
    let v = |t: &Trace, f: usize| sub(t.points[f], t.points[f - 1]);
    let (mut rr, mut ll, mut rl, mut mirrored) = (0.0, 0.0, 0.0, 0.0);
    for f in a.max(1)..b {
        let (p, q) = (v(&r, f), v(&l, f));
        rr += p[0] * p[0] + p[1] * p[1];
        ll += q[0] * q[0] + q[1] * q[1];
        rl += p[0] * q[0] + p[1] * q[1];
        mirrored += -p[0] * q[0] + p[1] * q[1];
    }
    let frames = (b - a) as f64;
    let moving = (rr.min(ll) / frames).sqrt() > 0.004;
    moving.then(|| f64::max(rl, mirrored) / (rr * ll).sqrt())
}

/// Do the hands keep their distance over the 20 frames from `a`, as they do on a crate?
pub fn hands_on_one_thing(play: &Play, a: usize) -> bool {
    let [r, l] = ARMS.map(|arm| trace(play, arm[2], None));
    let apart: Vec<f64> = (a..(a + 20).min(play.frames()))
        .map(|f| norm(sub(r.points[f], l.points[f])))
        .collect();
    let (least, most) = apart
        .iter()
        .fold((f64::MAX, f64::MIN), |(a, b), &v| (a.min(v), b.max(v)));
    most - least < 0.06
}

/// How much hips, neck, head and wrists set off as one after the rest before `a`; none when fewer than three do.
pub fn one_block(play: &Play, a: usize, b: usize) -> Option<f64> {
    let pairs = [
        (Joint::Hip, None),
        (Joint::Neck, Some(Joint::Hip)),
        (Joint::Head, Some(Joint::Neck)),
        (ARMS[0][2], Some(ARMS[0][0])),
        (ARMS[1][2], Some(ARMS[1][0])),
    ];
    let onsets: Vec<f64> = pairs
        .iter()
        .filter_map(|&(j, to)| {
            let t = trace(play, j, to);
            let peak = (a..=b).map(|f| t.gap(f)).fold(0.0, f64::max);
            let limit = (0.12 * peak).max(2.5 * t.sigma);
            if peak < 3.0 * limit.min(peak) * 0.5 || peak < 0.004 {
                return None;
            }
            let f = (a.max(1)..=b).find(|&f| t.gap(f) >= limit)?;
            let before = t.gap(f - 1);
            Some(f as f64 - (t.gap(f) - limit) / (t.gap(f) - before).max(1e-9))
        })
        .collect();
    if onsets.len() < 3 {
        return None;
    }
    let mean = onsets.iter().sum::<f64>() / onsets.len() as f64;
    let sd = (onsets.iter().map(|o| (o - mean).powi(2)).sum::<f64>() / onsets.len() as f64).sqrt();
    Some((1.0 - (sd / 3.0).min(1.0)) * if onsets.len() == 3 { 0.85 } else { 1.0 })
}

/// How much a part hangs still while the chest travels, best window inside the span; none when the chest stays.
pub fn pinned(play: &Play, j: Joint, a: usize, b: usize) -> Option<f64> {
    let (p, c) = (trace(play, j, None), trace(play, Joint::Chest, None));
    let travel = |t: &Trace, a: usize, n: usize| {
        let w = &t.points[a..a + n];
        let m = [0, 1].map(|k| w.iter().map(|q| q[k]).sum::<f64>() / n as f64);
        (w.iter().map(|q| norm(sub(*q, m)).powi(2)).sum::<f64>() / n as f64).sqrt()
    };
    let less = if j == Joint::Head { 0.0 } else { 0.07 };
    [10usize, 13, 16]
        .iter()
        .flat_map(|&n| (a..(b + 2).saturating_sub(n)).map(move |s| (s, n)))
        .filter(|&(s, n)| norm(sub(c.points[s + n - 1], c.points[s])) >= 0.04)
        .map(|(s, n)| 1.0 - travel(&p, s, n) / travel(&c, s, n) - less)
        .reduce(f64::max)
}

/// Creep of a planted foot within the span, percent of the standing height: the smaller range of ankle and toe.
pub fn foot_slide(play: &Play, side: usize, a: usize, b: usize) -> f64 {
    let ranges = [LEGS[side][2], LEGS[side][3]].map(|j| {
        let t = trace(play, j, None);
        let xs: Vec<f64> = (a..=b.min(play.frames() - 1))
            .filter(|&f| play.planted(f)[side])
            .map(|f| t.points[f][0])
            .collect();
        xs.iter().copied().fold(f64::MIN, f64::max) - xs.iter().copied().fold(f64::MAX, f64::min)
    });
    100.0 * ranges[0].min(ranges[1]).max(0.0)
}

/// Runs of frames a foot stands.
pub fn contacts(play: &Play, side: usize) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    let mut start = None;
    for f in 0..=play.frames() {
        let down = f < play.frames() && play.planted(f)[side];
        match (down, start) {
            (true, None) => start = Some(f),
            (false, Some(s)) => {
                out.push((s, f - 1));
                start = None;
            }
            _ => {}
        }
    }
    out
}

/// Every foot that drops in its last frame: frame and drop, percent of the standing height.
pub fn stomps(play: &Play, side: usize) -> Vec<(usize, f64)> {
    let t = trace(play, LEGS[side][2], None);
    let y = |f: usize| t.points[f][1];
    (5..play.frames().saturating_sub(4))
        .filter_map(|f| {
            let drop = y(f) - y(f - 1);
            let still = (1..=3).all(|k| (y(f + k) - y(f + k - 1)).abs() <= 0.25 * drop);
            let share = drop / (y(f) - y(f - 4)).max(1e-9);
            (drop > 0.006 && still && share > 0.0)
                .then(|| (f, 100.0 * drop * (share / 0.75).min(1.0).powi(2)))
        })
        .collect()
}

/// The greatest loss of bend of a knee or elbow on one frame of the span, degrees, against the frames around it.
pub fn snap(play: &Play, chain: &[Joint; 4], a: usize, b: usize) -> f64 {
    let p = [chain[0], chain[1], chain[2]].map(|j| trace(play, j, None).points);
    let bend = |f: usize| {
        let (u, v) = (sub(p[1][f], p[0][f]), sub(p[2][f], p[1][f]));
        (u[0] * v[1] - u[1] * v[0])
            .atan2(u[0] * v[0] + u[1] * v[1])
            .abs()
            .to_degrees()
    };
    let last = play.frames() - 1;
    (a..=b)
        .map(|f| {
            let around = median(
                (f.saturating_sub(4)..f.saturating_sub(1))
                    .chain(f + 2..(f + 5).min(last))
                    .map(bend)
                    .collect(),
            );
            if bend(f) <= 32.0 {
                around - bend(f)
            } else {
                0.0
            }
        })
        .fold(0.0, f64::max)
}
