//! The language of the search field.
//!
//! - Every word must occur, in any form of its English stem: `holds` finds *hold* and *holding*.
//! - `"moving hold"` is these words, in this order and form.
//! - `anticip*` is any word that begins so. The last word is also taken so while no space follows it,
//!   for a list that fills while typing.
//! - Anything else is punctuation. A quote without its partner, a lone `*`, `-`, `:` or a bracket mean
//!   nothing. A text without words looks for nothing in particular: the filters alone decide.

use crate::words::{Word, stem, words};

/// Longest search text, in characters.
pub const TEXT_CHARS: usize = 1_000;
/// Most words a search text may hold.
pub const TEXT_WORDS: usize = 32;

/// Why a search text is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum TextError {
    /// More than [`TEXT_CHARS`] characters.
    #[error("a search is at most {TEXT_CHARS} characters long")]
    TooLong,
    /// More than [`TEXT_WORDS`] words.
    #[error("a search is at most {TEXT_WORDS} words long")]
    TooManyWords,
}

/// One condition on the words of a document. All of them must hold.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Clause {
    /// This word in any form; the very form ranks higher.
    Word {
        /// The word as typed, folded.
        exact: String,
        /// Its stem.
        stem: String,
    },
    /// A word still being typed: as [`Clause::Word`], or any word that begins so.
    Typing {
        /// The word as typed so far, folded.
        exact: String,
        /// Its stem.
        stem: String,
    },
    /// Any word that begins so.
    Prefix(String),
    /// These words in a row.
    Phrase(Vec<String>),
}

/// Reads a search text. See the module for the language.
pub fn parse(text: &str) -> Result<Vec<Clause>, TextError> {
    if text.chars().count() > TEXT_CHARS {
        return Err(TextError::TooLong);
    }
    let stretches: Vec<&str> = text.split(is_quote).collect();
    let last = stretches.len() - 1;
    let mut clauses = Vec::new();
    for (index, stretch) in stretches.iter().enumerate() {
        let closed_phrase = index % 2 == 1 && index != last;
        if closed_phrase {
            push_phrase(&mut clauses, stretch);
        } else {
            push_plain(&mut clauses, stretch, index == last);
        }
    }
    if clauses.iter().map(Clause::words).sum::<usize>() > TEXT_WORDS {
        return Err(TextError::TooManyWords);
    }
    Ok(without_repeats(clauses))
}

impl Clause {
    fn words(&self) -> usize {
        match self {
            Clause::Phrase(words) => words.len(),
            _ => 1,
        }
    }

    /// The places of `text` this clause speaks of, as ranges of indices into its words.
    pub(crate) fn places(&self, text: &[Word]) -> Vec<std::ops::Range<usize>> {
        if let Clause::Phrase(phrase) = self {
            return text
                .windows(phrase.len())
                .enumerate()
                .filter(|(_, window)| window.iter().map(|word| &word.exact).eq(phrase))
                .map(|(index, _)| index..index + phrase.len())
                .collect();
        }
        let speaks_of = |word: &Word| match self {
            Clause::Word { stem: wanted, .. } => stem(&word.exact) == *wanted,
            Clause::Typing {
                exact,
                stem: wanted,
            } => word.exact.starts_with(exact) || stem(&word.exact) == *wanted,
            Clause::Prefix(beginning) => word.exact.starts_with(beginning),
            Clause::Phrase(_) => false,
        };
        let found = text.iter().enumerate().filter(|(_, word)| speaks_of(word));
        found.map(|(index, _)| index..index + 1).collect()
    }
}

fn is_quote(c: char) -> bool {
    matches!(
        c,
        '"' | '\u{201C}' | '\u{201D}' | '\u{201E}' | '\u{00AB}' | '\u{00BB}'
    )
}

fn push_phrase(clauses: &mut Vec<Clause>, stretch: &str) {
    let phrase: Vec<String> = words(stretch).map(|word| word.exact).collect();
    if !phrase.is_empty() {
        clauses.push(Clause::Phrase(phrase));
    }
}

fn push_plain(clauses: &mut Vec<Clause>, stretch: &str, is_last: bool) {
    for word in words(stretch) {
        let after = &stretch[word.end..];
        let exact = word.exact;
        clauses.push(if after.starts_with('*') {
            Clause::Prefix(exact)
        } else if is_last && after.is_empty() {
            let stem = stem(&exact);
            Clause::Typing { exact, stem }
        } else {
            let stem = stem(&exact);
            Clause::Word { exact, stem }
        });
    }
}

fn without_repeats(clauses: Vec<Clause>) -> Vec<Clause> {
    let mut kept: Vec<Clause> = Vec::with_capacity(clauses.len());
    for clause in clauses {
        if !kept.contains(&clause) {
            kept.push(clause);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn word(exact: &str) -> Clause {
        Clause::Word {
            exact: exact.into(),
            stem: stem(exact),
        }
    }

    fn typing(exact: &str) -> Clause {
        Clause::Typing {
            exact: exact.into(),
            stem: stem(exact),
        }
    }

    fn phrase(words: &[&str]) -> Clause {
        Clause::Phrase(words.iter().map(|word| (*word).into()).collect())
    }

    #[test]
    fn the_language_reads_as_stated() {
        let cases: [(&str, Vec<Clause>); 17] = [
            ("", vec![]),
            ("   \t\n", vec![]),
            ("*", vec![]),
            ("\"", vec![]),
            ("\"\" -- ( ) : \\ * ~ ^", vec![]),
            ("Hips", vec![typing("hips")]),
            ("Hips ", vec![word("hips")]),
            ("hips?", vec![word("hips")]),
            ("left hand", vec![word("left"), typing("hand")]),
            ("anticip* ", vec![Clause::Prefix("anticip".into())]),
            (
                "\"moving hold\" hips ",
                vec![phrase(&["moving", "hold"]), word("hips")],
            ),
            (
                "\u{201C}moving hold\u{201D}",
                vec![phrase(&["moving", "hold"])],
            ),
            ("\"moving ho", vec![word("moving"), typing("ho")]),
            (
                "a \"b c\" d \"e ",
                vec![word("a"), phrase(&["b", "c"]), word("d"), word("e")],
            ),
            ("one-frame ", vec![word("one"), word("frame")]),
            ("\u{1F525} ", vec![word("\u{1F525}")]),
            (
                "\u{5D9}\u{5D3} \u{5E9}\u{5DE}\u{5D0}\u{5DC} ",
                vec![word("\u{5D9}\u{5D3}"), word("\u{5E9}\u{5DE}\u{5D0}\u{5DC}")],
            ),
        ];
        for (text, wanted) in cases {
            assert_eq!(parse(text), Ok(wanted), "{text:?}");
        }
    }

    #[test]
    fn limits_are_told() {
        assert_eq!(
            parse(&"x".repeat(TEXT_CHARS)).map(|clauses| clauses.len()),
            Ok(1)
        );
        assert_eq!(parse(&"x".repeat(10_000)), Err(TextError::TooLong));
        let many: String = (0..=TEXT_WORDS).map(|n| format!("w{n} ")).collect();
        assert_eq!(parse(&many), Err(TextError::TooManyWords));
    }

    proptest! {
        #[test]
        fn no_text_is_a_fault(text in any::<String>()) {
            let clauses = parse(&text);
            prop_assert!(clauses.is_ok() || text.chars().count() > TEXT_CHARS || clauses == Err(TextError::TooManyWords));
        }

        #[test]
        fn a_text_is_found_by_its_own_words(text in "[a-z' .\"*-]{0,80}") {
            let held: Vec<Word> = words(&text).collect();
            for clause in parse(&text).unwrap_or_default() {
                if !matches!(clause, Clause::Phrase(_)) {
                    prop_assert!(!clause.places(&held).is_empty(), "{clause:?}");
                }
            }
        }
    }
}
