//! The words of a spoken critique in one stream, read once.

use crate::contract::ListenInput;
use crate::lexicon::{Cue, Lexicon, PRINCIPLES};
use crate::scan::Scan;
use crate::words::{Token, tokens};

/// A pause of so many seconds ends a clause.
const CLAUSE: f64 = 0.45;
/// A pause of so many seconds ends a sentence.
const SENTENCE: f64 = 1.2;

/// One spoken word.
#[derive(Clone, Debug)]
pub struct Word {
    /// Seconds.
    pub t0: f64,
    /// Seconds.
    pub t1: f64,
    /// As it was heard.
    pub text: String,
    /// Whether a piece of the recogniser begins with it.
    pub begins: bool,
}

/// What one word adds: parts, faults, principles, turns of phrase that begin with it.
#[derive(Clone, Debug, Default)]
pub struct Here {
    /// Parts named, with their sides.
    pub parts: Vec<(&'static str, Option<domain::Side>)>,
    /// Faults, with weights.
    pub traits: Vec<(usize, f64)>,
    /// Principles by weight, from faults and from their own words.
    pub principles: Vec<(usize, f64)>,
    /// Words of the phrase, by turn of phrase.
    pub cues: Vec<(Cue, usize)>,
    /// Whether it says something at all: four letters or more, and no filler.
    pub content: bool,
}

/// The words with what they say.
pub struct Stream {
    /// In order.
    pub words: Vec<Word>,
    /// What each adds.
    pub here: Vec<Here>,
}

impl Stream {
    /// Reads all words at once.
    pub fn new(lexicon: &Lexicon, input: &ListenInput) -> Stream {
        let words = words_of(input);
        let (tokens, owner) = token_stream(&words);
        let scan = Scan::of_tokens(lexicon, tokens);
        let mut here = vec![Here::default(); words.len()];
        for part in &scan.parts_in_order {
            here[owner[part.at]].parts.push((part.name, part.side));
        }
        for found in &scan.traits {
            let at = &mut here[owner[found.start]];
            at.traits.push((found.meaning, found.weight()));
            let held = &lexicon.traits[found.meaning].principles;
            at.principles
                .extend(held.iter().map(|(p, w)| (*p, w * found.weight())));
        }
        for found in &scan.principles {
            here[owner[found.start]]
                .principles
                .push((found.meaning as usize, 0.8));
        }
        for found in &scan.cues {
            here[owner[found.start]]
                .cues
                .push((found.meaning, found.words));
        }
        for (at, token) in scan.tokens.iter().enumerate() {
            here[owner[at]].content |= token.text.len() >= 4;
        }
        Stream { words, here }
    }

    /// The principles of the words `from..to`, as shares.
    pub fn principles(&self, from: usize, to: usize) -> [f64; PRINCIPLES] {
        let mut sum = [0.0; PRINCIPLES];
        for (principle, weight) in self.here[from..to].iter().flat_map(|h| &h.principles) {
            sum[*principle] += weight;
        }
        sum
    }

    /// How often a turn of phrase begins in the words `from..to`.
    pub fn count(&self, cue: Cue, from: usize, to: usize) -> usize {
        self.here[from..to]
            .iter()
            .flat_map(|h| &h.cues)
            .filter(|(c, _)| *c == cue)
            .count()
    }
}

/// The timed words; without them a piece's words are spread evenly over it.
fn words_of(input: &ListenInput) -> Vec<Word> {
    let starts: Vec<f64> = input.segments.iter().map(|s| s.t0).collect();
    if let Some(words) = input.words.as_ref().filter(|w| !w.is_empty()) {
        let mut words: Vec<Word> = words
            .iter()
            .map(|(t0, t1, text)| Word {
                t0: *t0,
                t1: *t1,
                text: text.clone(),
                begins: starts.iter().any(|s| (s - t0).abs() < 0.011),
            })
            .collect();
        words.sort_by(|a, b| a.t0.total_cmp(&b.t0));
        return words;
    }
    let mut segments: Vec<_> = input.segments.iter().collect();
    segments.sort_by(|a, b| a.t0.total_cmp(&b.t0));
    segments
        .into_iter()
        .flat_map(|segment| {
            let texts: Vec<&str> = segment.text.split_whitespace().collect();
            #[expect(clippy::cast_precision_loss, reason = "few words")]
            let step = (segment.t1 - segment.t0) / texts.len().max(1) as f64;
            #[expect(clippy::cast_precision_loss, reason = "few words")]
            let at = move |n: usize| segment.t0 + step * n as f64;
            let word = move |(n, text): (usize, &str)| Word {
                t0: at(n),
                t1: at(n + 1),
                text: text.into(),
                begins: n == 0,
            };
            texts.into_iter().enumerate().map(word).collect::<Vec<_>>()
        })
        .collect()
}

/// All tokens, and the word each belongs to. Pauses end clauses and sentences; so do marks, where the recogniser writes them.
fn token_stream(words: &[Word]) -> (Vec<Token>, Vec<usize>) {
    let mut all = vec![];
    let mut owner = vec![];
    let (mut clause, mut sentence, mut until) = (0, 0, f64::NEG_INFINITY);
    for (number, word) in words.iter().enumerate() {
        let pause = word.t0 - until;
        clause += u32::from(pause > CLAUSE);
        sentence += u32::from(pause > SENTENCE);
        until = word.t1;
        let (mut in_clause, mut in_sentence) = (0, 0);
        for token in tokens(&word.text) {
            (in_clause, in_sentence) = (token.clause, token.sentence);
            all.push(Token {
                clause: clause + token.clause,
                sentence: sentence + token.sentence,
                ..token
            });
            owner.push(number);
        }
        let ends = word.text.ends_with(['.', '!', '?', ';']);
        clause += in_clause + u32::from(ends || word.text.ends_with([',', ':']));
        sentence += in_sentence + u32::from(ends);
    }
    (all, owner)
}
