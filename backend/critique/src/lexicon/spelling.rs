//! Mending slips of the finger: one swap, one letter too many or one too few, where only one word can be meant.

use std::collections::{BTreeMap, HashMap, HashSet};

/// Shortest word that is mended.
const SHORTEST: usize = 5;

/// Which words are known, and which slips lead to which word.
pub struct Spelling {
    known: HashSet<String>,
    beginnings: HashSet<String>,
    longest_beginning: usize,
    /// A known word with one letter left out, to the words it may come from.
    shortened: HashMap<String, Vec<String>>,
}

impl Spelling {
    /// From the lexicon's words (true: a beginning of words) and common words that mean themselves.
    pub fn new(words: &BTreeMap<String, bool>, themselves: &[String]) -> Spelling {
        let mut spelling = Spelling {
            known: words
                .iter()
                .filter(|(_, beginning)| !**beginning)
                .map(|(word, _)| word.clone())
                .collect(),
            beginnings: words
                .iter()
                .filter(|(_, beginning)| **beginning)
                .map(|(word, _)| word.clone())
                .collect(),
            longest_beginning: words.keys().map(String::len).max().unwrap_or(0),
            shortened: HashMap::new(),
        };
        for word in words.keys().filter(|word| word.len() >= SHORTEST) {
            for short in without_one_letter(word) {
                let from = spelling.shortened.entry(short).or_default();
                if !from.contains(word) {
                    from.push(word.clone());
                }
            }
        }
        spelling.known.extend(themselves.iter().cloned());
        spelling
    }

    /// The one word of the lexicon that was meant; none if the word is known, short, or no or several words could be meant.
    pub fn mend(&self, word: &str) -> Option<String> {
        if word.len() < SHORTEST || word.bytes().any(|b| b.is_ascii_digit()) || self.knows(word) {
            return None;
        }
        let mut meant: Vec<String> = vec![];
        let mut add = |candidate: String| {
            if !meant.contains(&candidate) {
                meant.push(candidate);
            }
        };
        self.shortened
            .get(word)
            .into_iter()
            .flatten()
            .cloned()
            .for_each(&mut add);
        without_one_letter(word)
            .filter(|short| self.is_target(short))
            .for_each(&mut add);
        swapped(word)
            .filter(|other| self.is_target(other))
            .for_each(&mut add);
        match meant.as_slice() {
            [one] => Some(one.clone()),
            _ => None,
        }
    }

    fn is_target(&self, word: &str) -> bool {
        word.len() >= SHORTEST - 1 && (self.known.contains(word) || self.beginnings.contains(word))
    }

    fn knows(&self, word: &str) -> bool {
        self.known.contains(word)
            || (3..=word.len().min(self.longest_beginning))
                .any(|length| self.beginnings.contains(&word[..length]))
    }
}

/// The word with each letter but the first left out in turn.
fn without_one_letter(word: &str) -> impl Iterator<Item = String> + '_ {
    (1..word.len()).map(|at| format!("{}{}", &word[..at], &word[at + 1..]))
}

/// The word with each two neighbouring letters but the first swapped.
fn swapped(word: &str) -> impl Iterator<Item = String> + '_ {
    (1..word.len().saturating_sub(1)).map(|at| {
        let mut letters: Vec<char> = word.chars().collect();
        letters.swap(at, at + 1);
        letters.into_iter().collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spelling() -> Spelling {
        let words =
            ["spacing", "overlap", "trail", "head", "blink"].map(|w| (w.to_owned(), w == "blink"));
        Spelling::new(&words.into_iter().collect(), &["trial".into()])
    }

    #[test]
    fn one_slip_is_mended() {
        for (slip, word) in [
            ("sapcing", Some("spacing")),
            ("spcaing", Some("spacing")),
            ("spacng", Some("spacing")),
            ("overllap", Some("overlap")),
        ] {
            assert_eq!(spelling().mend(slip).as_deref(), word, "{slip}");
        }
        assert_eq!(spelling().mend("psacing"), None, "the first letter holds");
    }

    #[test]
    fn known_and_short_words_stay() {
        for word in ["spacing", "trial", "blinking", "haed", "spacious"] {
            assert_eq!(spelling().mend(word), None, "{word}");
        }
    }
}
