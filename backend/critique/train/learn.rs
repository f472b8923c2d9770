//! From notes with truth to weights.

use std::collections::{BTreeMap, BTreeSet};

use critique::contract::Note;
use critique::matching::candidates::{Candidate, Thread, candidates};
use critique::matching::{Prepared, gate, pair};
use critique::note::Analysed;
use critique::scan::Scan;
use critique::tag::{self, Tags, features};
use critique::weights::{
    Boundary, Logistic, Softmax, ThresholdPair, Thresholds, Weights, WeightsSource,
};
use critique::{Critic, Lexicon};
use domain::{Kind, Principle};

use crate::data::{TuneNote, TuneShot};
use crate::fit::{Sample, fit};

/// Into so many parts wordings are split.
pub const WORDING_FOLDS: usize = 5;
/// Penalties, chosen by cross-validation.
const RIDGE_PRINCIPLE: f64 = 2.0;
const RIDGE_KIND: f64 = 2.0;
const RIDGE_PAIR: f64 = 1.0;
const RIDGE_GATE: f64 = 1.0;
/// The share of the main principle where several are named.
const MAIN: f64 = 0.8;
/// A stem rarer than this is not learned.
const LEAST: usize = 4;

/// A note with what was read in its words.
pub struct Read<'a> {
    pub note: &'a TuneNote,
    pub student: &'a str,
    pub scan: Scan,
}

/// The models of words alone.
#[derive(Clone)]
pub struct WordModels {
    pub principle: Softmax,
    pub kind: Softmax,
    pub docs: u32,
    pub df: BTreeMap<String, u32>,
}

/// Reads every note.
pub fn read<'a>(lexicon: &Lexicon, shots: &'a [TuneShot]) -> Vec<Read<'a>> {
    shots
        .iter()
        .flat_map(|shot| shot.notes().map(|note| (note, shot.student.as_str())))
        .map(|(note, student)| Read {
            note,
            student,
            scan: Scan::new(lexicon, &note.text),
        })
        .collect()
}

/// The part a wording belongs to: by order of names, so that it does not depend on anything else.
pub fn wording_folds(reads: &[Read]) -> BTreeMap<String, usize> {
    let wordings: BTreeSet<&str> = reads
        .iter()
        .map(|r| r.note.truth.wording.as_str())
        .collect();
    wordings
        .iter()
        .enumerate()
        .map(|(n, w)| ((*w).to_owned(), n % WORDING_FOLDS))
        .collect()
}

/// Learns principles, kinds and document frequencies from the notes that pass.
pub fn word_models(lexicon: &Lexicon, reads: &[Read], pass: impl Fn(&Read) -> bool) -> WordModels {
    let used: Vec<&Read> = reads.iter().filter(|r| pass(r)).collect();
    let principle: Vec<Sample> = used
        .iter()
        .filter_map(|r| principle_sample(lexicon, r))
        .collect();
    let kind: Vec<Sample> = used.iter().map(|r| kind_sample(r)).collect();
    let mut df: BTreeMap<String, u32> = BTreeMap::new();
    for read in &used {
        for stem in read.scan.stems.iter().collect::<BTreeSet<_>>() {
            *df.entry(stem.clone()).or_default() += 1;
        }
    }
    df.retain(|stem, count| *count >= 2 && !stem.bytes().any(|b| b.is_ascii_digit()));
    let names: Vec<&str> = Principle::ALL.iter().map(|p| p.as_str()).collect();
    let kinds: Vec<&str> = Kind::ALL.iter().map(|k| k.as_str()).collect();
    WordModels {
        principle: fit(&principle, &names, RIDGE_PRINCIPLE, LEAST),
        kind: fit(&kind, &kinds, RIDGE_KIND, LEAST),
        docs: u32::try_from(used.len()).unwrap_or(u32::MAX),
        df,
    }
}

fn principle_sample(lexicon: &Lexicon, read: &Read) -> Option<Sample> {
    let truth = &read.note.truth;
    let (main, others) = truth.principles.split_first()?;
    if truth.generic {
        return None;
    }
    let mut target = vec![0.0; Principle::ALL.len()];
    for other in others {
        target[*other as usize] += (1.0 - MAIN) / others.len() as f64;
    }
    target[*main as usize] += if others.is_empty() { 1.0 } else { MAIN };
    Some(Sample {
        features: features::principle(lexicon, &read.scan),
        target,
        weight: 1.0,
    })
}

fn kind_sample(read: &Read) -> Sample {
    let mut target = vec![0.0; Kind::ALL.len()];
    target[read.note.truth.kind as usize] = 1.0;
    Sample {
        features: features::kind(&read.scan),
        target,
        weight: 1.0,
    }
}

/// Weights of the given word models, with nothing learned about pairs.
pub fn blank(models: WordModels, boundary: &Boundary) -> WeightsSource {
    WeightsSource {
        version: "2".into(),
        trained_on: "tune.jsonl and transcripts.jsonl".into(),
        docs: models.docs,
        df: models.df,
        principle: models.principle,
        kind: models.kind,
        pair: Logistic {
            bias: 0.0,
            w: BTreeMap::new(),
        },
        gate: Softmax {
            classes: gate::CLASSES.map(str::to_owned).to_vec(),
            bias: vec![0.0; 4],
            w: BTreeMap::new(),
        },
        late_p_none: 0.8,
        threshold: thresholds(),
        boundary: boundary.clone(),
    }
}

/// From which score an answer is given. Where nobody tagged, links are lost sooner than they are wrong: with these, F1 by
/// cross-validation is .853 at a precision of .906 (.838 at .921 with a half throughout).
fn thresholds() -> ThresholdPair {
    ThresholdPair {
        tagged: Thresholds {
            recurs: 0.5,
            cleared: 0.5,
            reversal: 0.5,
        },
        auto: Thresholds {
            recurs: 0.35,
            cleared: 0.3,
            reversal: 0.4,
        },
    }
}

/// The tags of every note by a model that has not seen its wording, by note id.
pub type OutOfSample = BTreeMap<String, Tags>;

/// Tags every note by the model of the fold its wording was left out of.
pub fn tag_out_of_sample(
    critics: &[Critic],
    reads: &[Read],
    folds: &BTreeMap<String, usize>,
) -> OutOfSample {
    reads
        .iter()
        .map(|r| {
            let critic = &critics[folds[&r.note.truth.wording]];
            (
                r.note.id.clone(),
                tag::tags(&critic.lexicon, &critic.weights, &r.scan),
            )
        })
        .collect()
}

/// Takes a shot apart with the given tags. The scan is made anew.
pub fn prepare(critic: &Critic, shot: &TuneShot, tagged: bool, tags: &OutOfSample) -> Prepared {
    Prepared::with(&shot.shot(tagged), |note: &Note| {
        let scan = Scan::new(&critic.lexicon, &note.text);
        Analysed::new(
            &critic.lexicon,
            &critic.weights,
            note,
            &scan,
            &tags[&note.id],
        )
    })
}

/// Learns what makes two notes one matter, and then what a note is to a concern.
pub fn pair_and_gate(
    critic: &mut Critic,
    shots: &[&TuneShot],
    tags: &OutOfSample,
) -> Result<(), Box<dyn std::error::Error>> {
    let prepared: Vec<(&TuneShot, Prepared)> = [true, false]
        .iter()
        .flat_map(|tagged| {
            shots
                .iter()
                .map(|s| (*s, prepare(critic, s, *tagged, tags)))
                .collect::<Vec<_>>()
        })
        .collect();
    let mut samples = vec![];
    for (shot, prepared) in &prepared {
        pair_samples(critic, shot, prepared, &mut samples);
    }
    let fitted = fit(&samples, &["other", "same"], RIDGE_PAIR, 1);
    let mut source = critic.weights.source.clone();
    source.pair = Logistic {
        bias: crate::fit::round(fitted.bias[1] - fitted.bias[0]),
        w: fitted
            .w
            .iter()
            .map(|(name, w)| (name.clone(), crate::fit::round(w[1] - w[0])))
            .collect(),
    };
    critic.weights = Weights::new(source.clone())?;
    let mut samples = vec![];
    for (shot, prepared) in &prepared {
        gate_samples(critic, shot, prepared, &mut samples);
    }
    source.gate = fit(&samples, &gate::CLASSES, RIDGE_GATE, 1);
    critic.weights = Weights::new(source)?;
    Ok(())
}

/// The true threads before revision `index`.
pub fn true_threads(shot: &TuneShot, index: usize) -> Vec<(String, Thread)> {
    let mut threads: Vec<(String, Thread)> = vec![];
    for (r, revision) in shot.revisions[..index].iter().enumerate() {
        for (n, note) in revision.notes.iter().enumerate() {
            let truth = &note.truth;
            if truth.recurrence == "reversal"
                && let Some(old) = truth.reverses.as_ref().and_then(|id| concern_of(shot, id))
                && let Some((_, thread)) = threads.iter_mut().find(|(id, _)| *id == old)
            {
                thread.reversed = true;
                thread.closed = true;
            }
            let Some(concern) = &truth.concern else {
                continue;
            };
            let at = match threads.iter().position(|(id, _)| id == concern) {
                Some(at) => at,
                None => {
                    threads.push((concern.clone(), Thread::default()));
                    threads.len() - 1
                }
            };
            let thread = &mut threads[at].1;
            thread.last = revision.rev;
            thread.closed = truth.recurrence == "cleared";
            if truth.recurrence != "cleared" {
                thread.naming.push((r, n));
            }
        }
    }
    threads.retain(|(_, thread)| !thread.naming.is_empty());
    threads
}

fn concern_of(shot: &TuneShot, id: &str) -> Option<String> {
    shot.notes().find(|n| n.id == id)?.truth.concern.clone()
}

/// The concern a note is truly about, and the class of the gate.
fn meant(shot: &TuneShot, note: &TuneNote) -> Option<(String, usize)> {
    let class = match note.truth.recurrence.as_str() {
        "still" | "back" => 1,
        "cleared" => 2,
        "reversal" => return Some((concern_of(shot, note.truth.reverses.as_ref()?)?, 3)),
        _ => return None,
    };
    Some((note.truth.concern.clone()?, class))
}

fn pair_samples(critic: &Critic, shot: &TuneShot, prepared: &Prepared, samples: &mut Vec<Sample>) {
    for (index, revision) in shot.revisions.iter().enumerate().skip(1) {
        let threads = true_threads(shot, index);
        for (number, note) in revision.notes.iter().enumerate() {
            if note.truth.kind == Kind::Question || note.truth.archetype == "praise" {
                continue;
            }
            let meant = meant(shot, note);
            let new = prepared.note((index, number));
            for (id, thread) in threads.iter().filter(|(_, t)| !t.reversed) {
                let same = meant.as_ref().is_some_and(|(m, _)| m == id);
                // The likest of a concern's notes speaks for it; of others every note is an example.
                for at in &thread.naming {
                    let earlier = prepared.note(*at);
                    let span = prepared.maps.carry(
                        earlier.span,
                        prepared.revisions[at.0].rev,
                        revision.rev,
                    );
                    let pair = pair::features(&critic.lexicon, earlier, span, new);
                    let features = pair::NAMES
                        .iter()
                        .zip(pair.features)
                        .filter(|(_, x)| *x != 0.0);
                    samples.push(Sample {
                        features: features.map(|(n, x)| ((*n).to_owned(), x)).collect(),
                        target: if same { vec![0.0, 1.0] } else { vec![1.0, 0.0] },
                        weight: 1.0 / thread.naming.len() as f64,
                    });
                }
            }
        }
    }
}

fn gate_samples(critic: &Critic, shot: &TuneShot, prepared: &Prepared, samples: &mut Vec<Sample>) {
    for (index, revision) in shot.revisions.iter().enumerate().skip(1) {
        let (ids, threads): (Vec<String>, Vec<Thread>) =
            true_threads(shot, index).into_iter().unzip();
        for (number, note) in revision.notes.iter().enumerate() {
            let meant = meant(shot, note);
            let found: Vec<Candidate> = candidates(
                critic,
                prepared,
                &threads,
                revision.rev,
                prepared.note((index, number)),
            );
            for candidate in found {
                let class = meant
                    .as_ref()
                    .filter(|(id, _)| *id == ids[candidate.thread])
                    .map_or(0, |(_, class)| *class);
                let mut target = vec![0.0; 4];
                target[class] = 1.0;
                let features = gate::NAMES
                    .iter()
                    .zip(candidate.gate)
                    .filter(|(_, x)| *x != 0.0);
                samples.push(Sample {
                    features: features.map(|(n, x)| ((*n).to_owned(), x)).collect(),
                    target,
                    weight: 1.0,
                });
            }
        }
    }
}
