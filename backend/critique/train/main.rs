//! Learns the weights from the tune set, and measures by cross-validation how good they are.
//!
//! `train weights` writes what belongs into `weights.json`; `accuracy`, `phrasings`, `speech` and `speed` print figures; `corpus` prints
//! the texts that `speed` measures with.

#![allow(
    missing_docs,
    clippy::print_stdout,
    clippy::cast_precision_loss,
    reason = "a program for developers"
)]

mod accuracy;
mod baseline;
mod data;
mod fit;
mod learn;
mod phrasings;
mod score;
mod speech;
mod speed;

use std::error::Error;

use critique::Critic;
use critique::weights::{Boundary, Weights, WeightsSource};

fn main() -> Result<(), Box<dyn Error>> {
    let shots = data::lines(&data::folder().join("tune.jsonl"))?;
    let transcripts = data::lines(&data::folder().join("transcripts.jsonl"))?;
    let verbose = std::env::args().nth(2).as_deref() == Some("--wrong");
    match std::env::args().nth(1).as_deref() {
        Some("weights") => println!("{}", written(&weights(&shots, &transcripts)?)?),
        Some("accuracy") => {
            accuracy::print(&shots, verbose)?;
            speech::print(&mut whole(&shots, &transcripts)?, &transcripts)?;
        }
        Some("phrasings") => {
            let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("phrasings.jsonl");
            phrasings::print(&whole(&shots, &transcripts)?, &data::lines(&path)?, verbose)?;
        }
        Some("speed") => speed::print(&Critic::built_in()?, &shots, &transcripts)?,
        Some("corpus") => println!("{}", corpus(&shots)?),
        Some("speech") => speech::grid(&mut whole(&shots, &transcripts)?, &transcripts)?,
        _ => {
            return Err(
                "usage: train weights | accuracy | phrasings | speech | speed | corpus [--wrong]"
                    .into(),
            );
        }
    }
    Ok(())
}

/// The texts of the corpus and those asked for, for measuring others on the same.
fn corpus(shots: &[data::TuneShot]) -> Result<String, Box<dyn Error>> {
    let notes = speed::corpus(shots);
    let texts: Vec<&str> = notes.iter().map(|n| n.text.as_str()).collect();
    let asked: Vec<&str> = speed::asked(&notes).map(|n| n.text.as_str()).collect();
    Ok(serde_json::to_string(
        &serde_json::json!({"texts": texts, "asked": asked}),
    )?)
}

fn whole(
    shots: &[data::TuneShot],
    transcripts: &[data::Transcript],
) -> Result<Critic, Box<dyn Error>> {
    Ok(Critic {
        lexicon: data::lexicon()?,
        weights: Weights::new(weights(shots, transcripts)?)?,
    })
}

/// Everything learned from the whole tune set. The pairs and the gate see tags of models that had not seen the wording.
fn weights(
    shots: &[data::TuneShot],
    transcripts: &[data::Transcript],
) -> Result<WeightsSource, Box<dyn Error>> {
    let lexicon = data::lexicon()?;
    let boundary = speech::boundary(
        &lexicon,
        &transcripts.iter().collect::<Vec<_>>(),
        speech::SHIFT,
        speech::WORTH,
    );
    let reads = learn::read(&lexicon, shots);
    let all: Vec<&data::TuneShot> = shots.iter().collect();
    let critic = learned(&reads, &all, &boundary, |_| true)?.0;
    Ok(critic.weights.source)
}

/// Pairs and gate learned from the shots, and the tags of all notes out of sample. Words are learned from the notes that pass.
pub fn learned(
    reads: &[learn::Read],
    shots: &[&data::TuneShot],
    boundary: &Boundary,
    pass: impl Fn(&learn::Read) -> bool,
) -> Result<(Critic, learn::OutOfSample), Box<dyn Error>> {
    let folds = learn::wording_folds(reads);
    let lexicon = data::lexicon()?;
    let mut critics = vec![];
    for fold in 0..learn::WORDING_FOLDS {
        let models = learn::word_models(&lexicon, reads, |r| {
            pass(r) && folds[&r.note.truth.wording] != fold
        });
        critics.push(Critic {
            lexicon: data::lexicon()?,
            weights: Weights::new(learn::blank(models, boundary))?,
        });
    }
    let tags = learn::tag_out_of_sample(&critics, reads, &folds);
    let models = learn::word_models(&lexicon, reads, &pass);
    let mut critic = Critic {
        lexicon,
        weights: Weights::new(learn::blank(models, boundary))?,
    };
    learn::pair_and_gate(&mut critic, shots, &tags)?;
    Ok((critic, tags))
}

/// As it is written to `weights.json`: one line a feature.
fn written(source: &WeightsSource) -> Result<String, Box<dyn Error>> {
    let mut text = String::new();
    lines(&serde_json::to_value(source)?, 0, &mut text);
    Ok(text)
}

/// Objects one entry a line, everything else in one.
fn lines(value: &serde_json::Value, depth: usize, text: &mut String) {
    let Some(entries) = value.as_object() else {
        *text += &value.to_string();
        return;
    };
    *text += "{";
    for (at, (name, entry)) in entries.iter().enumerate() {
        *text += &format!(
            "{}\n{}{:?}: ",
            if at > 0 { "," } else { "" },
            " ".repeat(depth + 1),
            name
        );
        lines(entry, depth + 1, text);
    }
    *text += &format!("\n{}}}", " ".repeat(depth));
}
