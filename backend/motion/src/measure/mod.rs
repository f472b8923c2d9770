//! Measures on traces: how much of a fault a movement shows, on which frames, how sure, and whether a revision made it better.
//!
//! [`findings`] looks through a whole recording; [`value`] answers for the frames of a note; [`compare`] for the same frames of two
//! revisions. Lengths are shares of the standing height. Values do not change when the picture is moved, when frames that stand
//! still come before, or when picture and standing height are scaled together (apart from the noise floor, which is in pixels).

mod arc;
mod ask;
mod block;
mod compare;
mod feet;
pub mod json;
mod jump;
mod kind;
mod lag;
mod limb;
mod limits;
mod noise;
mod pinned;
mod scene;
mod series;
mod settle;
mod smoothness;
mod spacing;
mod step;
mod stop;

pub use ask::{Answer, arc_kept, frames_added, held, offset, scaled};
pub use compare::{FrameMap, Told, Verdict, compare};
pub use feet::foot_skate;
pub use kind::{Measure, UnknownMeasure};
pub use lag::lag;
pub use limits::*;
pub use series::hampel;
pub use smoothness::{
    Smoothness, log_dimensionless_jerk, smoothness, spectral_arc_length, speed_by_curvature,
};

use crate::trace::Recording;
use scene::{BODY, Scene};
use series::clip;

/// Frames about a span that a measure may look at.
const AROUND: usize = 48;

/// Where a measure is asked for: a part and its frames, both ends included.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "an object with measure, part, start and end"
)]
pub struct Place {
    /// The measure.
    pub measure: Measure,
    /// The name of a trace, or `body`.
    pub part: String,
    /// First frame.
    pub start: usize,
    /// Last frame.
    pub end: usize,
}

/// A value and the deviation that the noise of its traces gives it, in the unit of its measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Value {
    /// The value.
    pub value: f64,
    /// Standard deviation under the noise of the traces.
    pub sd: f64,
}

/// Why a measure cannot tell.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CannotTell {
    /// The standing height is not known.
    #[error("the standing height is not between 1 pixel and a million")]
    NoHeight,
    /// A trace that the measure needs is absent.
    #[error("{0} is not traced")]
    NoTrace(String),
    /// The span is not in the clip.
    #[error("the clip has no frames {0} to {1}")]
    NoFrames(usize, usize),
    /// The traces are lost or guessed there.
    #[error("{0} is lost or unsure on these frames")]
    Unsure(String),
    /// Nothing there that the measure could be taken of.
    #[error("there is no movement on these frames that this can be measured on")]
    NoMove,
    /// The noise decides whether there is a value.
    #[error("the trace trembles too much for this")]
    Noise,
}

/// Evidence for a fault.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Finding {
    /// What.
    pub measure: Measure,
    /// On which trace, or `body`.
    pub part: String,
    /// First frame.
    pub start: usize,
    /// Last frame.
    pub end: usize,
    /// In `unit`; rises with the fault.
    pub value: f64,
    /// The measure's unit.
    pub unit: &'static str,
    /// 0..=1: confidence of the trace, times the chance that the value stays above the limit under the trace's noise.
    pub confidence: f64,
    /// 95th percentile of the same in clean recorded motion.
    pub clean_p95: f64,
}

/// A finding before weaker ones beside it are dropped.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Candidate {
    part: String,
    start: usize,
    end: usize,
    value: f64,
}

impl Candidate {
    fn new(part: &str, start: usize, end: usize, value: f64) -> Self {
        Self {
            part: part.to_owned(),
            start,
            end,
            value,
        }
    }
}

/// Whether a part is an end of an arm: a wrist, or a hand whose wrist is not traced.
fn is_hand(scene: &Scene, part: &str) -> bool {
    match part.split_once('.') {
        Some(("wrist", _)) => true,
        Some(("hand", side)) => !scene.tracks.contains_key(&format!("wrist.{side}")),
        _ => false,
    }
}

/// Whether a part leads movements that begin and stop: hands, head, chest and free points, but no joints between and no legs.
fn leads(scene: &Scene, part: &str) -> bool {
    let between = [
        "hip", "neck", "shoulder", "elbow", "thigh", "knee", "ankle", "toe", "hand", "wrist",
    ];
    let joint = part.split('.').next().unwrap_or(part);
    is_hand(scene, part) || !between.contains(&joint)
}

/// The limb or the trunk a part belongs to.
fn family(part: &str) -> String {
    match part.split_once('.') {
        Some(("elbow" | "wrist" | "hand", side)) => format!("arm.{side}"),
        Some(("knee" | "ankle" | "toe", side)) => format!("leg.{side}"),
        _ if matches!(part, "head" | "neck") => "head".to_owned(),
        Some(("shoulder" | "thigh", _)) => "trunk".to_owned(),
        _ if matches!(part, "hip" | "chest") => "trunk".to_owned(),
        _ => part.to_owned(),
    }
}

/// The traces a value is made of.
fn involved(scene: &Scene, place: &Place) -> Vec<String> {
    let side = place.part.split_once('.').map_or("", |(_, side)| side);
    let sided = |joints: &[&str]| joints.iter().map(|j| format!("{j}.{side}")).collect();
    let chest = ["chest", "neck", "shoulder.left", "shoulder.right"]
        .into_iter()
        .find(|part| scene.tracks.contains_key(*part))
        .unwrap_or("chest");
    match place.measure {
        Measure::InStep => step::other(&place.part).map_or_else(
            || vec![place.part.clone()],
            |other| vec![place.part.clone(), other],
        ),
        Measure::OneBlock => vec![BODY.to_owned()],
        Measure::Pinned | Measure::StillHips => vec![place.part.clone(), chest.to_owned()],
        Measure::IkLock if place.part.starts_with("knee.") => sided(&["thigh", "knee", "ankle"]),
        Measure::IkLock => sided(&["shoulder", "elbow", "wrist"]),
        _ => vec![place.part.clone()],
    }
}

/// Whether a value at a place depends on a part.
fn needed(scene: &Scene, place: &Place, part: &str) -> bool {
    let whole = place.part == BODY || place.measure == Measure::OneBlock;
    let foot = part.split_once('.').is_some_and(|(joint, side)| {
        matches!(joint, "ankle" | "toe") && place.part.ends_with(side)
    });
    let uses = |of: &String| of == part || scene::parent(of).is_some_and(|p| p == part);
    whole || foot || involved(scene, place).iter().any(uses)
}

/// The value of a measure on frames of a scene; none if there is nothing to measure.
fn value_in(scene: &Scene, place: &Place, limits: &Limits) -> Option<f64> {
    let (part, a, b) = (place.part.as_str(), place.start, place.end);
    match place.measure {
        Measure::Pop => jump::at(scene, part, a, b, &limits.jump),
        Measure::LinearStop => stop::at(scene, part, a, b, &limits.stop),
        Measure::SlowSettle => settle::at(scene, part, a, b, &limits.settle),
        Measure::StraightPath => arc::at(scene, part, a, b, &limits.arc),
        Measure::UnevenSpacing => spacing::at(scene, part, a, b, &limits.spacing),
        Measure::InStep => step::at(scene, part, a, b, &limits.step),
        Measure::OneBlock => block::at(scene, a, &limits.block),
        Measure::Pinned => pinned::at(scene, part, a, b, limits.pinned.asked),
        Measure::FootSlide => feet::slide_at(scene, part, a, b, &limits.slide),
        Measure::Stomp => feet::stomp_at(scene, part, a, b, &limits.stomp),
        Measure::HighStep => feet::lift_at(scene, part, a, b),
        Measure::IkLock => limb::at(scene, part, a, b, &limits.limb),
        Measure::StillHips => pinned::at(scene, part, a, b, limits.hips.least),
    }
    .filter(|v| v.is_finite())
}

fn candidates(scene: &Scene, measure: Measure, limits: &Limits) -> Vec<Candidate> {
    match measure {
        Measure::Pop => jump::scan(scene, &limits.jump),
        Measure::LinearStop => stop::scan(scene, &limits.stop),
        Measure::SlowSettle => settle::scan(scene, &limits.settle),
        Measure::StraightPath => arc::scan(scene, &limits.arc),
        Measure::UnevenSpacing => spacing::scan(scene, &limits.spacing),
        Measure::InStep => step::scan(scene, &limits.step),
        Measure::OneBlock => block::scan(scene, &limits.block),
        Measure::Pinned => pinned::scan_pinned(scene, &limits.pinned),
        Measure::FootSlide => feet::scan_slide(scene, &limits.slide),
        Measure::Stomp => feet::scan_stomp(scene, &limits.stomp),
        Measure::HighStep => feet::scan_lift(scene, &limits.lift),
        Measure::IkLock => limb::scan(scene, &limits.limb),
        Measure::StillHips => pinned::scan_hips(scene, &limits.hips),
    }
}

/// Checks that a place can be measured, and cuts out what is needed for it.
fn prepare(scene: &Scene, place: &Place, limits: &Limits) -> Result<(Scene, Place), CannotTell> {
    if !scene.has_height() {
        return Err(CannotTell::NoHeight);
    }
    if place.start > place.end || place.end >= scene.frames {
        return Err(CannotTell::NoFrames(place.start, place.end));
    }
    let window = |around: usize| {
        clip(
            place.start.saturating_sub(around) as isize,
            (place.end + around + 1) as isize,
            scene.frames,
        )
    };
    for part in involved(scene, place) {
        if part != BODY && !scene.tracks.contains_key(&part) {
            return Err(CannotTell::NoTrace(part));
        }
        let sure =
            scene.confidence(&part, window(limits.confidence_frames)) >= limits.least_confidence;
        if !sure {
            return Err(CannotTell::Unsure(part));
        }
    }
    let range = window(AROUND);
    let moved = Place {
        start: place.start - range.start,
        end: place.end - range.start,
        ..place.clone()
    };
    Ok((scene.cut(range, |part| needed(scene, place, part)), moved))
}

fn value_of(scene: &Scene, place: &Place, limits: &Limits) -> Result<Value, CannotTell> {
    let (scene, place) = prepare(scene, place, limits)?;
    let value = value_in(&scene, &place, limits).ok_or(CannotTell::NoMove)?;
    let runs: Vec<f64> = (0..limits.noise_runs)
        .map(|run| {
            limits
                .seed
                .wrapping_mul(0x0100_0000_01B3)
                .wrapping_add(u64::from(run))
        })
        .filter_map(|seed| {
            value_in(
                &scene.shaken(
                    seed,
                    place.start,
                    limits.noise_least_px,
                    limits.noise_most_px,
                ),
                &place,
                limits,
            )
        })
        .collect();
    if 2 * runs.len() < limits.noise_runs as usize {
        return Err(CannotTell::Noise);
    }
    let sd = series::deviation(&runs);
    Ok(Value {
        value,
        sd: if sd.is_finite() { sd } else { 0.0 },
    })
}

/// The value of a measure on the frames of a place, with its noise; or why it cannot be told.
///
/// # Errors
/// [`CannotTell`] names the trace that is missing or unsure, or says that nothing there can be measured.
pub fn value(recording: &Recording, place: &Place, limits: &Limits) -> Result<Value, CannotTell> {
    value_of(&Scene::new(recording, limits), place, limits)
}

/// The strongest candidates, none beside a stronger one of the same limb; jumps at once are one event.
fn strongest(measure: Measure, mut candidates: Vec<Candidate>, limits: &Limits) -> Vec<Candidate> {
    candidates.sort_by(|a, b| {
        b.value
            .total_cmp(&a.value)
            .then(a.start.cmp(&b.start))
            .then(a.part.cmp(&b.part))
    });
    let mut kept: Vec<(Candidate, String)> = vec![];
    for c in candidates {
        let limb = family(&c.part);
        let beside = |(k, other): &(Candidate, String)| {
            let one = *other == limb || [&k.part, &c.part].iter().any(|p| *p == BODY);
            let near = if one { 2 } else { 1 };
            (one || measure == Measure::Pop) && c.start <= k.end + near && k.start <= c.end + near
        };
        if kept.len() < limits.most_findings && !kept.iter().any(beside) {
            kept.push((c, limb));
        }
    }
    let mut kept: Vec<Candidate> = kept.into_iter().map(|(c, _)| c).collect();
    kept.sort_by(|a, b| a.start.cmp(&b.start).then(a.part.cmp(&b.part)));
    kept
}

fn finding(scene: &Scene, measure: Measure, found: Candidate, limits: &Limits) -> Option<Finding> {
    let place = Place {
        measure,
        part: found.part,
        start: found.start,
        end: found.end,
    };
    let window = clip(
        place.start.saturating_sub(limits.confidence_frames) as isize,
        (place.end + limits.confidence_frames + 1) as isize,
        scene.frames,
    );
    let seen = involved(scene, &place)
        .iter()
        .map(|p| scene.confidence(p, window.clone()))
        .fold(1.0, f64::min);
    let sure = seen >= limits.least_confidence;
    if !sure {
        return None;
    }
    let margin = found.value - limits.of(measure);
    let stays = match value_of(scene, &place, limits) {
        // The logistic curve that is nearest to the normal distribution's.
        Ok(Value { sd, .. }) if sd > 0.0 => 1.0 / (1.0 + (-1.702 * margin / sd).exp()),
        Ok(_) => 1.0,
        Err(_) => 0.5,
    };
    Some(Finding {
        measure,
        part: place.part,
        start: place.start,
        end: place.end,
        value: found.value,
        unit: measure.unit(),
        confidence: seen * stays,
        clean_p95: measure.clean_p95(),
    })
}

/// What the measures find in a recording, measure by measure, in the order of the frames.
///
/// Most measures are evidence for a note only: [`Measure::speaks_unasked`]. Traces that nobody has corrected jump where the tracker
/// jumps, so nothing that is found on them should be shown unasked.
#[must_use]
pub fn findings(recording: &Recording, limits: &Limits) -> Vec<Finding> {
    let scene = Scene::new(recording, limits);
    let found = Measure::ALL.into_iter().flat_map(|measure| {
        let strongest = strongest(measure, candidates(&scene, measure, limits), limits);
        strongest.into_iter().map(move |c| (measure, c))
    });
    found
        .filter_map(|(measure, c)| finding(&scene, measure, c, limits))
        .collect()
}

/// The way a part covers into each frame, in standing heights, as its parent carries it (an arm from the shoulder, the head from the
/// neck); not a number where it is lost, and into the first frame. None if the part is not traced.
#[must_use]
pub fn spacing(recording: &Recording, part: &str, limits: &Limits) -> Option<Vec<f64>> {
    let scene = Scene::new(recording, limits);
    let moving = scene.carried(part)?;
    Some(series::gaps(&moving.path))
}

/// Foot skate of the foot of a side (`left`, `right`) over the whole recording, % of the standing height, by [`foot_skate`] with
/// [`Limits::contact_height`]; none if neither ankle nor toe is traced.
#[must_use]
pub fn skate(recording: &Recording, side: &str, limits: &Limits) -> Option<f64> {
    feet::skate(&Scene::new(recording, limits), side, limits.contact_height)
}
