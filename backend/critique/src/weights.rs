//! The learned weights: data in `weights.json`, made from the tune set by the training program.

use std::collections::{BTreeMap, HashMap};

use serde::{Deserialize, Serialize};

use crate::matching::{gate, pair};

/// Named values of one thing to be judged. Names may repeat; their values add up.
pub type Features = Vec<(String, f64)>;

/// What is wrong with the weights.
#[derive(Debug, thiserror::Error)]
pub enum WeightsError {
    /// They cannot be read.
    #[error("the weights cannot be read: {0}")]
    Json(#[from] serde_json::Error),
    /// The classes are not those of the program, or a row has another length.
    #[error("{0}: the weights do not fit the classes")]
    Shape(&'static str),
}

/// A softmax over sparse features.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Softmax {
    /// Names of the classes.
    pub classes: Vec<String>,
    /// One a class.
    pub bias: Vec<f64>,
    /// Feature to one weight a class.
    pub w: BTreeMap<String, Vec<f64>>,
}

/// A logistic regression over named features.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Logistic {
    /// The constant.
    pub bias: f64,
    /// Feature to weight.
    pub w: BTreeMap<String, f64>,
}

impl Softmax {
    /// The probability of each class.
    pub fn probabilities(&self, features: &Features) -> Vec<f64> {
        let mut logits = self.bias.clone();
        for (name, value) in features {
            if let Some(row) = self.w.get(name) {
                for (logit, weight) in logits.iter_mut().zip(row) {
                    *logit += weight * value;
                }
            }
        }
        softmax(&mut logits);
        logits
    }

    fn fits(&self, classes: usize, name: &'static str) -> Result<(), WeightsError> {
        let rows = self.w.values().all(|row| row.len() == classes);
        if rows && self.bias.len() == classes && self.classes.len() == classes {
            return Ok(());
        }
        Err(WeightsError::Shape(name))
    }
}

impl Logistic {
    /// The logarithm of the odds.
    pub fn logit(&self, features: &[(&str, f64)]) -> f64 {
        features.iter().fold(self.bias, |sum, (name, value)| {
            sum + self.w.get(*name).copied().unwrap_or(0.0) * value
        })
    }
}

fn row(weights: Option<&Vec<f64>>) -> [f64; 4] {
    let mut row = [0.0; 4];
    row.iter_mut()
        .zip(weights.into_iter().flatten())
        .for_each(|(to, from)| *to = *from);
    row
}

/// Turns logits into probabilities, in place.
pub fn softmax(logits: &mut [f64]) {
    let top = logits.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut sum = 0.0;
    for logit in logits.iter_mut() {
        *logit = (*logit - top).exp();
        sum += *logit;
    }
    for logit in logits.iter_mut() {
        *logit /= sum;
    }
}

/// The logistic function.
pub fn sigmoid(logit: f64) -> f64 {
    1.0 / (1.0 + (-logit).exp())
}

/// From which score a link is made, by what it says.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Thresholds {
    /// Still there, or back.
    pub recurs: f64,
    /// Praise that closes.
    pub cleared: f64,
    /// The opposite of an earlier ask.
    pub reversal: f64,
}

/// Thresholds for notes a mentor tagged and for bare ones.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ThresholdPair {
    /// A person clicked principles, parts or kind.
    pub tagged: Thresholds,
    /// Only words.
    pub auto: Thresholds,
}

impl ThresholdPair {
    /// From which score a class of the gate is said: 2 closes, 3 is the opposite, any other recurs.
    pub fn least(&self, tagged: bool, class: usize) -> f64 {
        let from = if tagged { &self.tagged } else { &self.auto };
        match class {
            2 => from.cleared,
            3 => from.reversal,
            _ => from.recurs,
        }
    }
}

/// Where spoken critique is cut.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Boundary {
    /// Log-odds of a cut.
    #[serde(flatten)]
    pub model: Logistic,
    /// Added to the log-odds.
    pub shift: f64,
    /// How much a piece must hold to be a note.
    pub worth: f64,
    /// Mean and deviation of the logarithm of a note's seconds.
    pub logdur: (f64, f64),
}

/// All learned weights.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct WeightsSource {
    /// Of these weights; answers carry it.
    pub version: String,
    /// What they were learned from.
    pub trained_on: String,
    /// Texts the document frequencies were counted in.
    pub docs: u32,
    /// Stem to the number of texts that hold it.
    pub df: BTreeMap<String, u32>,
    /// Principles.
    pub principle: Softmax,
    /// Kinds.
    pub kind: Softmax,
    /// Two notes on the same matter.
    pub pair: Logistic,
    /// What a note is to a concern.
    pub gate: Softmax,
    /// From which probability of "none" everywhere a note may be late.
    pub late_p_none: f64,
    /// From which score links are made.
    pub threshold: ThresholdPair,
    /// Speech.
    pub boundary: Boundary,
}

/// Weights, ready for use.
#[derive(Clone, Debug)]
pub struct Weights {
    /// As they are written.
    pub source: WeightsSource,
    idf: HashMap<String, (u32, f64)>,
    unseen: f64,
    pair: [f64; pair::COUNT],
    /// What the costly features add at most, and a little for rounding.
    pair_slack: f64,
    gate: [[f64; 4]; gate::COUNT],
}

impl Weights {
    /// The weights that come with the program.
    ///
    /// # Errors
    /// What is wrong with them; a test holds that nothing is.
    pub fn built_in() -> Result<Weights, WeightsError> {
        Weights::from_json(include_str!("../weights.json"))
    }

    /// Reads and checks weights.
    ///
    /// # Errors
    /// What is wrong with them.
    pub fn from_json(json: &str) -> Result<Weights, WeightsError> {
        Weights::new(serde_json::from_str(json)?)
    }

    /// Checks weights.
    ///
    /// # Errors
    /// What is wrong with them.
    pub fn new(source: WeightsSource) -> Result<Weights, WeightsError> {
        source
            .principle
            .fits(crate::lexicon::PRINCIPLES, "principle")?;
        source.kind.fits(domain::Kind::ALL.len(), "kind")?;
        source.gate.fits(4, "gate")?;
        let idf = |df: u32| ((1.0 + f64::from(source.docs)) / (1.0 + f64::from(df))).ln() + 1.0;
        let numbered = source
            .df
            .iter()
            .zip(0..)
            .map(|((stem, df), number)| (stem.clone(), (number, idf(*df))))
            .collect();
        let pair = pair::NAMES.map(|name| source.pair.w.get(name).copied().unwrap_or(0.0));
        let gate = gate::NAMES.map(|name| row(source.gate.w.get(name)));
        Ok(Weights {
            unseen: idf(0),
            idf: numbered,
            pair_slack: 1e-9 + pair[pair::COSTLY].iter().map(|w| w.max(0.0)).sum::<f64>(),
            pair,
            gate,
            source,
        })
    }

    /// Log-odds that two notes are about one matter, from [`pair::features`].
    pub fn pair_logit(&self, features: &[f64; pair::COUNT]) -> f64 {
        features
            .iter()
            .zip(&self.pair)
            .fold(self.source.pair.bias, |sum, (x, w)| sum + x * w)
    }

    /// The most that [`Weights::pair_logit`] can come to, whatever [`pair::COSTLY`] turns out to be.
    pub fn pair_bound(&self, outline: &pair::Outline) -> f64 {
        self.pair_logit(&outline.features) + self.pair_slack
    }

    /// Probabilities of [`gate::CLASSES`], from [`gate::features`].
    pub fn gate_odds(&self, features: &[f64; gate::COUNT]) -> [f64; 4] {
        let mut odds = row(Some(&self.source.gate.bias));
        for (x, weights) in features.iter().zip(&self.gate) {
            odds.iter_mut().zip(weights).for_each(|(o, w)| *o += x * w);
        }
        softmax(&mut odds);
        odds
    }

    /// Number and inverse document frequency of a known stem: ln((1 + N) / (1 + df)) + 1.
    pub(crate) fn idf(&self, stem: &str) -> Option<(u32, f64)> {
        self.idf.get(stem).copied()
    }

    /// Inverse document frequency of a stem that no text held.
    pub(crate) fn unseen_idf(&self) -> f64 {
        self.unseen
    }
}
