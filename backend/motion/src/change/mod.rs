//! How much each part of each new frame truly differs from the old frame it stands for. Light, compression and shifts below
//! a pixel are not change.

mod colour;
pub mod grid;
mod judge;
mod near;
mod shape;

use std::borrow::Cow;
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::frame_map::Place;
use crate::plane::Plane;
use crate::progress::{Part, Stopped};
use crate::reel::{HEIGHT, Reel, WIDTH};
use crate::similarity::Similarity;
use crate::stats::spread;
use crate::view::{View, middle};
use colour::{Full, Meetings, Palette, Surprise, UNSURE};
use grid::cell_means;
use judge::{Signs, judge};
use shape::{LEAST_SEEN, Nearby, compare};

/// What changed in one new frame.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FrameChange {
    /// How surely something in the frame changed, 0 to 1; 0.5 or more means changed. 0 where there is nothing to compare with.
    pub value: f32,
    /// The same for each of the 16 x 9 cells of the new picture, row by row; empty where there is nothing to compare with.
    pub cells: Vec<f32>,
}

/// Frames pictures at rest, colours and meetings are taken from, at most.
const SAMPLES: (usize, usize, usize) = (41, 16, 48);

/// The change of each new frame against its place. `likeness` is that of both sets.
pub(crate) fn changes(
    old: &View<'_>,
    new: &View<'_>,
    places: &[Place],
    likeness: f32,
    part: &mut Part<'_, '_>,
) -> Result<Vec<FrameChange>, Stopped> {
    let nothing = FrameChange {
        value: 0.0,
        cells: vec![],
    };
    let mut out = vec![nothing; places.len()];
    let matched: Vec<(usize, f32)> = places
        .iter()
        .enumerate()
        .filter_map(|(i, p)| p.old.map(|f| (i, f)))
        .collect();
    let tints = Tints::of(old, new, places);
    let mut shapes = Cache::default();
    let mut classes = Cache::default();
    let mut frames = vec![];
    for &(i, f) in &matched {
        frames.push(signs(
            old,
            new,
            (i, f),
            tints.as_ref(),
            &mut shapes,
            &mut classes,
        ));
        part.step()?;
    }
    for (&(i, _), verdict) in matched.iter().zip(judge(&frames, likeness)) {
        out[i] = FrameChange {
            value: verdict.value,
            cells: verdict.cells.to_vec(),
        };
    }
    Ok(out)
}

/// Old frames worked on, kept while they may be asked for again: places never go back.
struct Cache<T>(BTreeMap<usize, T>);

impl<T> Default for Cache<T> {
    fn default() -> Self {
        Self(BTreeMap::new())
    }
}

impl<T> Cache<T> {
    /// Makes the frames that are missing, and forgets those before the first.
    fn prepare(&mut self, frames: &[usize], mut make: impl FnMut(usize) -> T) {
        if let Some(&first) = frames.first() {
            self.0 = self.0.split_off(&first);
        }
        for &j in frames {
            self.0.entry(j).or_insert_with(|| make(j));
        }
    }
}

/// A place further than this from a whole frame lies between two: a fast limb is then where neither has it.
const ON_A_FRAME: f32 = 0.05;

/// The neighbour of `here`, the frame nearest to the place `f`, towards which that lies, if it lies between the two.
fn toward(f: f32, here: usize, frames: usize) -> Option<usize> {
    let aside = f - here as f32;
    if aside.abs() <= ON_A_FRAME {
        None
    } else if aside < 0.0 {
        here.checked_sub(1)
    } else {
        Some(here + 1).filter(|&j| j < frames)
    }
}

fn signs(
    old: &View<'_>,
    new: &View<'_>,
    (i, f): (usize, f32),
    tints: Option<&Tints>,
    shapes: &mut Cache<Plane>,
    classes: &mut Cache<Vec<u8>>,
) -> Signs {
    let n = old.len();
    let here = (f.round().max(0.0) as usize).min(n - 1);
    let (before, after) = (here.saturating_sub(1), (here + 1).min(n - 1));
    let toward = toward(f, here, n);
    let mut wanted = vec![before, here, after];
    wanted.dedup();
    shapes.prepare(&wanted, |j| contrast(old.reel, j));
    let back = new.map(i).inverse();
    let way = |j: usize| old.map(j).after(&back);
    let seen = way(here).inside(WIDTH, HEIGHT);
    let moved: BTreeMap<usize, Cow<'_, Plane>> = wanted
        .iter()
        .filter_map(|&j| shapes.0.get(&j).map(|p| (j, way(j).laid(p))))
        .collect();
    let empty = Plane::filled(WIDTH, HEIGHT, 0.0);
    let plane = |j: usize| moved.get(&j).map_or(&empty, Cow::as_ref);
    let near = Nearby {
        here: plane(here),
        before: plane(before),
        after: plane(after),
        toward: toward.map(plane),
    };
    let shape = compare(&contrast(new.reel, i), &near, &seen);
    let colour = match tints {
        None => shape.residual,
        Some(tints) => {
            let mut allowed: Vec<usize> = toward.into_iter().chain([here]).collect();
            allowed.sort_unstable();
            classes.prepare(&allowed, |j| tints.old.classes(old, j));
            let moved: Vec<Cow<'_, [u8]>> = allowed
                .iter()
                .filter_map(|j| classes.0.get(j).map(|c| carried(c, &way(*j))))
                .collect();
            let moved: Vec<&[u8]> = moved.iter().map(Cow::as_ref).collect();
            let own = tints.new.classes(new, i);
            let (forth, back) = tints.surprise.compare(&own, &moved, WIDTH, HEIGHT);
            let mut colour = cell_means(&forth, &seen, LEAST_SEEN);
            for (c, b) in colour.iter_mut().zip(cell_means(&back, &seen, LEAST_SEEN)) {
                *c = c.max(b);
            }
            colour
        }
    };
    Signs {
        shape: shape.residual,
        colour,
        speed: shape.speed,
        step: shape.step,
    }
}

fn contrast(reel: &Reel, i: usize) -> Plane {
    reel.light(i).local_contrast(6.0, 12.0)
}

/// Classes laid on another picture; unsure where that leaves the first.
fn carried<'a>(classes: &'a [u8], way: &Similarity) -> Cow<'a, [u8]> {
    if *way == Similarity::IDENTITY {
        return Cow::Borrowed(classes);
    }
    let mut out = vec![UNSURE; classes.len()];
    for (y, target) in out.chunks_exact_mut(WIDTH).enumerate() {
        let row = way.row(y, WIDTH, HEIGHT);
        for (x, class) in target.iter_mut().enumerate() {
            let (px, py) = row.at(x);
            // Half a pixel more and cut: the nearest.
            let (px, py) = (px + 0.5, py + 0.5);
            if px >= 0.0 && py >= 0.0 && px < WIDTH as f32 && py < HEIGHT as f32 {
                *class = classes[py as usize * WIDTH + px as usize];
            }
        }
    }
    Cow::Owned(out)
}

fn full(reel: &Reel, i: usize) -> Full {
    Full {
        light: reel.light(i),
        colours: reel.colours(i).map(|c| c.stretched(WIDTH, HEIGHT)),
    }
}

/// One clip's picture at rest and colours.
struct Tint {
    still: Full,
    palette: Palette,
}

impl Tint {
    fn of(view: &View<'_>, frames: &[usize]) -> Option<Self> {
        let still = resting(view, frames);
        let some: Vec<(Full, Full)> = spread(frames.len(), SAMPLES.1)
            .into_iter()
            .map(|k| {
                let i = frames[k];
                (full(view.reel, i), beneath(&still, &view.map(i)))
            })
            .collect();
        Palette::of(&some).map(|palette| Self { still, palette })
    }

    fn classes(&self, view: &View<'_>, i: usize) -> Vec<u8> {
        let map = view.map(i);
        let frame = full(view.reel, i);
        if map == Similarity::IDENTITY {
            return self.palette.classes(&frame, &self.still, None);
        }
        let seen = map.inverse().inside(WIDTH, HEIGHT);
        self.palette
            .classes(&frame, &beneath(&self.still, &map), Some(&seen))
    }
}

/// The common picture at rest as frame `map` shows it.
fn beneath(still: &Full, map: &Similarity) -> Full {
    let back = map.inverse();
    Full {
        light: back.warp(&still.light),
        colours: [0, 1].map(|k| back.warp(&still.colours[k])),
    }
}

fn resting(view: &View<'_>, frames: &[usize]) -> Full {
    let some: Vec<Full> = spread(frames.len(), SAMPLES.0)
        .into_iter()
        .map(|k| {
            let map = view.map(frames[k]);
            let frame = full(view.reel, frames[k]);
            Full {
                light: map.warped(frame.light),
                colours: frame.colours.map(|c| map.warped(c)),
            }
        })
        .collect();
    Full {
        light: middle(&some.iter().map(|f| &f.light).collect::<Vec<_>>()),
        colours: [0, 1].map(|c| middle(&some.iter().map(|f| &f.colours[c]).collect::<Vec<_>>())),
    }
}

/// Colours of both clips and which usually meet.
struct Tints {
    old: Tint,
    new: Tint,
    surprise: Surprise,
}

impl Tints {
    fn of(old: &View<'_>, new: &View<'_>, places: &[Place]) -> Option<Self> {
        let sure: Vec<(usize, usize)> = places
            .iter()
            .enumerate()
            .filter(|(_, p)| p.confidence > 0.6)
            .filter_map(|(i, p)| p.old.map(|f| (i, f.round() as usize)))
            .collect();
        let (new_frames, old_frames): (Vec<usize>, Vec<usize>) = sure.iter().copied().unzip();
        if sure.is_empty() {
            return None;
        }
        let (old_tint, new_tint) = (Tint::of(old, &old_frames)?, Tint::of(new, &new_frames)?);
        let mut meetings = Meetings::none();
        for k in spread(sure.len(), SAMPLES.2) {
            let (i, j) = sure[k];
            let way = old.map(j).after(&new.map(i).inverse());
            meetings.add(
                &new_tint.classes(new, i),
                &carried(&old_tint.classes(old, j), &way),
                WIDTH,
            );
        }
        Some(Self {
            surprise: meetings.surprise(),
            old: old_tint,
            new: new_tint,
        })
    }
}
