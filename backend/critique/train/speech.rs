//! Where spoken critique is cut: learned from spoken critiques with truth, and measured.

use std::collections::BTreeMap;
use std::error::Error;

use critique::contract::ListenOutput;
use critique::listen::boundary::candidates;
use critique::listen::stream::Stream;
use critique::weights::{Boundary, Logistic, Weights};
use critique::{Critic, Lexicon, listen};

use crate::data::Transcript;
use crate::fit::{Sample, fit, round};
use crate::score::Counts;

/// Penalty, and what is chosen by cross-validation.
const RIDGE: f64 = 3.0;
pub const SHIFT: f64 = 0.9;
pub const WORTH: f64 = 1.0;
/// A true begin or end belongs to the candidate within so many seconds.
const REACH: f64 = 0.8;

/// Learns the log-odds of a cut.
pub fn boundary(
    lexicon: &Lexicon,
    transcripts: &[&Transcript],
    shift: f64,
    worth: f64,
) -> Boundary {
    let mut samples = vec![];
    for transcript in transcripts {
        let stream = Stream::new(lexicon, &transcript.input);
        let found = candidates(&stream, &transcript.input);
        let mut cut = vec![false; found.len()];
        for note in &transcript.truth.notes {
            let nearest = |time: f64, at: &dyn Fn(usize) -> f64| {
                let far = |n: &usize| (at(found[*n].word) - time).abs();
                (0..found.len())
                    .min_by(|a, b| far(a).total_cmp(&far(b)))
                    .filter(|n| far(n) <= REACH)
            };
            let begin = nearest(note.t0, &|word| stream.words[word].t0);
            let end = nearest(note.t1, &|word| stream.words[word - 1].t1);
            begin.into_iter().chain(end).for_each(|n| cut[n] = true);
        }
        for (candidate, cut) in found.iter().zip(cut) {
            samples.push(Sample {
                features: candidate
                    .features
                    .iter()
                    .filter(|(_, x)| *x != 0.0)
                    .map(|(n, x)| ((*n).to_owned(), *x))
                    .collect(),
                target: if cut { vec![0.0, 1.0] } else { vec![1.0, 0.0] },
                weight: 1.0,
            });
        }
    }
    let fitted = fit(&samples, &["on", "cut"], RIDGE, 1);
    let w: BTreeMap<String, f64> = fitted
        .w
        .iter()
        .map(|(n, w)| (n.clone(), round(w[1] - w[0])))
        .collect();
    Boundary {
        model: Logistic {
            bias: round(fitted.bias[1] - fitted.bias[0]),
            w,
        },
        shift,
        worth,
        logdur: lengths(transcripts),
    }
}

fn lengths(transcripts: &[&Transcript]) -> (f64, f64) {
    let logs: Vec<f64> = transcripts
        .iter()
        .flat_map(|t| &t.truth.notes)
        .map(|n| (n.t1 - n.t0).max(0.1).ln())
        .collect();
    let mean = logs.iter().sum::<f64>() / logs.len() as f64;
    let variance = logs.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / logs.len() as f64;
    (round(mean), round(variance.sqrt()))
}

#[derive(Default)]
struct Score {
    half: Counts,
    third: Counts,
    kind: Counts,
    main: Counts,
    frames: Counts,
}

impl Score {
    fn add(&mut self, transcript: &Transcript, answer: &ListenOutput) {
        let truth = &transcript.truth.notes;
        let overlap = |a: (f64, f64), b: (f64, f64)| {
            let common = (a.1.min(b.1) - a.0.max(b.0)).max(0.0);
            common / (a.1.max(b.1) - a.0.min(b.0)).max(1e-9)
        };
        let mut pairs = vec![];
        for (i, a) in truth.iter().enumerate() {
            for (j, b) in answer.notes.iter().enumerate() {
                pairs.push((overlap((a.t0, a.t1), (b.t0, b.t1)), i, j));
            }
        }
        pairs.sort_by(|a, b| b.partial_cmp(a).unwrap_or(std::cmp::Ordering::Equal));
        let (mut used_i, mut used_j) = (vec![false; truth.len()], vec![false; answer.notes.len()]);
        for counts in [&mut self.half, &mut self.third] {
            counts.truth += truth.len() as f64;
            counts.said += answer.notes.len() as f64;
        }
        for (value, i, j) in pairs {
            if value < 0.3 || used_i[i] || used_j[j] {
                continue;
            }
            (used_i[i], used_j[j]) = (true, true);
            self.third.right += 1.0;
            self.half.right += f64::from(u8::from(value >= 0.5));
            let (a, b) = (&truth[i], &answer.notes[j]);
            self.kind.truth += 1.0;
            self.kind.right += f64::from(u8::from(a.kind == b.kind));
            self.frames.truth += 1.0;
            self.frames.right += f64::from(u8::from(b.start <= a.end && b.end >= a.start));
            if let Some(main) = a.principles.first() {
                self.main.truth += 1.0;
                self.main.right += f64::from(u8::from(b.principles.contains(main)));
            }
        }
    }
}

/// Leaves each third transcript out in turn.
fn crossed(
    critic: &mut Critic,
    transcripts: &[Transcript],
    shift: f64,
    worth: f64,
) -> Result<Score, Box<dyn Error>> {
    let mut score = Score::default();
    for held in 0..5 {
        let rest: Vec<&Transcript> = transcripts
            .iter()
            .enumerate()
            .filter(|(n, _)| n % 5 != held)
            .map(|(_, t)| t)
            .collect();
        let mut source = critic.weights.source.clone();
        source.boundary = boundary(&critic.lexicon, &rest, shift, worth);
        critic.weights = Weights::new(source)?;
        for (_, transcript) in transcripts
            .iter()
            .enumerate()
            .filter(|(n, _)| n % 5 == held)
        {
            score.add(transcript, &listen(critic, &transcript.input));
        }
    }
    Ok(score)
}

/// Figures by cross-validation.
pub fn print(critic: &mut Critic, transcripts: &[Transcript]) -> Result<(), Box<dyn Error>> {
    let score = crossed(critic, transcripts, SHIFT, WORTH)?;
    println!(
        "listen.note.recall_at_iou50\t{:.3}\tshare",
        score.half.recall()
    );
    println!(
        "listen.note.precision_at_iou50\t{:.3}\tshare",
        score.half.precision()
    );
    println!(
        "listen.note.recall_at_iou30\t{:.3}\tshare",
        score.third.recall()
    );
    println!(
        "listen.matched.frame_hit\t{:.3}\tshare",
        score.frames.recall()
    );
    println!(
        "listen.matched.kind_accuracy\t{:.3}\tshare",
        score.kind.recall()
    );
    println!(
        "listen.matched.main_principle_found\t{:.3}\tshare",
        score.main.recall()
    );
    Ok(())
}

/// How recall and precision change with the two settings.
pub fn grid(critic: &mut Critic, transcripts: &[Transcript]) -> Result<(), Box<dyn Error>> {
    for shift in [-0.5, 0.0, 0.5, 0.9, 1.4] {
        for worth in [0.8, 1.1, 1.4, 1.7, 2.0] {
            let score = crossed(critic, transcripts, shift, worth)?;
            println!(
                "{shift}\t{worth}\t{:.3}\t{:.3}\t{:.3}",
                score.half.recall(),
                score.half.precision(),
                score.half.f1()
            );
        }
    }
    Ok(())
}
