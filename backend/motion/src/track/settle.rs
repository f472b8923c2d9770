//! Takes the drift out of a solved path: small steps from frame to frame add up, the click's own picture does not drift.

use super::TraceOptions;
use super::lk::{LkOptions, follow};
use super::pyramid::Pyramid;
use super::score::apart;
use super::seen::Seen;
use super::solve::Place;
use super::trace::TraceError;

/// How a path is settled on its clicks' pictures.
#[derive(Debug, Clone, PartialEq)]
pub struct SettleOptions {
    /// The largest correction of a place, in pixels; 0 leaves the path as it is. Default 2.5.
    pub most_px: f32,
    /// How fast what is around the click counts less, as the sigma of a Gaussian, in pixels: what lies behind the part moves
    /// otherwise. Default 3.
    pub focus_px: f32,
    /// A correction counts if following it back ends no further from the click than this, in pixels. Default 0.1.
    pub most_error_px: f32,
    /// Frames over which corrections are averaged, as the sigma of a Gaussian, so that they add no jumps. Default 2.
    pub over_frames: f32,
    /// The weight of no correction against that of the frame's own. Default 0.05.
    pub reluctance: f32,
}

impl Default for SettleOptions {
    fn default() -> Self {
        Self {
            most_px: 2.5,
            focus_px: 3.0,
            most_error_px: 0.1,
            over_frames: 2.0,
            reluctance: 0.05,
        }
    }
}

/// Levels of the pyramids: corrections are small.
const LEVELS: usize = 2;

/// A trace's clicks and its path.
pub(crate) type Path<'a> = (&'a [(usize, [f32; 2])], &'a mut [Place]);

/// Settles the paths of several traces in one pass over the clip.
pub(crate) fn settle(
    clip: Seen<'_>,
    paths: &mut [Path<'_>],
    options: &TraceOptions,
) -> Result<(), TraceError> {
    if options.settle.most_px <= 0.0 {
        return Ok(());
    }
    let clicked: Vec<Vec<Pyramid>> = paths
        .iter()
        .map(|(clicks, _)| {
            let clicks = clicks.iter();
            clicks.map(|&(t, _)| clip.light(t, LEVELS)).collect()
        })
        .collect::<Result<_, TraceError>>()?;
    let mut found: Vec<Vec<Option<[f32; 2]>>> = paths
        .iter()
        .map(|(_, places)| vec![None; places.len()])
        .collect();
    let mut frame = clip.blank_light(LEVELS);
    for t in 0..clip.len() {
        let wanted = |(_, places): &Path<'_>| {
            places[t].evidence.fit.is_some() && places[t].evidence.frames > 0
        };
        if !paths.iter().any(wanted) {
            continue;
        }
        clip.light_over(t, &mut frame)?;
        for ((path, clicked), found) in paths.iter().zip(&clicked).zip(&mut found) {
            if wanted(path) {
                found[t] = correction(path, clicked, t, &frame, options);
            }
        }
    }
    for ((clicks, places), found) in paths.iter_mut().zip(&found) {
        spread(clicks, places, found, &options.settle);
    }
    Ok(())
}

/// What the nearest click's picture says about a frame's place.
fn correction(
    (clicks, places): &Path<'_>,
    clicked: &[Pyramid],
    t: usize,
    frame: &Pyramid,
    options: &TraceOptions,
) -> Option<[f32; 2]> {
    let lk = LkOptions {
        levels: LEVELS,
        focus_px: options.settle.focus_px,
        ..options.lk.clone()
    };
    let (&(_, click), picture) = clicks
        .iter()
        .zip(clicked)
        .min_by_key(|((frame, _), _)| frame.abs_diff(t))?;
    let at = places[t].at;
    let there = follow(picture, frame, click, at, &lk);
    let to = [there.x, there.y];
    if !there.found || apart(to, at) > options.settle.most_px {
        return None;
    }
    let back = follow(frame, picture, to, click, &lk);
    let returns = back.found && apart([back.x, back.y], click) <= options.settle.most_error_px;
    returns.then_some([to[0] - at[0], to[1] - at[1]])
}

/// Moves each seen place by the mean of the corrections around it, on its own side of the clicks.
fn spread(
    clicks: &[(usize, [f32; 2])],
    places: &mut [Place],
    found: &[Option<[f32; 2]>],
    options: &SettleOptions,
) {
    let sigma = options.over_frames.max(0.1);
    let reach = (3.0 * sigma).ceil() as usize;
    let moves: Vec<[f32; 2]> = (0..places.len())
        .map(|t| {
            if let Some(own) = found[t] {
                return own;
            }
            let before = clicks.iter().rev().find(|c| c.0 <= t).map_or(0, |c| c.0);
            let after = clicks
                .iter()
                .find(|c| c.0 >= t)
                .map_or(places.len() - 1, |c| c.0);
            let near = t.saturating_sub(reach).max(before)..=(t + reach).min(after);
            let (mut sum, mut total) = ([0.0; 2], options.reluctance.max(1e-3));
            for (s, by) in near.filter_map(|s| found[s].map(|by| (s, by))) {
                let weight = (-0.5 * (s.abs_diff(t) as f32 / sigma).powi(2)).exp();
                sum = [sum[0] + weight * by[0], sum[1] + weight * by[1]];
                total += weight;
            }
            sum.map(|v| v / total)
        })
        .collect();
    for ((place, by), found) in places.iter_mut().zip(moves).zip(found) {
        if place.evidence.fit.is_some() && place.evidence.frames > 0 {
            place.evidence.settled = found.is_some();
            place.at = [place.at[0] + by[0], place.at[1] + by[1]];
        }
    }
}
