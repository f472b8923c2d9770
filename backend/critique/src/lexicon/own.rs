//! A school's own words, one by one, as a mentor gives them: a table, a phrase and what it means there.

use domain::{Principle, WordTable, parts};

use super::phrase::{Element, PhraseError, parse};
use super::{Additions, Cue, Lexicon, LexiconError, unknown};

/// How many phrases are shown as examples of a meaning.
const EXAMPLES: usize = 3;
/// The one meaning of the table of qualities.
const QUALITY: &str = "quality";

/// Whether one phrase may mean several things in the table.
fn many(table: WordTable) -> bool {
    matches!(table, WordTable::Directions | WordTable::Cues)
}

/// A word as a mentor gives it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnWord {
    /// Where it stands.
    pub table: WordTable,
    /// As it is said.
    pub phrase: String,
    /// One of [`Lexicon::meanings`] of the table.
    pub meaning: String,
}

/// What a phrase can mean in a table, with phrases that mean it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnMeaning {
    /// Its name.
    pub name: String,
    /// Some phrases that mean it, shortest first.
    pub examples: Vec<String>,
}

impl Additions {
    /// Adds a word; the names and the phrase are checked when the additions are merged.
    ///
    /// # Errors
    /// If the table has no such meaning, or the phrase stands in it already.
    pub fn add(&mut self, word: &OwnWord) -> Result<(), LexiconError> {
        let place = || format!("{}.{}", word.table.as_str(), word.meaning);
        let held = self.meanings_of(word.table, &word.phrase);
        let twice = held
            .iter()
            .find(|other| !many(word.table) || **other == word.meaning);
        if let Some(other) = twice {
            return Err(LexiconError::Twice {
                place: place(),
                phrase: word.phrase.clone(),
                other: other.clone(),
            });
        }
        let missing = || unknown(word.table.as_str(), &word.meaning);
        let (meaning, phrase) = (word.meaning.clone(), word.phrase.clone());
        match word.table {
            WordTable::Traits => self.traits.entry(meaning).or_default().push(phrase),
            WordTable::PrincipleWords => {
                let principle: Principle = meaning.parse().map_err(|_| missing())?;
                self.principle_words
                    .entry(principle)
                    .or_default()
                    .push(phrase);
            }
            WordTable::Directions => self.directions.entry(meaning).or_default().push(phrase),
            WordTable::Qualities if meaning == QUALITY => self.qualities.push(phrase),
            WordTable::Qualities => return Err(missing()),
            WordTable::Cues => {
                let cue = Cue::ALL.iter().find(|c| c.as_str() == meaning);
                let cue = cue.ok_or_else(missing)?;
                self.cues.entry(*cue).or_default().push(phrase);
            }
            WordTable::Parts => {
                one_word(&phrase).map_err(|source| LexiconError::Phrase {
                    place: place(),
                    phrase: phrase.clone(),
                    source,
                })?;
                self.parts.insert(phrase, meaning);
            }
        }
        Ok(())
    }

    fn meanings_of(&self, table: WordTable, phrase: &str) -> Vec<String> {
        let has = |phrases: &Vec<String>| phrases.iter().any(|p| p == phrase);
        match table {
            WordTable::Traits => names(&self.traits, has),
            WordTable::PrincipleWords => names(&self.principle_words, has),
            WordTable::Directions => names(&self.directions, has),
            WordTable::Qualities if has(&self.qualities) => vec![QUALITY.into()],
            WordTable::Qualities => vec![],
            WordTable::Cues => names_of_cues(&self.cues, has),
            WordTable::Parts => self.parts.get(phrase).cloned().into_iter().collect(),
        }
    }
}

fn names<K: ToString>(
    table: &std::collections::BTreeMap<K, Vec<String>>,
    has: impl Fn(&Vec<String>) -> bool,
) -> Vec<String> {
    let found = table.iter().filter(|(_, phrases)| has(phrases));
    found.map(|(name, _)| name.to_string()).collect()
}

fn names_of_cues(
    table: &std::collections::BTreeMap<Cue, Vec<String>>,
    has: impl Fn(&Vec<String>) -> bool,
) -> Vec<String> {
    let found = table.iter().filter(|(_, phrases)| has(phrases));
    found.map(|(cue, _)| cue.as_str().into()).collect()
}

/// The name of a part is one word of a note.
fn one_word(phrase: &str) -> Result<(), PhraseError> {
    match parse(phrase)?.as_slice() {
        [Element::Word(_)] => Ok(()),
        _ => Err(PhraseError::OneWord),
    }
}

impl Lexicon {
    /// What a phrase means in a table of this lexicon; nothing if it does not stand there.
    pub fn meanings_of(&self, table: WordTable, phrase: &str) -> Vec<String> {
        let source = &self.source;
        let has = |phrases: &Vec<String>| phrases.iter().any(|p| p == phrase);
        match table {
            WordTable::Traits => {
                let found = source.traits.iter().filter(|(_, t)| has(&t.phrases));
                found.map(|(name, _)| name.clone()).collect()
            }
            WordTable::PrincipleWords => names(&source.principle_words, has),
            WordTable::Directions => names(&source.directions, has),
            WordTable::Qualities if has(&source.qualities) => vec![QUALITY.into()],
            WordTable::Qualities => vec![],
            WordTable::Cues => names_of_cues(&source.cues, has),
            WordTable::Parts => source.parts.get(phrase).cloned().into_iter().collect(),
        }
    }

    /// Everything a word of a school can mean in a table.
    pub fn meanings(&self, table: WordTable) -> Vec<OwnMeaning> {
        let source = &self.source;
        let of = |name: &str, phrases: &[String]| OwnMeaning {
            name: name.into(),
            examples: shortest(phrases),
        };
        match table {
            WordTable::Traits => {
                let all = source.traits.iter();
                all.map(|(name, t)| of(name, &t.phrases)).collect()
            }
            WordTable::PrincipleWords => Principle::ALL
                .iter()
                .map(|p| {
                    let held = source.principle_words.get(p);
                    of(p.as_str(), held.map_or(&[], Vec::as_slice))
                })
                .collect(),
            WordTable::Directions => {
                let all = source.directions.iter();
                all.map(|(name, phrases)| of(name, phrases)).collect()
            }
            WordTable::Qualities => vec![of(QUALITY, &source.qualities)],
            WordTable::Cues => Cue::ALL
                .iter()
                .map(|c| {
                    let held = source.cues.get(c);
                    of(c.as_str(), held.map_or(&[], Vec::as_slice))
                })
                .collect(),
            WordTable::Parts => parts::PARTS
                .iter()
                .map(|node| {
                    let words: Vec<String> = source
                        .parts
                        .iter()
                        .filter(|(word, part)| *part == node.name && *word != node.name)
                        .map(|(word, _)| word.clone())
                        .collect();
                    of(node.name, &words)
                })
                .collect(),
        }
    }
}

/// The shortest whole words, for they are told apart at a glance.
fn shortest(phrases: &[String]) -> Vec<String> {
    let mut plain: Vec<&String> = phrases
        .iter()
        .filter(|p| !p.contains(['*', '~', '<']))
        .collect();
    plain.sort_by_key(|p| (p.len(), *p));
    plain.into_iter().take(EXAMPLES).cloned().collect()
}
