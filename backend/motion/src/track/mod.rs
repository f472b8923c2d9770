//! Following a part of the figure through a clip from one or more clicks.
//!
//! Not frame by frame: candidates are gathered on every frame ([`candidates`]), and the best path over all frames through all
//! clicks is found at once ([`lattice`]), which may leave the candidates where the part is hidden. All paths together say how
//! sure each place is. Where it is not sure, the trace has a gap.
//!
//! Lengths of the options are pixels at a longer side of 640, the size [`Clip`] brings frames to. A part so large that its
//! middle shows nothing within reach of a click is followed at half or a quarter of that size.
//!
//! Limits, as measured on rendered clips: limbs without texture slide along themselves, left and right may swap where they
//! cross, moves of more than 20 px a frame are often lost. A wrong path can still look like one: use the confidence.

mod candidates;
mod carry;
mod clip;
mod descriptor;
mod flow;
mod lattice;
pub mod lk;
pub mod ncc;
mod peaks;
mod pyramid;
mod score;
mod seen;
mod settle;
mod shelf;
mod solve;
mod spline;
mod steps;
mod sweep;
mod trace;

#[cfg(test)]
mod reference_tests;

pub use candidates::CandidateOptions;
pub use carry::{Carried, CarryOptions, carry};
pub use clip::Clip;
pub use descriptor::LookOptions;
pub use lattice::HiddenOptions;
pub use peaks::PeakOptions;
pub use pyramid::Pyramid;
pub use score::{FitOptions, StepOptions, SureOptions};
pub use settle::SettleOptions;
pub use shelf::{InMemory, Shelf};
pub use trace::{Click, Trace, TraceError, TracePoint};

use crate::progress::Progress;
use descriptor::{Look, Turns};
use seen::Seen;
use solve::Place;

/// Every tolerance of tracing.
#[derive(Debug, Clone, PartialEq)]
pub struct TraceOptions {
    /// Following points from frame to frame. Defaults as those of [`lk::LkOptions`], but `focus_px` is 6: what lies behind the
    /// part moves otherwise.
    pub lk: lk::LkOptions,
    /// Comparing surroundings.
    pub look: LookOptions,
    /// Finding places that look like a click.
    pub peak: PeakOptions,
    /// Which candidates are kept.
    pub candidate: CandidateOptions,
    /// How well candidates fit.
    pub fit: FitOptions,
    /// What steps cost.
    pub step: StepOptions,
    /// What being hidden costs.
    pub hidden: HiddenOptions,
    /// How sure places are.
    pub sure: SureOptions,
    /// Taking out drift.
    pub settle: SettleOptions,
}

impl Default for TraceOptions {
    fn default() -> Self {
        Self {
            lk: lk::LkOptions {
                focus_px: 6.0,
                ..lk::LkOptions::default()
            },
            look: LookOptions::default(),
            peak: PeakOptions::default(),
            candidate: CandidateOptions::default(),
            fit: FitOptions::default(),
            step: StepOptions::default(),
            hidden: HiddenOptions::default(),
            sure: SureOptions::default(),
            settle: SettleOptions::default(),
        }
    }
}

/// Follows several parts through `clip` in one pass, one for each list of clicks (in any order, each at least one).
///
/// `progress` is told the share done, 0 to 1, some hundred times; returning `Break` stops the work.
///
/// Time O(frames * (pixels + traces * candidates * (window² + candidates * longest hidden way))); memory beside the clip's
/// O(frames * traces * candidates²), some 25 KB a frame and trace, and 30 KB a frame.
///
/// # Errors
/// [`TraceError`]: what is wrong with the clicks, or that it was stopped.
pub fn trace(
    clip: &Clip,
    traces: &[Vec<Click>],
    options: &TraceOptions,
    progress: &mut Progress<'_>,
) -> Result<Vec<Trace>, TraceError> {
    let sorted: Vec<Vec<Click>> = traces
        .iter()
        .map(|clicks| checked(clip, clicks))
        .collect::<Result<_, _>>()?;
    let mut halvings = Vec::with_capacity(sorted.len());
    for clicks in &sorted {
        halvings.push(halvings_for(clip, clicks, &options.look)?);
    }
    let sizes: Vec<usize> = (0..=HALVINGS).filter(|h| halvings.contains(h)).collect();
    let mut traces: Vec<Option<Trace>> = vec![None; sorted.len()];
    for (done, &size) in sizes.iter().enumerate() {
        let of_size: Vec<usize> = (0..sorted.len()).filter(|&k| halvings[k] == size).collect();
        let clicks: Vec<&[Click]> = of_size.iter().map(|&k| sorted[k].as_slice()).collect();
        let seen = Seen {
            clip,
            halvings: size,
        };
        let share = |part: f32| (done as f32 + part) / sizes.len() as f32;
        let found = followed(seen, &clicks, options, &mut |part| progress(share(part)))?;
        for (k, trace) in of_size.into_iter().zip(found) {
            traces[k] = Some(trace);
        }
    }
    Ok(traces.into_iter().flatten().collect())
}

/// How often the work size may be halved for a part.
const HALVINGS: usize = 2;

/// How often the work size is halved to follow these clicks: until each has something around it that tells its place.
fn halvings_for(clip: &Clip, clicks: &[Click], look: &LookOptions) -> Result<usize, TraceError> {
    let turns = Turns::new(look);
    for halvings in 0..HALVINGS {
        let seen = Seen { clip, halvings };
        let mut clear = true;
        for click in clicks {
            let frame = seen.prepared(click.frame)?;
            clear &= Look::at(&frame, seen.place([click.x, click.y]), &turns).stands_out(look);
        }
        if clear {
            return Ok(halvings);
        }
    }
    Ok(HALVINGS)
}

/// Follows parts through a clip at one size.
fn followed(
    clip: Seen<'_>,
    sorted: &[&[Click]],
    options: &TraceOptions,
    progress: &mut Progress<'_>,
) -> Result<Vec<Trace>, TraceError> {
    let placed: Vec<Vec<(usize, [f32; 2])>> = sorted
        .iter()
        .map(|clicks| {
            clicks
                .iter()
                .map(|c| (c.frame, clip.place([c.x, c.y])))
                .collect()
        })
        .collect();
    let gathered = sweep::gather(clip, &placed, options, progress)?;
    let (plain, found): (Vec<_>, Vec<_>) = gathered.into_iter().map(|g| (g.plain, g.found)).unzip();
    let mut solved: Vec<Vec<Place>> = placed
        .iter()
        .zip(found)
        .map(|(clicks, found)| solve::solve(found, clicks, options))
        .collect();
    let mut paths: Vec<settle::Path<'_>> = placed
        .iter()
        .zip(&mut solved)
        .map(|(clicks, places)| (clicks.as_slice(), places.as_mut_slice()))
        .collect();
    settle::settle(clip, &mut paths, options)?;
    let traces = sorted.iter().zip(&plain).zip(&solved);
    Ok(traces
        .map(|((clicks, plain), places)| {
            finished(clip, clicks.to_vec(), plain, places, &options.sure)
        })
        .collect())
}

fn checked(clip: &Clip, clicks: &[Click]) -> Result<Vec<Click>, TraceError> {
    if clip.is_empty() {
        return Err(TraceError::NoFrames);
    }
    if clicks.is_empty() {
        return Err(TraceError::NoClicks);
    }
    let (width, height) = clip.shown_size();
    let mut clicks = clicks.to_vec();
    clicks.sort_by_key(|c| c.frame);
    for click in &clicks {
        let frame = click.frame;
        if frame >= clip.len() {
            let last = clip.len() - 1;
            return Err(TraceError::FrameOutside { frame, last });
        }
        let within = |v: f64, size: usize| v >= -0.5 && v <= size as f64 - 0.5;
        if !within(click.x, width) || !within(click.y, height) {
            return Err(TraceError::PointOutside {
                frame,
                width,
                height,
            });
        }
    }
    match clicks.windows(2).find(|w| w[0].frame == w[1].frame) {
        Some(w) => Err(TraceError::TwoOnOneFrame { frame: w[0].frame }),
        None => Ok(clicks),
    }
}

/// Places of the work size as a trace of the shown one; clicks exactly as set. Nothing is known next to a click in the plain.
fn finished(
    clip: Seen<'_>,
    clicks: Vec<Click>,
    plain: &[bool],
    places: &[Place],
    sure: &SureOptions,
) -> Trace {
    let nothing_to_follow = |frame: usize| {
        let nearest = clicks.iter().zip(plain);
        let nearest = nearest.min_by_key(|(click, _)| click.frame.abs_diff(frame));
        nearest.is_some_and(|(click, plain)| *plain && click.frame != frame)
    };
    let mut points: Vec<TracePoint> = places
        .iter()
        .enumerate()
        .map(|(frame, place)| {
            let [x, y] = clip.shown(place.at);
            let blind = nothing_to_follow(frame);
            let confidence = if blind {
                0.0
            } else {
                sure.confidence(&place.evidence)
            };
            TracePoint {
                x,
                y,
                confidence: f64::from(confidence),
                lost: blind || place.evidence.fit.is_none() || confidence < sure.lost_below,
            }
        })
        .collect();
    for click in &clicks {
        points[click.frame].x = click.x;
        points[click.frame].y = click.y;
    }
    Trace { clicks, points }
}
