//! What stands in a text, word by word: faults, principles, directions, turns of phrase, parts and requests.

mod asks;
mod parts;
mod polarity;

use domain::Principle;
use domain::ask::Ask;

use crate::lexicon::phrase::Found;
use crate::lexicon::{Cue, Lexicon, Meaning, TraitId};
use crate::words::{Token, stem, tokens};
pub use parts::SaidPart;
pub use polarity::{Light, Polarity};

/// Everything found in one text.
pub struct Scan {
    /// The words, spelling mended.
    pub tokens: Vec<Token>,
    /// The stem of each word.
    pub stems: Vec<String>,
    /// Faults.
    pub traits: Vec<Found<TraitId>>,
    /// Principles named outright.
    pub principles: Vec<Found<Principle>>,
    /// Axis and way.
    pub directions: Vec<Found<(usize, i8)>>,
    /// Turns of phrase.
    pub cues: Vec<Found<Cue>>,
    /// Things a shot should have.
    pub qualities: Vec<Found<()>>,
    /// Parts in order of weight, each once.
    pub parts: Vec<SaidPart>,
    /// Parts in the order in which they are said, each time.
    pub parts_in_order: Vec<SaidPart>,
    /// Measurable requests.
    pub asks: Vec<Ask>,
    /// Which finds are denied, wished for, gone.
    pub polarity: Polarity,
    /// Whether there is a question mark.
    pub asks_back: bool,
    /// Whether there is an exclamation mark.
    pub exclaims: bool,
}

impl Scan {
    /// Reads a text.
    pub fn new(lexicon: &Lexicon, text: &str) -> Scan {
        let mut scan = Scan::of_tokens(lexicon, tokens(text));
        scan.asks_back = text.contains(['?', '\u{61f}']);
        scan.exclaims = text.contains('!');
        scan
    }

    /// Reads words that were already split.
    pub fn of_tokens(lexicon: &Lexicon, mut tokens: Vec<Token>) -> Scan {
        for token in &mut tokens {
            if let Some(meant) = lexicon.spelling.mend(&token.text) {
                token.text = meant;
            }
        }
        let numbers: Vec<Option<f64>> = (0..tokens.len())
            .map(|at| number(lexicon, &tokens, at))
            .collect();
        let mut finds = Finds::default();
        for found in lexicon
            .phrases
            .find(&tokens, &numbers)
            .into_iter()
            .flatten()
        {
            finds.sort_in(found);
        }
        asks::drop_amounts(lexicon, &finds.asks, &mut finds.traits);
        let polarity = Polarity::new(&tokens, &finds.cues, &finds.traits, &finds.qualities);
        let parts_in_order = parts::said(lexicon, &tokens, &finds.traits, &finds.cues);
        Scan {
            stems: tokens.iter().map(|t| stem(&t.text)).collect(),
            asks: asks::read(lexicon, &finds.asks),
            traits: finds.traits,
            principles: finds.principles,
            directions: finds.directions,
            cues: finds.cues,
            qualities: finds.qualities,
            parts: parts::merged(&parts_in_order),
            parts_in_order,
            polarity,
            tokens,
            asks_back: false,
            exclaims: false,
        }
    }

    /// How often a turn of phrase stands there, at most three.
    pub fn cue(&self, cue: Cue) -> f64 {
        self.cues
            .iter()
            .filter(|f| f.meaning == cue)
            .map(Found::weight)
            .sum::<f64>()
            .min(3.0)
    }

    /// Whether a turn of phrase stands there.
    pub fn has(&self, cue: Cue) -> bool {
        self.cues.iter().any(|f| f.meaning == cue)
    }
}

#[derive(Default)]
struct Finds {
    traits: Vec<Found<TraitId>>,
    principles: Vec<Found<Principle>>,
    directions: Vec<Found<(usize, i8)>>,
    cues: Vec<Found<Cue>>,
    qualities: Vec<Found<()>>,
    asks: Vec<Found<(usize, f64)>>,
}

impl Finds {
    fn sort_in(&mut self, found: Found<Meaning>) {
        match found.meaning {
            Meaning::Trait(id) => self.traits.push(with(found, id)),
            Meaning::Principle(principle) => self.principles.push(with(found, principle)),
            Meaning::Direction(axis, way) => self.directions.push(with(found, (axis, way))),
            Meaning::Cue(cue) => self.cues.push(with(found, cue)),
            Meaning::Quality => self.qualities.push(with(found, ())),
            Meaning::Ask(number, sign) => self.asks.push(with(found, (number, sign))),
        }
    }
}

fn with<A, B>(found: Found<A>, meaning: B) -> Found<B> {
    Found {
        meaning,
        start: found.start,
        end: found.end,
        words: found.words,
        number: found.number,
    }
}

/// The number a word says. "one" and "a" count only before what can be counted.
fn number(lexicon: &Lexicon, tokens: &[Token], at: usize) -> Option<f64> {
    let word = tokens[at].text.as_str();
    if word.bytes().all(|b| b.is_ascii_digit()) {
        return (word.len() <= 4).then(|| word.parse().ok()).flatten();
    }
    let value = lexicon.number_word(word)?;
    if matches!(word, "one" | "a" | "an") {
        let next = tokens.get(at + 1)?.text.as_str();
        let counted = matches!(
            next,
            "frame"
                | "frames"
                | "more"
                | "extra"
                | "additional"
                | "fewer"
                | "less"
                | "drawing"
                | "percent"
        );
        return counted.then_some(value);
    }
    Some(value)
}
