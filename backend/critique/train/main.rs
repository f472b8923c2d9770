//! Learns the weights from the tune set, and measures by cross-validation how good they are.
//!
//! `train weights` writes `weights.json`; `train accuracy` prints figures.

#![allow(missing_docs, clippy::print_stdout, clippy::cast_precision_loss, reason = "a program for developers")]

mod accuracy;
mod data;
mod fit;
mod learn;
mod score;

use std::error::Error;

use critique::weights::{Weights, WeightsSource};
use critique::{Critic, Lexicon};

fn main() -> Result<(), Box<dyn Error>> {
    let shots = data::lines(&data::folder().join("tune.jsonl"))?;
    match std::env::args().nth(1).as_deref() {
        Some("weights") => println!("{}", written(&weights(&shots)?)?),
        Some("accuracy") => accuracy::print(&shots)?,
        _ => return Err("usage: train weights | train accuracy".into()),
    }
    Ok(())
}

/// Everything learned from the whole tune set. The pairs and the gate see tags of models that had not seen the wording.
fn weights(shots: &[data::TuneShot]) -> Result<WeightsSource, Box<dyn Error>> {
    let base = Weights::built_in()?.source;
    let lexicon = Lexicon::built_in()?;
    let reads = learn::read(&lexicon, shots);
    let all: Vec<&data::TuneShot> = shots.iter().collect();
    let mut critic = learned(&reads, &all, &base, |_| true)?.0;
    let words = learn::word_models(&lexicon, &reads, |_| true);
    let source = &mut critic.weights.source;
    source.principle = words.principle;
    source.kind = words.kind;
    source.version = "2".into();
    source.trained_on = "ops/train/data/tune.jsonl and transcripts.jsonl".into();
    Ok(critic.weights.source)
}

/// Pairs and gate learned from the shots, and the tags of all notes out of sample. Words are learned from the notes that pass.
pub fn learned(
    reads: &[learn::Read],
    shots: &[&data::TuneShot],
    base: &WeightsSource,
    pass: impl Fn(&learn::Read) -> bool,
) -> Result<(Critic, learn::OutOfSample), Box<dyn Error>> {
    let folds = learn::wording_folds(reads);
    let lexicon = Lexicon::built_in()?;
    let mut critics = vec![];
    for fold in 0..learn::WORDING_FOLDS {
        let models = learn::word_models(&lexicon, reads, |r| pass(r) && folds[&r.note.truth.wording] != fold);
        critics.push(Critic { lexicon: Lexicon::built_in()?, weights: Weights::new(learn::blank(models, base))? });
    }
    let tags = learn::tag_out_of_sample(&critics, reads, &folds);
    let models = learn::word_models(&lexicon, reads, &pass);
    let mut critic = Critic { lexicon, weights: Weights::new(learn::blank(models, base))? };
    learn::pair_and_gate(&mut critic, shots, &tags)?;
    Ok((critic, tags))
}

/// As it is written to `weights.json`: one line a feature.
fn written(source: &WeightsSource) -> Result<String, Box<dyn Error>> {
    Ok(serde_json::to_string(source)?)
}
