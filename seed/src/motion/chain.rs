//! Cloth and hair: short chains of points that trail behind an anchor.

use crate::math::{V3, v3};

/// How a chain hangs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hang {
    /// Points after the anchor.
    pub points: usize,
    /// Length of one link, metres.
    pub link: f32,
    /// Share of its speed a point keeps each half frame.
    pub keep: f32,
    /// Pull towards the rest direction, 0..1 a half frame.
    pub stiff: f32,
}

/// Simulates a chain over `anchors` (one a frame), each with the direction it would rest in. Point 0 of each frame is the anchor.
#[must_use]
pub fn trail(anchors: &[(V3, V3)], hang: &Hang) -> Vec<Vec<V3>> {
    let Some(&(a0, d0)) = anchors.first() else {
        return Vec::new();
    };
    let mut now: Vec<V3> = (0..=hang.points)
        .map(|i| a0 + d0 * (hang.link * i as f32))
        .collect();
    let mut before = now.clone();
    let mut out = Vec::with_capacity(anchors.len());
    let gravity = v3(0.0, -9.8 / (48.0 * 48.0), 0.0);
    let settle = 48;
    for f in 0..anchors.len() + settle {
        let i = f.saturating_sub(settle);
        let (to, dir) = anchors[i];
        let from = anchors[i.saturating_sub(1)].0;
        for half in 1..=2 {
            now[0] = from.lerp(to, half as f32 * 0.5);
            for p in 1..now.len() {
                let v = (now[p] - before[p]) * hang.keep;
                before[p] = now[p];
                let rest = now[p - 1] + dir * hang.link;
                now[p] = (now[p] + v + gravity).lerp(rest, hang.stiff / p as f32);
            }
            for _ in 0..4 {
                for p in 1..now.len() {
                    now[p] = now[p - 1] + (now[p] - now[p - 1]).unit() * hang.link;
                }
            }
        }
        if f >= settle {
            out.push(now.clone());
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_keep_their_length_and_the_end_comes_late() {
        let anchors: Vec<_> = (0..30)
            .map(|f| {
                (
                    v3(if f < 10 { 0.0 } else { 0.05 * (f - 10) as f32 }, 1.0, 0.0),
                    v3(-0.3, -1.0, 0.0).unit(),
                )
            })
            .collect();
        let hang = Hang {
            points: 3,
            link: 0.1,
            keep: 0.9,
            stiff: 0.1,
        };
        let t = trail(&anchors, &hang);
        for f in &t {
            assert!(
                f.windows(2)
                    .all(|w| ((w[1] - w[0]).length() - 0.1).abs() < 1e-4)
            );
        }
        assert!(t[20][3].x - t[9][3].x < anchors[20].0.x);
    }
}
