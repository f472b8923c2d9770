//! The likeliest cuts of a spoken critique, by dynamic programming over the places where one is thought of.

use super::boundary::Candidate;
use super::stream::Stream;
use crate::Critic;
use crate::lexicon::Cue;

/// Longest note, in seconds.
const LONGEST: f64 = 30.0;

/// Words `from..to` of every note.
pub(super) fn pieces(
    critic: &Critic,
    stream: &Stream,
    candidates: &[Candidate],
) -> Vec<(usize, usize)> {
    if stream.words.is_empty() {
        return vec![];
    }
    let boundary = &critic.weights.source.boundary;
    let mut places = vec![0];
    let mut gains = vec![0.0];
    for candidate in candidates {
        places.push(candidate.word);
        gains.push(boundary.model.logit(&candidate.features) + boundary.shift);
    }
    places.push(stream.words.len());
    gains.push(0.0);
    let worths = Worths::new(stream);
    let mut best = vec![f64::NEG_INFINITY; places.len()];
    let mut from = vec![(0, false); places.len()];
    best[0] = 0.0;
    for end in 1..places.len() {
        for start in (0..end).rev() {
            let (a, b) = (places[start], places[end]);
            let seconds = stream.words[b - 1].t1 - stream.words[a].t0;
            if seconds > LONGEST && end - start > 1 {
                break;
            }
            let worth = worths.of(a, b) - boundary.worth;
            let note = worth >= 0.0;
            let length = if note {
                log_normal(seconds, boundary.logdur)
            } else {
                0.0
            };
            let total = best[start] + gains[end] + length;
            if total > best[end] {
                best[end] = total;
                from[end] = (start, note);
            }
        }
    }
    let mut found = vec![];
    let mut end = places.len() - 1;
    while end > 0 {
        let (start, note) = from[end];
        if note {
            found.push((places[start], places[end]));
        }
        end = start;
    }
    found.reverse();
    found
}

/// The density of the logarithm of a length, against that of the usual length.
fn log_normal(seconds: f64, (mean, deviation): (f64, f64)) -> f64 {
    let z = (seconds.max(0.1).ln() - mean) / deviation;
    -0.5 * z * z
}

/// What makes a piece worth a note, as running sums.
struct Worths {
    sums: Vec<[f64; 6]>,
}

impl Worths {
    fn new(stream: &Stream) -> Worths {
        let mut sums = vec![[0.0; 6]];
        let mut sum = [0.0; 6];
        for here in &stream.here {
            let cue = |c: Cue| f64::from(u8::from(here.cues.iter().any(|(held, _)| *held == c)));
            let some = |yes: bool| f64::from(u8::from(yes));
            let adds = [
                some(!here.traits.is_empty()),
                some(!here.principles.is_empty() && here.traits.is_empty()),
                some(!here.parts.is_empty()),
                cue(Cue::Praise),
                cue(Cue::Fix).max(cue(Cue::Request)),
                cue(Cue::Chatter),
            ];
            sum.iter_mut().zip(adds).for_each(|(s, a)| *s += a);
            sums.push(sum);
        }
        Worths { sums }
    }

    /// 1 trait + .7 principle word + .6 part + .5 praise + .4 fix - .9 chatter + .12 a word, each kind counted twice at most.
    fn of(&self, from: usize, to: usize) -> f64 {
        let held = |at: usize, most: f64| (self.sums[to][at] - self.sums[from][at]).min(most);
        let words = f64::from(u32::try_from(to - from).unwrap_or(u32::MAX)).min(8.0);
        held(0, 2.0)
            + 0.7 * held(1, 2.0)
            + 0.6 * held(2, 1.0)
            + 0.5 * held(3, 1.0)
            + 0.4 * held(4, 1.0)
            - 0.9 * held(5, 2.0)
            + 0.06 * words
    }
}
