//! Phrases and how they are found.

use std::collections::HashMap;

use crate::words::Token;

/// How many words a gap may span.
const GAP: usize = 2;

/// One step of a phrase.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Element {
    /// This word.
    Word(String),
    /// Any word that begins so.
    Prefix(String),
    /// Up to two words of any kind.
    Gap,
    /// A number in digits or letters.
    Number,
}

/// What is wrong with a phrase.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PhraseError {
    /// Nothing in it.
    #[error("a phrase needs at least one word")]
    Empty,
    /// Letters that no word of a note has.
    #[error(
        "words are lower-case letters and digits without apostrophes; `foo*`, `~` and `<n>` are understood besides"
    )]
    Letters,
    /// Begins or ends with a gap.
    #[error("a gap `~` stands between two words")]
    Gap,
    /// A beginning so short that it would match nearly everything.
    #[error("the beginning before `*` needs three letters")]
    Short,
    /// Several words, or signs, where one word is asked for.
    #[error("the name of a part is one word without `*`, `~` or `<n>`")]
    OneWord,
}

/// Reads a phrase: lower-case words, `foo*` any word beginning so, `~` up to two words, `<n>` a number.
///
/// # Errors
/// What is wrong with it.
pub fn parse(phrase: &str) -> Result<Vec<Element>, PhraseError> {
    let elements = phrase
        .split_whitespace()
        .map(element)
        .collect::<Result<Vec<_>, _>>()?;
    let wordless = elements
        .iter()
        .all(|e| matches!(e, Element::Gap | Element::Number));
    match (elements.first(), elements.last()) {
        _ if wordless => Err(PhraseError::Empty),
        (Some(Element::Gap), _) | (_, Some(Element::Gap)) => Err(PhraseError::Gap),
        _ => Ok(elements),
    }
}

fn element(word: &str) -> Result<Element, PhraseError> {
    match word {
        "~" => return Ok(Element::Gap),
        "<n>" => return Ok(Element::Number),
        _ => {}
    }
    let (letters, prefix) = word.strip_suffix('*').map_or((word, false), |w| (w, true));
    if letters.is_empty()
        || !letters
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit())
    {
        return Err(PhraseError::Letters);
    }
    if prefix && letters.len() < 3 {
        return Err(PhraseError::Short);
    }
    Ok(if prefix {
        Element::Prefix(letters.into())
    } else {
        Element::Word(letters.into())
    })
}

/// One find of a phrase.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found<M> {
    /// What the phrase means.
    pub meaning: M,
    /// First word.
    pub start: usize,
    /// One past its last word.
    pub end: usize,
    /// Words of the phrase, gaps not counted.
    pub words: usize,
    /// The number read, if the phrase has one.
    pub number: Option<f64>,
}

impl<M> Found<M> {
    /// What the find weighs: longer phrases say more.
    pub fn weight(&self) -> f64 {
        let words = f64::from(u32::try_from(self.words).unwrap_or(u32::MAX));
        1.0 + 0.5 * (words - 1.0)
    }
}

struct Entry<M> {
    elements: Vec<Element>,
    words: usize,
    table: usize,
    meaning: M,
}

/// All phrases under one index. Phrases are held in tables that do not compete with each other.
pub struct Phrases<M> {
    entries: Vec<Entry<M>>,
    by_word: HashMap<String, Vec<usize>>,
    by_prefix: HashMap<String, Vec<usize>>,
    by_number: Vec<usize>,
    tables: usize,
    longest_prefix: usize,
}

impl<M> Default for Phrases<M> {
    fn default() -> Self {
        Phrases {
            entries: vec![],
            by_word: HashMap::new(),
            by_prefix: HashMap::new(),
            by_number: vec![],
            tables: 0,
            longest_prefix: 0,
        }
    }
}

impl<M: Copy> Phrases<M> {
    /// Adds a phrase to a table.
    pub fn add(&mut self, table: usize, elements: Vec<Element>, meaning: M) {
        let at = self.entries.len();
        match elements.first() {
            Some(Element::Word(word)) => self.by_word.entry(word.clone()).or_default().push(at),
            Some(Element::Prefix(prefix)) => {
                self.longest_prefix = self.longest_prefix.max(prefix.len());
                self.by_prefix.entry(prefix.clone()).or_default().push(at);
            }
            _ => self.by_number.push(at),
        }
        self.tables = self.tables.max(table + 1);
        let words = elements.iter().filter(|e| **e != Element::Gap).count();
        self.entries.push(Entry {
            elements,
            words,
            table,
            meaning,
        });
    }

    /// Every find, by table and place: at each place the phrase with most words, then the longest; finds of one table do not overlap.
    pub fn find(&self, tokens: &[Token], numbers: &[Option<f64>]) -> Vec<Vec<Found<M>>> {
        let mut found: Vec<Vec<Found<M>>> = (0..self.tables).map(|_| vec![]).collect();
        let mut best: Vec<Option<Found<M>>> = (0..self.tables).map(|_| None).collect();
        for at in 0..tokens.len() {
            self.starting_at(tokens, numbers, at, |entry| {
                let taken = found[entry.table].last().map_or(0, |f| f.end);
                if at < taken {
                    return;
                }
                let Some((end, number)) = follow(&entry.elements, tokens, numbers, at, None) else {
                    return;
                };
                let candidate = Found {
                    meaning: entry.meaning,
                    start: at,
                    end,
                    words: entry.words,
                    number,
                };
                let held = &mut best[entry.table];
                if held
                    .as_ref()
                    .is_none_or(|b| (b.words, b.end) < (candidate.words, candidate.end))
                {
                    *held = Some(candidate);
                }
            });
            for (table, held) in best.iter_mut().enumerate() {
                found[table].extend(held.take());
            }
        }
        found
    }

    fn starting_at(
        &self,
        tokens: &[Token],
        numbers: &[Option<f64>],
        at: usize,
        mut each: impl FnMut(&Entry<M>),
    ) {
        let word = tokens[at].text.as_str();
        let mut visit = |list: Option<&Vec<usize>>| {
            for index in list.into_iter().flatten() {
                each(&self.entries[*index]);
            }
        };
        visit(self.by_word.get(word));
        for length in 3..=word.len().min(self.longest_prefix) {
            visit(self.by_prefix.get(&word[..length]));
        }
        if numbers[at].is_some() {
            visit(Some(&self.by_number));
        }
    }
}

/// Where the elements end if they begin at `at`, and the number read on the way. Phrases stay within a sentence.
fn follow(
    elements: &[Element],
    tokens: &[Token],
    numbers: &[Option<f64>],
    at: usize,
    number: Option<f64>,
) -> Option<(usize, Option<f64>)> {
    let Some((first, rest)) = elements.split_first() else {
        return Some((at, number));
    };
    if *first == Element::Gap {
        return (0..=GAP).find_map(|skip| follow(rest, tokens, numbers, at + skip, number));
    }
    let token = tokens.get(at)?;
    let read = match first {
        Element::Word(word) => (token.text == *word).then_some(number),
        Element::Prefix(prefix) => token.text.starts_with(prefix.as_str()).then_some(number),
        Element::Number => numbers[at].map(Some),
        Element::Gap => None,
    }?;
    let (end, number) = follow(rest, tokens, numbers, at + 1, read)?;
    (tokens[end - 1].sentence == token.sentence).then_some((end, number))
}
