//! The two passes over a clip that gather every trace's candidates: forwards with peaks and dense flow, then backwards with
//! the costs of all steps. At most two frames are ready at a time.

use std::ops::ControlFlow;

use super::candidates::{Candidate, Looks, carry, steps, union};
use super::clip::Prepared;
use super::descriptor::{Look, Template, Turns};
use super::flow::Flow;
use super::peaks::{Binned, Palette, Sought};
use super::seen::Seen;
use super::solve::Found;
use super::steps::{Follower, Pair};
use super::{TraceError, TraceOptions};
use crate::progress::Progress;

/// A trace while its candidates are gathered.
struct Gathering<'a> {
    clicks: &'a [(usize, [f32; 2])],
    plain: Vec<bool>,
    templates: Vec<Template>,
    sought: Vec<Sought>,
    peaks: Vec<Vec<Candidate>>,
    forward: Vec<Vec<Candidate>>,
    backward: Vec<Candidate>,
    found: Vec<Found>,
    follower: Follower<'a>,
}

/// What was gathered for one trace.
pub(crate) struct Gathered {
    /// Whether nothing tells a click's place from what is around it, for each click.
    pub(crate) plain: Vec<bool>,
    /// The candidates of each frame.
    pub(crate) found: Vec<Found>,
}

/// What is gathered for each list of clicks (frame and place, by frame).
pub(crate) fn gather(
    clip: Seen<'_>,
    traces: &[Vec<(usize, [f32; 2])>],
    options: &TraceOptions,
    progress: &mut Progress<'_>,
) -> Result<Vec<Gathered>, TraceError> {
    let turns = Turns::new(&options.look);
    let mut all: Vec<Gathering<'_>> = traces
        .iter()
        .map(|clicks| Gathering::new(clip, clicks, &turns, options))
        .collect::<Result<_, _>>()?;
    let n = clip.len();
    let mut report = |done: usize| match progress(done as f32 / (2 * n) as f32) {
        ControlFlow::Break(()) => Err(TraceError::Stopped),
        ControlFlow::Continue(()) => Ok(()),
    };
    let mut palette = Palette::new();
    let mut flows: Vec<[Flow; 2]> = Vec::with_capacity(n);
    let (mut frame, mut other) = (clip.blank(), clip.blank());
    for t in 0..n {
        report(t)?;
        std::mem::swap(&mut frame, &mut other);
        clip.prepare(t, &mut frame)?;
        if t > 0 {
            flows.push([
                Flow::between(&other.pyramid, &frame.pyramid),
                Flow::between(&frame.pyramid, &other.pyramid),
            ]);
        }
        let pair = flows.last().map(|flows| Pair {
            from: &other,
            to: &frame,
            forth: &flows[0],
            back: &flows[1],
        });
        let binned = Binned::new(&frame, &mut palette);
        for g in &mut all {
            g.forwards(
                t,
                &frame,
                pair.as_ref(),
                (&binned, &palette),
                &turns,
                options,
            );
        }
    }
    for t in (0..n).rev() {
        report(2 * n - 1 - t)?;
        if t + 1 < n {
            std::mem::swap(&mut frame, &mut other);
        }
        // The last two frames are still there.
        if t + 2 < n {
            clip.prepare(t, &mut frame)?;
        }
        let pair = flows.get(t).map(|flows| Pair {
            from: &frame,
            to: &other,
            forth: &flows[0],
            back: &flows[1],
        });
        for g in &mut all {
            g.backwards(t, &frame, pair.as_ref(), &turns, options);
        }
    }
    report(2 * n)?;
    Ok(all.into_iter().map(Gathering::done).collect())
}

impl<'a> Gathering<'a> {
    fn new(
        clip: Seen<'_>,
        clicks: &'a [(usize, [f32; 2])],
        turns: &Turns,
        options: &'a TraceOptions,
    ) -> Result<Self, TraceError> {
        let (mut templates, mut sought, mut plain) = (Vec::new(), Vec::new(), Vec::new());
        for &(t, at) in clicks {
            let frame = clip.prepared(t)?;
            let look = Look::at(&frame, at, turns);
            plain.push(look.is_plain(options.look.plain));
            templates.push(Template::new(&look));
            sought.push(Sought::new(&frame, at, &options.peak));
        }
        Ok(Self {
            clicks,
            plain,
            templates,
            sought,
            peaks: Vec::with_capacity(clip.len()),
            forward: Vec::with_capacity(clip.len()),
            backward: Vec::new(),
            found: Vec::with_capacity(clip.len()),
            follower: Follower::new(&options.lk),
        })
    }

    /// The click on a frame.
    fn click(&self, t: usize, options: &TraceOptions) -> Option<Candidate> {
        self.clicks
            .iter()
            .find(|(frame, _)| *frame == t)
            .map(|&(_, at)| Candidate::click(at, &options.look, &options.candidate))
    }

    /// Which clicks count on a frame: the nearest on each side; outside all of them, the two nearest.
    fn counting(&self, t: usize) -> std::ops::Range<usize> {
        let count = self.clicks.len();
        let after = self.clicks.partition_point(|(frame, _)| *frame <= t);
        let first = after.saturating_sub(1).min(count.saturating_sub(2));
        first..(first + 2).min(count)
    }

    fn forwards(
        &mut self,
        t: usize,
        frame: &Prepared,
        pair: Option<&Pair<'_>>,
        (binned, palette): (&Binned, &Palette),
        turns: &Turns,
        options: &TraceOptions,
    ) {
        // What was carried is followed also onto a click: the costs of those steps are needed.
        if let (Some(pair), Some(before)) = (pair, self.forward.last_mut()) {
            for candidate in before.iter_mut() {
                candidate.next = Some(self.follower.step(pair, candidate.at));
            }
        }
        if let Some(click) = self.click(t, options) {
            self.peaks.push(Vec::new());
            self.forward.push(vec![click]);
            return;
        }
        let counting = self.counting(t);
        let places: Vec<[f32; 2]> = self.sought[counting.clone()]
            .iter_mut()
            .flat_map(|sought| sought.peaks(binned, palette, &options.peak))
            .collect();
        let templates: Vec<&Template> = self.templates[counting].iter().collect();
        let looks = Looks {
            frame,
            turns,
            templates: &templates,
            options: &options.look,
        };
        let peaks: Vec<Candidate> = places.iter().map(|&at| looks.candidate(at)).collect();
        let before = self.forward.last().map_or(&[][..], Vec::as_slice);
        let followed = before.iter().filter_map(|c| c.next.map(|step| (*c, step)));
        let carried = carry(followed, &peaks, &looks, &options.candidate);
        self.peaks.push(peaks);
        self.forward.push(carried);
    }

    fn backwards(
        &mut self,
        t: usize,
        frame: &Prepared,
        pair: Option<&Pair<'_>>,
        turns: &Turns,
        options: &TraceOptions,
    ) {
        if let Some(pair) = pair {
            let back = pair.reversed();
            for candidate in &mut self.backward {
                candidate.before = Some(self.follower.step(&back, candidate.at));
            }
        }
        let click = self.click(t, options);
        let later = std::mem::take(&mut self.backward);
        self.backward = match click {
            Some(click) => vec![click],
            None => {
                let templates: Vec<&Template> = self.templates[self.counting(t)].iter().collect();
                let looks = Looks {
                    frame,
                    turns,
                    templates: &templates,
                    options: &options.look,
                };
                let followed = later.iter().filter_map(|c| c.before.map(|step| (*c, step)));
                carry(followed, &self.peaks[t], &looks, &options.candidate)
            }
        };
        let forward = &self.forward[t];
        let candidates = match click {
            // The sweep's own entry knows where the click goes.
            Some(_) => forward.clone(),
            None => union(forward, &self.backward, &self.peaks[t], &options.candidate),
        };
        if let (Some(pair), Some(after)) = (pair, self.found.last_mut()) {
            let both = (&candidates[..], &after.candidates[..]);
            after.from_before = costs(pair, both, &later, &mut self.follower, options);
        }
        self.found.push(Found {
            candidates,
            from_before: Vec::new(),
        });
    }

    fn done(mut self) -> Gathered {
        self.found.reverse();
        Gathered {
            plain: self.plain,
            found: self.found,
        }
    }
}

/// The cost of each step between two frames, row by row; `swept` are those of the later frame whose way back is known.
fn costs(
    pair: &Pair<'_>,
    (earlier, later): (&[Candidate], &[Candidate]),
    swept: &[Candidate],
    follower: &mut Follower<'_>,
    options: &TraceOptions,
) -> Vec<f32> {
    let forth = steps(pair, earlier, |c| c.next, follower);
    let known = |c: &Candidate| swept.iter().find(|s| s.at == c.at).and_then(|s| s.before);
    let back = steps(&pair.reversed(), later, known, follower);
    let mut costs = Vec::with_capacity(earlier.len() * later.len());
    for (a, forth) in earlier.iter().zip(&forth) {
        for (b, back) in later.iter().zip(&back) {
            let moved = options.step.cost((a.at, *forth), (b.at, *back));
            let jump = options.hidden.jump(a.at, b.at);
            costs.push(moved.min(jump));
        }
    }
    costs
}
