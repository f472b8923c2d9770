//! Before and after: whether a revision made a measure better, against the noise of both.

use super::scene::Scene;
use super::{CannotTell, Limits, Place, Value, value_of};
use crate::trace::Recording;

/// For every frame of the earlier revision its counterpart in the later one, or none.
pub type FrameMap = Vec<Option<usize>>;

/// How a measure changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The fault is weaker.
    Better,
    /// The fault is stronger.
    Worse,
    /// No difference worth telling, and none hidden by noise.
    Same,
    /// The noise, the traces or the frame map do not allow to tell.
    CannotTell,
}

/// A verdict and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// The verdict.
    pub verdict: Verdict,
    /// The earlier value, if there is one.
    pub before: Option<f64>,
    /// The later value, if there is one.
    pub after: Option<f64>,
    /// Deviation of the difference under the noise of both, if both could be measured.
    pub sd: Option<f64>,
    /// The reason in words.
    pub why: String,
    /// First and last frame that were measured in the later revision; none if the frames are not in it.
    pub frames: Option<(usize, usize)>,
}

/// The frames of the later revision: from the first to the last counterpart. Without a map the frames are the same.
fn carry(place: &Place, map: Option<&FrameMap>) -> Option<(usize, usize)> {
    let Some(map) = map else {
        return Some((place.start, place.end));
    };
    let span = map.get(place.start..=place.end.min(map.len().checked_sub(1)?))?;
    let counterparts = || span.iter().copied().flatten();
    Some((counterparts().min()?, counterparts().max()?))
}

fn judge(place: &Place, before: Value, after: Value, limits: &Limits) -> (Verdict, f64, String) {
    let change = after.value - before.value;
    let sd = before.sd.hypot(after.sd);
    let least = limits
        .smallest_change
        .get(&place.measure)
        .copied()
        .unwrap_or(0.0);
    let unit = place.measure.unit();
    if change.abs() < least {
        if sd < least {
            return (
                Verdict::Same,
                sd,
                format!(
                    "a change of {change:+.3} {unit} is less than {least}, the smallest worth telling"
                ),
            );
        }
        return (
            Verdict::CannotTell,
            sd,
            format!("the noise, ±{sd:.3} {unit}, hides changes of {least}"),
        );
    }
    if change.abs() < limits.certainty * sd {
        return (
            Verdict::CannotTell,
            sd,
            format!("a change of {change:+.3} {unit} is within the noise of both, ±{sd:.3}"),
        );
    }
    let verdict = if change < 0.0 {
        Verdict::Better
    } else {
        Verdict::Worse
    };
    (
        verdict,
        sd,
        format!("a change of {change:+.3} {unit} against a noise of ±{sd:.3}"),
    )
}

fn cannot_tell(
    before: Option<f64>,
    after: Option<f64>,
    why: String,
    frames: Option<(usize, usize)>,
) -> Told {
    Told {
        verdict: Verdict::CannotTell,
        before,
        after,
        sd: None,
        why,
        frames,
    }
}

fn told(scenes: &[Scene; 2], place: &Place, map: Option<&FrameMap>, limits: &Limits) -> Told {
    let before = value_of(&scenes[0], place, limits);
    let known = |v: &Result<Value, CannotTell>| v.as_ref().ok().map(|v| v.value);
    let Some((start, end)) = carry(place, map) else {
        return cannot_tell(
            known(&before),
            None,
            "these frames have no counterpart in the later revision".to_owned(),
            None,
        );
    };
    let carried = Place {
        start,
        end,
        ..place.clone()
    };
    let after = value_of(&scenes[1], &carried, limits);
    let frames = Some((start, end));
    match (&before, &after) {
        (Ok(earlier), Ok(later)) => {
            let (verdict, sd, why) = judge(place, *earlier, *later, limits);
            Told {
                verdict,
                before: Some(earlier.value),
                after: Some(later.value),
                sd: Some(sd),
                why,
                frames,
            }
        }
        (Err(reason), _) => cannot_tell(None, known(&after), format!("before: {reason}"), frames),
        (_, Err(reason)) => cannot_tell(known(&before), None, format!("after: {reason}"), frames),
    }
}

/// For each place of the earlier revision, whether the later one is better there.
///
/// Each value is repeated with noise as strong as that of its traces, from [`Limits::seed`]. A difference below the smallest worth
/// telling is [`Verdict::Same`] if the noise is below it too; a larger one is told if it exceeds [`Limits::certainty`] deviations.
#[must_use]
pub fn compare(
    before: &Recording,
    after: &Recording,
    map: Option<&FrameMap>,
    places: &[Place],
    limits: &Limits,
) -> Vec<Told> {
    let scenes = [before, after].map(|r| Scene::new(r, limits));
    places
        .iter()
        .map(|place| told(&scenes, place, map, limits))
        .collect()
}
