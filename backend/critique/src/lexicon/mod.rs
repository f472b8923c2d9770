//! The lexicon: what mentors' words mean. Data in `lexicon.json`, checked here.

mod own;
pub mod phrase;
mod source;
mod spelling;

use std::collections::{BTreeMap, HashMap, HashSet};

use domain::{Principle, Side, parts};

use crate::words::stem;
pub use own::{OwnMeaning, OwnWord};
use phrase::{Element, PhraseError, Phrases, parse};
pub use source::{Additions, Amount, AskSource, Cue, Source, TraitSource};
pub use spelling::Spelling;

/// Number of a fault in [`Lexicon::traits`].
pub type TraitId = usize;

/// What a phrase means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Meaning {
    /// A fault.
    Trait(TraitId),
    /// A principle named outright.
    Principle(Principle),
    /// An axis, by number, and a direction on it.
    Direction(usize, i8),
    /// A turn of phrase.
    Cue(Cue),
    /// A thing a shot should have.
    Quality,
    /// A measurable request: its number in [`Source::asks`], and the sign of a percentage.
    Ask(usize, f64),
}

/// Tables of phrases: within one the finds do not overlap.
pub mod table {
    use super::Cue;
    /// Faults.
    pub const TRAITS: usize = 0;
    /// Principles named outright.
    pub const PRINCIPLES: usize = 1;
    /// Directions.
    pub const DIRECTIONS: usize = 2;
    /// Measurable requests.
    pub const ASKS: usize = 3;
    /// Things a shot should have.
    pub const QUALITIES: usize = 4;
    /// Turns of phrase, one table a kind.
    pub fn cue(cue: Cue) -> usize {
        5 + cue.index()
    }
    /// How many there are.
    pub const COUNT: usize = 5 + Cue::ALL.len();
}

/// A fault, ready for use.
#[derive(Clone, Debug)]
pub struct Trait {
    /// Its name.
    pub name: String,
    /// The principles it speaks for, by their place in [`Principle::ALL`].
    pub principles: Vec<(usize, f64)>,
    /// Axis by number, and the way the remedy points.
    pub direction: Vec<(usize, f64)>,
}

/// What is wrong with a lexicon or with additions to it.
#[derive(Debug, thiserror::Error)]
pub enum LexiconError {
    /// It cannot be read.
    #[error("the lexicon cannot be read: {0}")]
    Json(#[from] serde_json::Error),
    /// A phrase is not one.
    #[error("{place}: \"{phrase}\": {source}")]
    Phrase {
        /// Where it stands.
        place: String,
        /// As it is written.
        phrase: String,
        /// Why.
        source: PhraseError,
    },
    /// A phrase stands twice where it may have one meaning.
    #[error("{place}: \"{phrase}\" stands there already, for {other}")]
    Twice {
        /// Where it stands.
        place: String,
        /// As it is written.
        phrase: String,
        /// What it already means.
        other: String,
    },
    /// A name that nothing has.
    #[error("{place}: there is nothing called \"{name}\"")]
    Unknown {
        /// Where it stands.
        place: String,
        /// As it is written.
        name: String,
    },
    /// A number outside its range.
    #[error("{place}: {value} is not within {range}")]
    Range {
        /// Where it stands.
        place: String,
        /// The number.
        value: f64,
        /// What is allowed.
        range: &'static str,
    },
}

/// What mentors' words mean.
pub struct Lexicon {
    source: Source,
    /// Faults in the order of their names.
    pub traits: Vec<Trait>,
    /// Axes of direction in the order of their names.
    pub axes: Vec<String>,
    pub(crate) phrases: Phrases<Meaning>,
    pub(crate) spelling: Spelling,
    part_words: HashMap<String, (&'static parts::PartNode, bool)>,
    content_stems: HashSet<String>,
    relatedness: [[f64; PRINCIPLES]; PRINCIPLES],
}

/// How many principles there are.
pub const PRINCIPLES: usize = Principle::ALL.len();

impl Lexicon {
    /// The lexicon that comes with the program.
    ///
    /// # Errors
    /// What is wrong with it; a test holds that nothing is.
    pub fn built_in() -> Result<Lexicon, LexiconError> {
        Lexicon::from_json(include_str!("../../lexicon.json"))
    }

    /// Reads and checks a lexicon.
    ///
    /// # Errors
    /// What is wrong with it, and where.
    pub fn from_json(json: &str) -> Result<Lexicon, LexiconError> {
        Lexicon::compile(serde_json::from_str(json)?)
    }

    /// This lexicon with a school's own words over it. A word the school gives another meaning has the school's.
    ///
    /// # Errors
    /// What is wrong with the additions, and where.
    pub fn with(&self, additions: &Additions) -> Result<Lexicon, LexiconError> {
        let mut source = self.source.clone();
        for (name, phrases) in &additions.traits {
            if !source.traits.contains_key(name) {
                return Err(unknown("traits", name));
            }
            for (other, held) in &mut source.traits {
                held.phrases
                    .retain(|p| other == name || !phrases.contains(p));
            }
            if let Some(held) = source.traits.get_mut(name) {
                extend(&mut held.phrases, phrases);
            }
        }
        for (principle, phrases) in &additions.principle_words {
            source
                .principle_words
                .values_mut()
                .for_each(|held| held.retain(|p| !phrases.contains(p)));
            extend(
                source.principle_words.entry(*principle).or_default(),
                phrases,
            );
        }
        for (axis, phrases) in &additions.directions {
            let held = source
                .directions
                .get_mut(axis)
                .ok_or_else(|| unknown("directions", axis))?;
            extend(held, phrases);
        }
        for (cue, phrases) in &additions.cues {
            extend(source.cues.entry(*cue).or_default(), phrases);
        }
        extend(&mut source.qualities, &additions.qualities);
        source.parts.extend(additions.parts.clone());
        Lexicon::compile(source)
    }

    fn compile(source: Source) -> Result<Lexicon, LexiconError> {
        let axes = axes_of(&source)?;
        let traits = traits_of(&source, &axes)?;
        let phrases = phrases_of(&source, &axes)?;
        Ok(Lexicon {
            part_words: part_words(&source)?,
            content_stems: content_stems(&source),
            relatedness: relatedness(&source)?,
            spelling: Spelling::new(&words_of(&source), &source.themselves),
            traits,
            axes,
            phrases,
            source,
        })
    }

    /// Of this lexicon.
    pub fn version(&self) -> &str {
        &self.source.version
    }

    /// The fault called so.
    pub fn trait_named(&self, name: &str) -> Option<TraitId> {
        self.traits.iter().position(|t| t.name == name)
    }

    /// The node a word names, and whether the word is a plural of both sides.
    pub(crate) fn part_word(&self, word: &str) -> Option<(&'static parts::PartNode, bool)> {
        self.part_words.get(word).copied()
    }

    /// The body area of a part.
    pub fn area(&self, part: &str) -> Option<&str> {
        self.source.area.get(part).map(String::as_str)
    }

    /// The body area of every part.
    pub fn areas(&self) -> &BTreeMap<String, String> {
        &self.source.area
    }

    pub(crate) fn side_word(&self, word: &str) -> Option<Side> {
        self.source.sides.get(word).copied()
    }

    pub(crate) fn number_word(&self, word: &str) -> Option<f64> {
        self.source.numbers.get(word).copied()
    }

    pub(crate) fn ask(&self, number: usize) -> &AskSource {
        &self.source.asks[number]
    }

    /// How related two principles are, by their places in [`Principle::ALL`]: 1 for one and the same.
    pub fn related(&self, a: usize, b: usize) -> f64 {
        self.relatedness[a][b]
    }

    /// Whether the stem is one of a word that says what a note is about.
    pub fn is_content(&self, stem: &str) -> bool {
        self.content_stems.contains(stem)
    }
}

fn extend(held: &mut Vec<String>, phrases: &[String]) {
    for phrase in phrases {
        if !held.contains(phrase) {
            held.push(phrase.clone());
        }
    }
}

fn unknown(place: &str, name: &str) -> LexiconError {
    LexiconError::Unknown {
        place: place.into(),
        name: name.chars().take(60).collect(),
    }
}

fn split_direction(key: &str) -> Option<(&str, i8)> {
    let (axis, way) = key.split_once(':')?;
    match way {
        "+1" => Some((axis, 1)),
        "-1" => Some((axis, -1)),
        _ => None,
    }
}

fn axes_of(source: &Source) -> Result<Vec<String>, LexiconError> {
    let mut axes: Vec<String> = source
        .traits
        .values()
        .flat_map(|t| t.direction.keys().cloned())
        .collect();
    for key in source.directions.keys() {
        axes.push(
            split_direction(key)
                .ok_or_else(|| unknown("directions", key))?
                .0
                .into(),
        );
    }
    axes.sort();
    axes.dedup();
    Ok(axes)
}

fn traits_of(source: &Source, axes: &[String]) -> Result<Vec<Trait>, LexiconError> {
    source
        .traits
        .iter()
        .map(|(name, held)| {
            let place = format!("traits.{name}");
            for weight in held.principles.values() {
                within(&place, *weight, 0.0, 1.0, "0..1")?;
            }
            for way in held.direction.values() {
                if way.abs() != 1 {
                    return Err(LexiconError::Range {
                        place,
                        value: f64::from(*way),
                        range: "-1 and 1",
                    });
                }
            }
            let axis = |name: &String| axes.iter().position(|a| a == name);
            Ok(Trait {
                name: name.clone(),
                principles: held
                    .principles
                    .iter()
                    .map(|(p, w)| (*p as usize, *w))
                    .collect(),
                direction: held
                    .direction
                    .iter()
                    .filter_map(|(a, w)| Some((axis(a)?, f64::from(*w))))
                    .collect(),
            })
        })
        .collect()
}

fn within(
    place: &str,
    value: f64,
    low: f64,
    high: f64,
    range: &'static str,
) -> Result<(), LexiconError> {
    if (low..=high).contains(&value) {
        return Ok(());
    }
    Err(LexiconError::Range {
        place: place.into(),
        value,
        range,
    })
}

/// Every phrase with its table, its place and its meaning.
fn listed(source: &Source, axes: &[String]) -> Vec<(usize, String, String, Meaning)> {
    let mut all = vec![];
    let mut list = |table: usize, place: String, phrases: &[String], meaning: Meaning| {
        all.extend(
            phrases
                .iter()
                .map(|p| (table, place.clone(), p.clone(), meaning)),
        );
    };
    for (number, (name, held)) in source.traits.iter().enumerate() {
        list(
            table::TRAITS,
            format!("traits.{name}"),
            &held.phrases,
            Meaning::Trait(number),
        );
    }
    for (principle, phrases) in &source.principle_words {
        list(
            table::PRINCIPLES,
            format!("principle_words.{principle}"),
            phrases,
            Meaning::Principle(*principle),
        );
    }
    for (key, phrases) in &source.directions {
        if let Some((axis, way)) = split_direction(key)
            && let Some(axis) = axes.iter().position(|a| a == axis)
        {
            list(
                table::DIRECTIONS,
                format!("directions.{key}"),
                phrases,
                Meaning::Direction(axis, way),
            );
        }
    }
    for (cue, phrases) in &source.cues {
        list(
            table::cue(*cue),
            format!("cues.{}", cue.as_str()),
            phrases,
            Meaning::Cue(*cue),
        );
    }
    list(
        table::QUALITIES,
        "qualities".into(),
        &source.qualities,
        Meaning::Quality,
    );
    all
}

fn phrases_of(source: &Source, axes: &[String]) -> Result<Phrases<Meaning>, LexiconError> {
    let mut phrases = Phrases::default();
    let mut seen: HashMap<(usize, String), String> = HashMap::new();
    for (table, place, phrase, meaning) in listed(source, axes) {
        // One wording may point two ways (a "punchier" is faster and sharper), but it is one fault and one principle.
        let single = table != table::DIRECTIONS;
        if single && let Some(other) = seen.insert((table, phrase.clone()), place.clone()) {
            return Err(LexiconError::Twice {
                place,
                phrase,
                other,
            });
        }
        let elements = parse(&phrase).map_err(|source| LexiconError::Phrase {
            place,
            phrase,
            source,
        })?;
        phrases.add(table, elements, meaning);
    }
    for (number, ask) in source.asks.iter().enumerate() {
        for written in &ask.phrases {
            let place = format!("asks[{number}]");
            let (phrase, sign) = match written.rsplit_once(':') {
                Some((phrase, "+")) => (phrase, 1.0),
                Some((phrase, "-")) => (phrase, -1.0),
                _ => (written.as_str(), 1.0),
            };
            let elements = parse(phrase).map_err(|source| LexiconError::Phrase {
                place,
                phrase: written.clone(),
                source,
            })?;
            phrases.add(table::ASKS, elements, Meaning::Ask(number, sign));
        }
    }
    Ok(phrases)
}

fn part_words(
    source: &Source,
) -> Result<HashMap<String, (&'static parts::PartNode, bool)>, LexiconError> {
    for node in source.area.keys() {
        parts::find(node).ok_or_else(|| unknown("area", node))?;
    }
    source
        .parts
        .iter()
        .map(|(word, node)| {
            let node = parts::find(node).ok_or_else(|| unknown(&format!("parts.{word}"), node))?;
            let plural = word == "feet"
                || (word.ends_with('s')
                    && !word.ends_with("ss")
                    && source.parts.contains_key(&word[..word.len() - 1]));
            Ok((word.clone(), (node, plural && node.sided)))
        })
        .collect()
}

fn relatedness(source: &Source) -> Result<[[f64; PRINCIPLES]; PRINCIPLES], LexiconError> {
    let mut table = [[0.0; PRINCIPLES]; PRINCIPLES];
    for (index, row) in table.iter_mut().enumerate() {
        row[index] = 1.0;
    }
    for (a, b, value) in &source.relatedness {
        within("relatedness", *value, 0.0, 1.0, "0..1")?;
        table[*a as usize][*b as usize] = *value;
        table[*b as usize][*a as usize] = *value;
    }
    Ok(table)
}

/// The phrases that say what a note is about, as elements.
fn content_phrases(source: &Source) -> impl Iterator<Item = &String> {
    source
        .traits
        .values()
        .flat_map(|t| &t.phrases)
        .chain(source.principle_words.values().flatten())
        .chain(source.directions.values().flatten())
}

/// Words too common to say what a note is about, though phrases of the lexicon hold them.
const LITTLE: &[&str] = &[
    "a", "all", "and", "are", "as", "at", "b", "back", "be", "before", "between", "both", "by",
    "can", "does", "dont", "doesnt", "every", "for", "from", "get", "give", "go", "goes", "has",
    "him", "in", "into", "is", "isnt", "it", "its", "just", "like", "little", "lot", "more",
    "much", "needs", "no", "not", "of", "off", "on", "one", "out", "over", "so", "than", "the",
    "their", "them", "there", "this", "that", "to", "too", "two", "up", "way", "what", "where",
    "who", "why", "with", "would", "you",
];

fn content_stems(source: &Source) -> HashSet<String> {
    let mut stems = HashSet::new();
    for phrase in content_phrases(source) {
        for word in phrase
            .split_whitespace()
            .filter(|w| *w != "~" && *w != "<n>")
        {
            let word = word.trim_end_matches('*');
            if !LITTLE.contains(&word) {
                stems.insert(stem(word));
            }
        }
    }
    stems.extend(source.parts.keys().map(|word| stem(word)));
    stems
}

/// Every whole word and every beginning in the lexicon, for mending spelling.
fn words_of(source: &Source) -> BTreeMap<String, bool> {
    let mut words = BTreeMap::new();
    let phrases = content_phrases(source)
        .chain(source.cues.values().flatten())
        .chain(&source.qualities)
        .chain(source.asks.iter().flat_map(|a| &a.phrases));
    for phrase in phrases {
        for element in parse(phrase.trim_end_matches([':', '+', '-'])).unwrap_or_default() {
            match element {
                Element::Word(word) => {
                    words.insert(word, false);
                }
                Element::Prefix(word) => {
                    words.entry(word).or_insert(true);
                }
                Element::Gap | Element::Number => {}
            }
        }
    }
    for word in source
        .parts
        .keys()
        .chain(source.sides.keys())
        .chain(source.numbers.keys())
    {
        words.insert(word.clone(), false);
    }
    words
}
