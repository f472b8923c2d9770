//! Two clips laid on each other: the frame map, and what it takes to make it.

use crate::camera::between::{Camera, between};
use crate::camera::masks::candidates;
use crate::camera::register::{Search, register};
use crate::camera::steady::{followed, steadied};
use crate::change::{FrameChange, changes};
use crate::describe::{Descriptors, describe};
use crate::frame_map::chain::{Steps, posterior};
use crate::frame_map::coarse::{BandOptions, band};
use crate::frame_map::distance::{Distances, distances};
use crate::frame_map::evidence::{evidence, stepped};
use crate::frame_map::path::places;
use crate::frame_map::{FrameMap, Place};
use crate::plane::Plane;
use crate::progress::{Part, Progress, Step, Stopped};
use crate::reel::{Reel, WIDTH};
use crate::stats::spread;
use crate::view::{HALF, View};

/// A map this unlike is tried once more with every frame laid on the middle one: a camera that shakes a little may have passed
/// for one at rest.
const POOR: f32 = 0.5;
/// A camera is preferred to the one before if mask and edges together are so much less unlike.
const BETTER: f32 = 0.02;

/// Two frames that a person has said belong together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Anchor {
    /// Frame of the new clip.
    pub new: usize,
    /// Frame of the old clip.
    pub old: usize,
}

/// What may be set about an alignment.
#[derive(Debug, Clone, PartialEq)]
pub struct AlignOptions {
    /// Frames of one clip, at most: a frame takes some 13 KB while it is compared.
    pub most_frames: usize,
    /// Clips at least this unlike have nothing in common, see [`Alignment::unlike`]: no frame has a counterpart then. Anchors
    /// overrule it.
    pub stranger: f32,
    /// Chances of the chain's steps.
    pub steps: Steps,
    /// How long clips are kept within bounds.
    pub band: BandOptions,
    /// Pairs of frames the map must pass; in rising order of both.
    pub anchors: Vec<Anchor>,
}

impl Default for AlignOptions {
    /// 8,000 frames, 0.82.
    fn default() -> Self {
        Self {
            most_frames: 8_000,
            stranger: 0.82,
            steps: Steps::default(),
            band: BandOptions::default(),
            anchors: vec![],
        }
    }
}

/// Why two clips were not aligned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AlignError {
    /// A clip has no frame.
    #[error("the {0} clip has no frames")]
    Empty(&'static str),
    /// A clip has more frames than can be compared.
    #[error("the {which} clip has {frames} frames; at most {most} can be compared")]
    TooLong {
        /// Which clip.
        which: &'static str,
        /// Its frames.
        frames: usize,
        /// Allowed frames.
        most: usize,
    },
    /// An anchor names a frame that is not there, or two anchors go against each other.
    #[error(
        "frame {new} cannot be tied to old frame {old}: anchors must rise in both clips and name frames that exist"
    )]
    Anchor {
        /// Frame of the new clip.
        new: usize,
        /// Frame of the old clip.
        old: usize,
    },
    /// The caller wished to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

/// Two clips laid on each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Alignment {
    /// For each new frame its place on the old timeline.
    pub map: FrameMap,
    /// For each new frame what changed in it.
    pub changes: Vec<FrameChange>,
    /// How the cameras lie to each other.
    pub camera: Camera,
    /// Middle smallest distance, 0 for clips that repeat each other, near 1 for clips with nothing in common.
    pub unlike: f32,
    /// Whether the two clips show nothing that belongs together; then no frame has a counterpart.
    pub nothing_in_common: bool,
}

/// Lays `new` on `old`.
pub fn align(
    old: &Reel,
    new: &Reel,
    options: &AlignOptions,
    report: &mut Progress<'_>,
) -> Result<Alignment, AlignError> {
    for (reel, which) in [(old, "old"), (new, "new")] {
        if reel.is_empty() {
            return Err(AlignError::Empty(which));
        }
        if reel.len() > options.most_frames {
            return Err(AlignError::TooLong {
                which,
                frames: reel.len(),
                most: options.most_frames,
            });
        }
    }
    let fixed = fixed_rows(options, old.len(), new.len())?;
    let all = old.len() + new.len();
    let mut part = Part::of(report, 0.0, 0.1, all);
    let old_view = steadied(old, &mut || part.step())?;
    let new_view = steadied(new, &mut || part.step())?;
    let mut camera = between(&new_view.still_light(), &old_view.still_light());
    let mut scene = Scene {
        old: old_view,
        new: new_view,
        fixed,
        options,
    };
    let mut mapped = scene.mapped(camera, &mut Part::of(report, 0.1, 0.4, all))?;
    if mapped.q >= POOR && (scene.old.rests() || scene.new.rests()) {
        let mut part = Part::of(report, 0.4, 0.42, all);
        let steady = scene.followed(&mut || part.step())?;
        let met = between(&steady.new.still_light(), &steady.old.still_light());
        let tried = steady.mapped(met, &mut Part::of(report, 0.42, 0.45, all))?;
        if tried.beats(&mapped) {
            (scene, camera, mapped) = (steady, met, tried);
        }
    }
    if camera.likeness < 0.5 && scene.old.rests() != scene.new.rests() {
        // Both cameras may have moved alike, but only one set shows it.
        let (kept, alike) = (camera, scene.resting());
        camera = between(&alike.new.still_light(), &alike.old.still_light());
        let tried = alike.mapped(camera, &mut Part::of(report, 0.45, 0.5, all))?;
        if tried.beats(&mapped) {
            (scene, mapped) = (alike, tried);
        } else {
            camera = kept;
        }
    }
    if camera.likeness >= 0.5 {
        if let Some(better) = scene.refined(&camera, &mapped.places) {
            camera = better;
            mapped = scene.mapped(camera, &mut Part::of(report, 0.5, 0.7, all))?;
        }
    } else {
        let mut part = Part::of(report, 0.5, 0.6, all * 16);
        let met = candidates(&scene.old, &scene.new, &mut || part.step())?;
        for candidate in met.iter().take(2) {
            let other = Camera {
                map: candidate.map,
                ..camera
            };
            let tried = scene.mapped(other, &mut Part::of(report, 0.6, 0.7, all * 2))?;
            if tried.beats(&mapped) {
                (mapped, camera) = (tried, other);
            }
        }
    }
    let stranger = mapped.q >= options.stranger && options.anchors.is_empty();
    if stranger {
        mapped.places.fill(Place::none(mapped.q));
    }
    let old_seen = scene.old.seen_from(camera.map);
    let mut part = Part::of(report, 0.7, 1.0, new.len());
    let changes = changes(
        &old_seen,
        &scene.new,
        &mapped.places,
        camera.likeness,
        &mut part,
    )?;
    Ok(Alignment {
        map: FrameMap {
            old_frames: old.len(),
            places: mapped.places,
        },
        changes,
        camera,
        unlike: mapped.q,
        nothing_in_common: stranger,
    })
}

fn fixed_rows(
    options: &AlignOptions,
    old: usize,
    new: usize,
) -> Result<Vec<Option<usize>>, AlignError> {
    let mut fixed = vec![None; new];
    let mut last: Option<Anchor> = None;
    for &anchor in &options.anchors {
        let rises = last.is_none_or(|l| l.new < anchor.new && l.old <= anchor.old);
        if !rises || anchor.new >= new || anchor.old >= old {
            return Err(AlignError::Anchor {
                new: anchor.new,
                old: anchor.old,
            });
        }
        fixed[anchor.new] = Some(anchor.old);
        last = Some(anchor);
    }
    Ok(fixed)
}

/// Two views and what the map is worked out under.
struct Scene<'a> {
    old: View<'a>,
    new: View<'a>,
    fixed: Vec<Option<usize>>,
    options: &'a AlignOptions,
}

/// A map under one camera.
struct Mapped {
    places: Vec<Place>,
    q: f32,
    q_each: [f32; 3],
}

impl Mapped {
    /// Whether masks and edges together are clearly less unlike than under another camera.
    fn beats(&self, other: &Self) -> bool {
        let unlike = |mapped: &Self| mapped.q_each[0] + mapped.q_each[2];
        unlike(self) <= unlike(other) - BETTER
    }
}

impl<'a> Scene<'a> {
    /// The same with both clips as they are, whatever their cameras do.
    fn resting(&self) -> Self {
        Self {
            old: View::resting(self.old.reel),
            new: View::resting(self.new.reel),
            fixed: self.fixed.clone(),
            options: self.options,
        }
    }

    /// The same with every frame of both clips laid on its middle one.
    fn followed(&self, each: &mut Step<'_>) -> Result<Self, Stopped> {
        Ok(Self {
            old: followed(self.old.reel, each)?,
            new: followed(self.new.reel, each)?,
            fixed: self.fixed.clone(),
            options: self.options,
        })
    }

    fn mapped(&self, camera: Camera, part: &mut Part<'_, '_>) -> Result<Mapped, Stopped> {
        let old = self.old.seen_from(camera.map);
        let seen = both_seen(&old, &self.new);
        let mut go = true;
        let mut each = || {
            go = go && part.step().is_ok();
            go
        };
        let old: Descriptors = describe(&old, &seen, &mut each).ok_or(Stopped)?;
        let new = describe(&self.new, &seen, &mut each).ok_or(Stopped)?;
        let band = band(
            &old,
            &new,
            &self.options.steps,
            &self.fixed,
            &self.options.band,
        );
        let distances: Distances = distances(&old, &new, &band);
        let (q, q_each) = (distances.q, distances.q_each);
        let evidence = evidence(distances, stepped(&old));
        // Descriptors of long clips are large, and nothing below asks for them.
        drop((old, new));
        let steps = self.options.steps.forgiving(evidence.forgiving);
        let posterior = posterior(&evidence.table, &steps, &self.fixed);
        let trust = 1.0 - 0.35 * evidence.poor;
        Ok(Mapped {
            places: places(&posterior, &self.fixed, trust),
            q,
            q_each,
        })
    }

    /// The camera by matched frames, if that is another.
    fn refined(&self, camera: &Camera, places: &[Place]) -> Option<Camera> {
        let sure: Vec<(usize, usize)> = places
            .iter()
            .enumerate()
            .filter(|(_, p)| p.confidence > 0.8)
            .filter_map(|(i, p)| p.old.map(|j| (i, j.round() as usize)))
            .collect();
        if sure.len() < 6 {
            return None;
        }
        let planes: Vec<(Plane, Plane)> = spread(sure.len(), 6)
            .into_iter()
            .map(|k| {
                let (i, j) = sure[k];
                (
                    self.new.light(i).local_contrast(6.0, 12.0),
                    self.old.light(j).local_contrast(6.0, 12.0),
                )
            })
            .collect();
        let pairs: Vec<(&Plane, &Plane)> = planes.iter().map(|(a, b)| (a, b)).collect();
        let map = register(&pairs, camera.map, &Search::default());
        let moved = map.distance(&camera.map) * WIDTH as f32;
        (moved > 0.7 && moved < 26.0).then_some(Camera { map, ..*camera })
    }
}

/// 1 where every frame of both clips has a pixel, else 0; all 1 if that leaves next to nothing.
fn both_seen(old: &View<'_>, new: &View<'_>) -> Plane {
    let mut seen = old.always_seen();
    for (s, n) in seen.data_mut().iter_mut().zip(new.always_seen().data()) {
        *s *= n;
    }
    let share = seen.data().iter().sum::<f32>() / seen.data().len() as f32;
    if share < 0.4 {
        return Plane::filled(HALF.0, HALF.1, 1.0);
    }
    seen
}
