//! From the candidates of all frames to the places of one trace.

use super::TraceOptions;
use super::candidates::Candidate;
use super::lattice::{Lattice, Layer, Node, Solved};
use super::score::apart;
use super::spline::{Spline, hermite};

/// A place on a frame, in pixels of the work size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Place {
    pub(crate) at: [f32; 2],
    pub(crate) evidence: Evidence,
}

/// What a place's confidence is worked out from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Evidence {
    /// Frames to the nearest click.
    pub(crate) frames: usize,
    /// The share of all paths that pass near.
    pub(crate) near: f32,
    /// The least of those shares where the point is seen from the nearest click to here.
    pub(crate) least: f32,
    /// The candidate's fit; `None` where the point is hidden.
    pub(crate) fit: Option<f32>,
    /// Whether the nearest click's own picture is found here, there and back.
    pub(crate) settled: bool,
}

/// The share of the side speeds with which a hidden stretch begins and ends.
const SPEED_KEPT: f32 = 0.6;

/// Candidates of a frame and the costs of steps to them.
pub(crate) struct Found {
    pub(crate) candidates: Vec<Candidate>,
    pub(crate) from_before: Vec<f32>,
}

/// Finds the best way through; `clicks` are frames and places, in order.
pub(crate) fn solve(
    found: Vec<Found>,
    clicks: &[(usize, [f32; 2])],
    options: &TraceOptions,
) -> Vec<Place> {
    let fits = fits(&found, clicks, options);
    let layers = found
        .into_iter()
        .zip(&fits)
        .enumerate()
        .map(|(t, (f, fits))| Layer {
            nodes: f
                .candidates
                .iter()
                .zip(fits)
                .map(|(c, &fit)| Node {
                    at: c.at,
                    fit: f64::from(fit),
                })
                .collect(),
            fixed: clicks.iter().any(|&(frame, _)| frame == t),
            from_before: f.from_before,
        });
    let lattice = Lattice {
        layers: layers.collect(),
        hidden: Some(&options.hidden),
    };
    let solved = lattice.solve(options.sure.sharpness);
    places(&lattice, &solved, clicks, options)
}

fn fits(found: &[Found], clicks: &[(usize, [f32; 2])], options: &TraceOptions) -> Vec<Vec<f32>> {
    let curve = Spline::through(
        clicks.iter().map(|&(t, _)| t as f64).collect(),
        clicks.iter().map(|&(_, at)| at.map(f64::from)).collect(),
    );
    let one = |t: usize, f: &Found| {
        let frames = to_click(clicks, t);
        let expected = curve.at(t as f64).map(|v| v as f32);
        let fit = |c: &Candidate| {
            if frames == 0 {
                0.0
            } else {
                options.fit.of(c, frames, apart(c.at, expected))
            }
        };
        f.candidates.iter().map(fit).collect()
    };
    found.iter().enumerate().map(|(t, f)| one(t, f)).collect()
}

/// Frames to the nearest click.
fn to_click(clicks: &[(usize, [f32; 2])], frame: usize) -> usize {
    clicks
        .iter()
        .map(|&(t, _)| t.abs_diff(frame))
        .min()
        .unwrap_or(0)
}

fn places(
    lattice: &Lattice<'_>,
    solved: &Solved,
    clicks: &[(usize, [f32; 2])],
    options: &TraceOptions,
) -> Vec<Place> {
    let seen: Vec<Option<[f32; 2]>> = solved
        .path
        .iter()
        .zip(&lattice.layers)
        .map(|(choice, layer)| choice.map(|i| layer.nodes[i].at))
        .collect();
    let joined = joined(&seen);
    let near_px = options.sure.near_px;
    let place = |t: usize| {
        let at = joined[t];
        let layer = &lattice.layers[t];
        let frames = to_click(clicks, t);
        let near: f64 = layer
            .nodes
            .iter()
            .zip(&solved.weights[t])
            .filter(|(node, _)| apart(node.at, at) <= near_px)
            .map(|(_, weight)| weight)
            .sum();
        let fit = solved.path[t].map(|i| layer.nodes[i].fit as f32);
        Place {
            at,
            evidence: Evidence {
                frames,
                near: near as f32,
                least: 1.0,
                fit,
                settled: false,
            },
        }
    };
    let mut places: Vec<Place> = (0..joined.len()).map(place).collect();
    let seen = |p: &Place| p.evidence.fit.map_or(1.0, |_| p.evidence.near);
    let near: Vec<f32> = places.iter().map(seen).collect();
    for (t, place) in places.iter_mut().enumerate() {
        place.evidence.least = least_on_the_way(&near, clicks, t);
    }
    places
}

/// The least of `near` on the frames from the nearest click to `t`.
fn least_on_the_way(near: &[f32], clicks: &[(usize, [f32; 2])], t: usize) -> f32 {
    let click = clicks.iter().map(|c| c.0).min_by_key(|c| c.abs_diff(t));
    let click = click.unwrap_or(t);
    let way = &near[click.min(t)..=click.max(t)];
    way.iter().copied().fold(1.0, f32::min)
}

/// Hidden stretches joined by curves; still before the first and after the last seen place.
fn joined(seen: &[Option<[f32; 2]>]) -> Vec<[f32; 2]> {
    let speed = |a: usize, b: usize| match (seen.get(a), seen.get(b)) {
        (Some(&Some(p)), Some(&Some(q))) => [q[0] - p[0], q[1] - p[1]],
        _ => [0.0; 2],
    };
    let mut before: Option<(usize, [f32; 2])> = None;
    let mut all = Vec::with_capacity(seen.len());
    for (t, place) in seen.iter().enumerate() {
        if let Some(at) = *place {
            before = Some((t, at));
            all.push(at);
            continue;
        }
        let after = seen[t..]
            .iter()
            .position(Option::is_some)
            .map(|d| t + d)
            .and_then(|b| seen[b].map(|at| (b, at)));
        all.push(match (before, after) {
            (Some((a, p)), Some((b, q))) => {
                let length = (b - a) as f32;
                let scale = |v: [f32; 2]| v.map(|v| SPEED_KEPT * length * v);
                let into = if a > 0 { speed(a - 1, a) } else { [0.0; 2] };
                let slopes = [scale(into), scale(speed(b, b + 1))];
                hermite(p, q, slopes, (t - a) as f32 / length)
            }
            (Some((_, at)), None) | (None, Some((_, at))) => at,
            (None, None) => [0.0; 2],
        });
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gap_is_joined_with_some_of_the_speed() {
        let seen = [
            None,
            Some([0.0, 0.0]),
            Some([2.0, 0.0]),
            None,
            Some([6.0, 0.0]),
            Some([8.0, 0.0]),
            None,
        ];
        let all = joined(&seen);
        assert_eq!(all[0], [0.0, 0.0]);
        assert_eq!(all[6], [8.0, 0.0]);
        assert!((all[3][0] - 4.0).abs() < 1e-5);
    }
}
