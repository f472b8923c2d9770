//! The traces of a clip made ready: in standing heights, the camera's movement taken out, short gaps bridged.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::ops::Range;

use super::limits::Limits;
use super::noise::{Normal, tremor};
use super::series::{LOST, V2, bridge, mean, quantile, relative};
use crate::trace::{FARTHEST_PX, Recording, Trace};

/// The name of the trace that is subtracted from all others.
pub(crate) const CAMERA: &str = "camera";
/// The name of the whole figure.
pub(crate) const BODY: &str = "body";
pub(crate) const SIDES: [&str; 2] = ["left", "right"];
const TRUNK: [&str; 4] = ["hip", "chest", "neck", "head"];

/// One part.
#[derive(Debug, Clone)]
pub(crate) struct Track {
    /// As seen.
    pub(crate) raw: Vec<V2>,
    /// With short gaps bridged.
    pub(crate) path: Vec<V2>,
    /// Lost is 0.
    pub(crate) confidence: Vec<f64>,
    /// Tremor per axis, not below the floor.
    pub(crate) sigma: f64,
}

/// A movement to measure: places and their tremor per axis.
pub(crate) struct Moving<'a> {
    pub(crate) raw: Cow<'a, [V2]>,
    pub(crate) path: Cow<'a, [V2]>,
    pub(crate) sigma: f64,
}

#[derive(Debug, Clone)]
pub(crate) struct Scene {
    pub(crate) frames: usize,
    pub(crate) tracks: BTreeMap<String, Track>,
    /// Per side of [`SIDES`]; none where the foot is not traced.
    pub(crate) contacts: [Option<Vec<bool>>; 2],
    px: f64,
}

/// The places of a trace, in pixels; what is not sane is lost.
fn places(trace: &Trace, frames: usize) -> (Vec<V2>, Vec<f64>) {
    let seen = |f: usize| trace.get(f).copied().flatten().filter(|p| p.is_sane());
    (0..frames)
        .map(|f| seen(f).map_or((LOST, 0.0), |p| ([p.x, p.y], p.confidence)))
        .unzip()
}

impl Scene {
    pub(crate) fn new(recording: &Recording, limits: &Limits) -> Self {
        let frames = recording.frames();
        let height = recording.height_px;
        let camera = recording.traces.get(CAMERA).map(|trace| {
            let mut path = places(trace, frames).0;
            bridge(&mut path, limits.bridged_frames);
            path
        });
        let mut scene = Self {
            frames,
            tracks: BTreeMap::new(),
            contacts: [None, None],
            px: 1.0 / height,
        };
        if !scene.has_height() {
            return scene;
        }
        for (part, trace) in recording.traces.iter().filter(|(p, _)| *p != CAMERA) {
            let (mut raw, confidence) = places(trace, frames);
            for (f, place) in raw.iter_mut().enumerate() {
                let moved = camera.as_ref().map_or([0.0, 0.0], |c| c[f]);
                *place = [
                    (place[0] - moved[0]) / height,
                    (place[1] - moved[1]) / height,
                ];
            }
            let mut path = raw.clone();
            bridge(&mut path, limits.bridged_frames);
            let floor = limits.noise_floor_px / height;
            let sigma = tremor(&raw);
            let track = Track {
                raw,
                path,
                confidence,
                sigma: if sigma > floor { sigma } else { floor },
            };
            scene.tracks.insert(part.clone(), track);
        }
        scene.contacts = SIDES.map(|side| scene.contact(recording, side, limits));
        scene
    }

    /// When the foot of a side stands: as given, else estimated from its toe (or ankle), low and slow.
    fn contact(&self, recording: &Recording, side: &str, limits: &Limits) -> Option<Vec<bool>> {
        let ankle = format!("ankle.{side}");
        if let Some(given) = recording.contacts.get(&ankle) {
            let mut given = given.clone();
            given.resize(self.frames, false);
            return Some(given);
        }
        let toe = self
            .path(&format!("toe.{side}"))
            .or_else(|| self.path(&ankle))?;
        let ends = if self.tracks.keys().any(|p| p.starts_with("toe.")) {
            "toe."
        } else {
            "ankle."
        };
        let lows = self.tracks.iter().filter(|(p, _)| p.starts_with(ends));
        let floor = quantile(lows.flat_map(|(_, t)| t.path.iter().map(|p| p[1])), 0.92);
        let mut stands: Vec<bool> = (0..self.frames)
            .map(|f| {
                let (a, b) = (toe[f.saturating_sub(1)], toe[(f + 1).min(self.frames - 1)]);
                floor - toe[f][1] < limits.contact_height
                    && (b[1] - a[1]).abs() / 2.0 < limits.contact_fall
                    && (b[0] - a[0]).abs() / 2.0 < limits.contact_slide
            })
            .collect();
        for run in runs(&stands, true) {
            if run.len() < 4 {
                stands[run].fill(false);
            }
        }
        Some(stands)
    }

    pub(crate) fn path(&self, part: &str) -> Option<&[V2]> {
        self.tracks.get(part).map(|t| t.path.as_slice())
    }

    /// Whether the standing height makes sense: 1 pixel to a million.
    pub(crate) fn has_height(&self) -> bool {
        (1.0..=FARTHEST_PX).contains(&(1.0 / self.px))
    }

    /// A part in the picture; `body` is the middle of the trunk, of all parts if no trunk is traced.
    pub(crate) fn absolute(&self, part: &str) -> Option<Moving<'_>> {
        if part == BODY && !self.tracks.contains_key(BODY) {
            return self.middle();
        }
        let track = self.tracks.get(part)?;
        Some(Moving {
            raw: Cow::Borrowed(&track.raw),
            path: Cow::Borrowed(&track.path),
            sigma: track.sigma,
        })
    }

    fn middle(&self) -> Option<Moving<'_>> {
        let used = self.trunk();
        let n = used.len() as f64;
        if used.is_empty() {
            return None;
        }
        let centre = |places: &dyn Fn(&Track, usize) -> V2| -> Vec<V2> {
            (0..self.frames)
                .map(|f| {
                    let sum = used
                        .iter()
                        .map(|t| places(t, f))
                        .fold([0.0, 0.0], |s, p| [s[0] + p[0], s[1] + p[1]]);
                    [sum[0] / n, sum[1] / n]
                })
                .collect()
        };
        let squares: f64 = used.iter().map(|t| t.sigma * t.sigma).sum();
        Some(Moving {
            raw: Cow::Owned(centre(&|t, f| t.raw[f])),
            path: Cow::Owned(centre(&|t, f| t.path[f])),
            sigma: squares.sqrt() / n,
        })
    }

    /// A part as its parent carries it: the arm from its shoulder, the head from the neck; otherwise, or if the parent is not traced,
    /// in the picture.
    pub(crate) fn carried(&self, part: &str) -> Option<Moving<'_>> {
        let Some(parent) = parent(part) else {
            return self.absolute(part);
        };
        let (Some(track), Some(root)) = (self.tracks.get(part), self.tracks.get(&parent)) else {
            return self.absolute(part);
        };
        Some(Moving {
            raw: Cow::Owned(relative(&track.raw, &root.raw)),
            path: Cow::Owned(relative(&track.path, &root.path)),
            sigma: track.sigma.hypot(root.sigma),
        })
    }

    /// The chest, or what is traced nearest to it.
    pub(crate) fn chest(&self) -> Option<Moving<'_>> {
        let known = |part: &&str| self.tracks.contains_key(*part);
        let part = ["chest", "neck", "shoulder.left", "shoulder.right"]
            .into_iter()
            .find(known)?;
        self.absolute(part)
    }

    /// Mean confidence of a part over frames, lost frames being 0; of `body`, that of the parts it is the middle of.
    pub(crate) fn confidence(&self, part: &str, frames: Range<usize>) -> f64 {
        let of = |track: &Track| mean(track.confidence[frames.clone()].iter().copied());
        match self.tracks.get(part) {
            Some(track) => of(track),
            None if part == BODY => mean(self.trunk().into_iter().map(of)),
            None => 0.0,
        }
    }

    /// The parts that `body` is the middle of.
    fn trunk(&self) -> Vec<&Track> {
        let trunk: Vec<&Track> = TRUNK.iter().filter_map(|p| self.tracks.get(*p)).collect();
        if trunk.is_empty() {
            self.tracks.values().collect()
        } else {
            trunk
        }
    }

    /// The scene of some of its frames and parts.
    pub(crate) fn cut(&self, frames: Range<usize>, keep: impl Fn(&str) -> bool) -> Self {
        let kept = self.tracks.iter().filter(|(part, _)| keep(part));
        let tracks = kept.map(|(part, t)| {
            let track = Track {
                raw: t.raw[frames.clone()].to_vec(),
                path: t.path[frames.clone()].to_vec(),
                confidence: t.confidence[frames.clone()].to_vec(),
                sigma: t.sigma,
            };
            (part.clone(), track)
        });
        Self {
            frames: frames.len(),
            tracks: tracks.collect(),
            contacts: self
                .contacts
                .each_ref()
                .map(|c| c.as_ref().map(|c| c[frames.clone()].to_vec())),
            px: self.px,
        }
    }

    /// The scene with every place moved by normal noise as strong as its trace's own, within `least..=most` pixels.
    ///
    /// Noise is drawn from frame `from` outwards, so that what lies far before it does not change what is drawn.
    pub(crate) fn shaken(&self, seed: u64, from: usize, least: f64, most: f64) -> Self {
        let mut shaken = self.clone();
        for (track, stream) in shaken.tracks.values_mut().zip(0_u64..) {
            let mut normal = Normal::new(seed ^ stream.wrapping_mul(0x9E37_79B9_7F4A_7C15));
            let sigma = track.sigma.max(least * self.px).min(most * self.px);
            for f in (from..self.frames).chain((0..from.min(self.frames)).rev()) {
                let by = [sigma * normal.draw(), sigma * normal.draw()];
                for place in [&mut track.raw[f], &mut track.path[f]] {
                    *place = [place[0] + by[0], place[1] + by[1]];
                }
            }
        }
        shaken
    }
}

/// The part that carries a part.
pub(crate) fn parent(part: &str) -> Option<String> {
    match part.split_once('.') {
        Some(("elbow" | "wrist" | "hand", side)) => Some(format!("shoulder.{side}")),
        _ => (part == "head").then(|| "neck".to_owned()),
    }
}

/// The runs of `wanted` in a row of flags.
pub(crate) fn runs(flags: &[bool], wanted: bool) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = vec![];
    for (f, _) in flags
        .iter()
        .enumerate()
        .filter(|(_, flag)| **flag == wanted)
    {
        match out.last_mut() {
            Some(run) if run.end == f => run.end = f + 1,
            _ => out.push(f..f + 1),
        }
    }
    out
}
