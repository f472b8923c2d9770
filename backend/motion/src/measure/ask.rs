//! Asks checked: whether a revision does what a note asked for in numbers.

use super::compare::FrameMap;
use super::limits::Limits;
use super::scene::{Moving, Scene};
use super::series::{V2, clip, dot, gaps, mean, norm, quantile, sub};
use super::{CannotTell, lag};
use crate::trace::Recording;

/// What was asked, what was done, and whether that is near enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Answer {
    /// What was asked for, in the unit of the ask.
    pub wanted: f64,
    /// What was measured.
    pub measured: f64,
    /// Whether they differ by at most the tolerance.
    pub met: bool,
}

impl Answer {
    fn new(wanted: f64, measured: f64, tolerance: f64) -> Self {
        Self {
            wanted,
            measured,
            met: (measured - wanted).abs() <= tolerance,
        }
    }
}

/// Frames, both ends included.
type Span = (usize, usize);

fn moving<'a>(
    scene: &'a Scene,
    part: &str,
    span: Span,
    limits: &Limits,
) -> Result<Moving<'a>, CannotTell> {
    if !scene.has_height() {
        return Err(CannotTell::NoHeight);
    }
    if span.0 > span.1 || span.1 >= scene.frames {
        return Err(CannotTell::NoFrames(span.0, span.1));
    }
    let moving = scene
        .carried(part)
        .ok_or_else(|| CannotTell::NoTrace(part.to_owned()))?;
    let sure = scene.confidence(part, span.0..span.1 + 1) >= limits.least_confidence;
    if !sure {
        return Err(CannotTell::Unsure(part.to_owned()));
    }
    Ok(moving)
}

fn seen(path: &[V2], span: Span) -> Vec<V2> {
    let frames = &path[clip(span.0 as isize, span.1 as isize + 1, path.len())];
    frames
        .iter()
        .copied()
        .filter(|p| p[0].is_finite())
        .collect()
}

/// The direction of the largest spread.
fn main_axis(places: &[V2]) -> V2 {
    let centre = [
        mean(places.iter().map(|p| p[0])),
        mean(places.iter().map(|p| p[1])),
    ];
    let sum = |f: &dyn Fn(V2) -> f64| places.iter().map(|p| f(sub(*p, centre))).sum::<f64>();
    let (xx, yy, xy) = (
        sum(&|d| d[0] * d[0]),
        sum(&|d| d[1] * d[1]),
        sum(&|d| d[0] * d[1]),
    );
    let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
    [angle.cos(), angle.sin()]
}

/// 5th to 95th percentile along an axis.
fn extent(places: &[V2], axis: V2) -> f64 {
    let along = || places.iter().map(|p| dot(*p, axis));
    quantile(along(), 0.95) - quantile(along(), 0.05)
}

/// Amplitude: the swing of a part (5th to 95th percentile along the main axis it had before) is `wanted` times what it was. Proposed
/// tolerance: 0.1.
///
/// # Errors
/// [`CannotTell`] if the part is lost on either span, or hardly moved before.
pub fn scaled(
    before: (&Recording, Span),
    after: (&Recording, Span),
    part: &str,
    wanted: f64,
    tolerance: f64,
    limits: &Limits,
) -> Result<Answer, CannotTell> {
    let scenes = [Scene::new(before.0, limits), Scene::new(after.0, limits)];
    let (old, new) = (
        moving(&scenes[0], part, before.1, limits)?,
        moving(&scenes[1], part, after.1, limits)?,
    );
    let (earlier, later) = (seen(&old.path, before.1), seen(&new.path, after.1));
    let axis = main_axis(&earlier);
    let was = extent(&earlier, axis);
    let moved = was > 8.0 * old.sigma;
    if !moved {
        return Err(CannotTell::NoMove);
    }
    Ok(Answer::new(wanted, extent(&later, axis) / was, tolerance))
}

/// Duration: the counterpart of the span is `wanted` frames longer (below 0: shorter). Proposed tolerance: 0.5.
///
/// # Errors
/// [`CannotTell::NoFrames`] if an end of the span has no counterpart.
pub fn frames_added(
    span: Span,
    map: &FrameMap,
    wanted: f64,
    tolerance: f64,
) -> Result<Answer, CannotTell> {
    let of = |frame: usize| {
        map.get(frame)
            .copied()
            .flatten()
            .ok_or(CannotTell::NoFrames(span.0, span.1))
    };
    let (from, to) = (of(span.0)?, of(span.1)?);
    let added = (to as f64 - from as f64) - (span.1 as f64 - span.0 as f64);
    Ok(Answer::new(wanted, added, tolerance))
}

/// Offset: on the span the speed of `later` follows that of `earlier` by `wanted` frames. Proposed tolerance: 0.5.
///
/// # Errors
/// [`CannotTell`] if a part is lost or does not move on the span.
pub fn offset(
    recording: &Recording,
    earlier: &str,
    later: &str,
    span: Span,
    wanted: f64,
    tolerance: f64,
    limits: &Limits,
) -> Result<Answer, CannotTell> {
    let scene = Scene::new(recording, limits);
    let speeds = |part: &str| -> Result<Vec<f64>, CannotTell> {
        let moving = moving(&scene, part, span, limits)?;
        let all = gaps(&moving.path);
        let speeds = all[clip(span.0 as isize, span.1 as isize + 1, all.len())].to_vec();
        let moves = mean(speeds.iter().copied()) > 3.0 * moving.sigma;
        moves.then_some(speeds).ok_or(CannotTell::NoMove)
    };
    let most = ((span.1 - span.0) / 2).min(48);
    let measured = lag(&speeds(earlier)?, &speeds(later)?, most).ok_or(CannotTell::NoMove)?;
    Ok(Answer::new(wanted, measured, tolerance))
}

/// Arc: the sagitta of the path as a share of its chord is what it was, within `tolerance` as a share of that. Proposed: 0.2.
///
/// # Errors
/// [`CannotTell`] if the part is lost on either span, or its path before was short or a line.
pub fn arc_kept(
    before: (&Recording, Span),
    after: (&Recording, Span),
    part: &str,
    tolerance: f64,
    limits: &Limits,
) -> Result<Answer, CannotTell> {
    let share = |(recording, span): (&Recording, Span)| -> Result<f64, CannotTell> {
        let scene = Scene::new(recording, limits);
        moving(&scene, part, span, limits)?;
        let moving = scene
            .absolute(part)
            .ok_or_else(|| CannotTell::NoTrace(part.to_owned()))?;
        let path = seen(&moving.path, span);
        let chord = match (path.first(), path.last()) {
            (Some(a), Some(b)) => norm(sub(*b, *a)),
            _ => 0.0,
        };
        let moved = chord > 10.0 * moving.sigma;
        if !moved {
            return Err(CannotTell::NoMove);
        }
        super::arc::sagitta(&path).ok_or(CannotTell::NoMove)
    };
    let (was, is) = (share(before)?, share(after)?);
    if was <= 0.0 {
        return Err(CannotTell::NoMove);
    }
    Ok(Answer::new(was, is, tolerance * was))
}

/// Hold: somewhere in the span the part stands for at least `wanted` frames, less `tolerance`. It stands while every place is within
/// `slack` standing heights (at least four deviations of the noise) of the middle of the hold. Proposed: tolerance 1, slack 0.01.
///
/// # Errors
/// [`CannotTell`] if the part is lost on the span.
pub fn held(
    recording: &Recording,
    part: &str,
    span: Span,
    wanted: f64,
    tolerance: f64,
    slack: f64,
    limits: &Limits,
) -> Result<Answer, CannotTell> {
    let scene = Scene::new(recording, limits);
    let moving = moving(&scene, part, span, limits)?;
    let slack = slack.max(4.0 * moving.sigma);
    let path = &moving.path[span.0..=span.1];
    let mut longest = 0;
    let mut from = 0;
    for to in 0..path.len() {
        while from <= to && !stands(&path[from..=to], slack) {
            from += 1;
        }
        longest = longest.max(to + 1 - from);
    }
    let measured = longest as f64;
    Ok(Answer {
        wanted,
        measured,
        met: measured >= wanted - tolerance,
    })
}

/// Whether the box about the places is within `slack` of its middle.
fn stands(path: &[V2], slack: f64) -> bool {
    let side = |i: usize| {
        let (low, high) = path
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| {
                (l.min(p[i]), h.max(p[i]))
            });
        high - low
    };
    path.iter().all(|p| p[0].is_finite()) && side(0).hypot(side(1)) <= 2.0 * slack
}
