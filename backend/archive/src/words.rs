//! Text to words: what the index stores, what a query looks for and what a fragment marks are cut by
//! the one function [`words`], so the three cannot disagree.
//!
//! Words are the word-boundary segments of Unicode UAX #29 that hold a letter, a digit or a symbol
//! (an emoji is a word; punctuation and white space are not). Each is folded by [`fold`] and cut to
//! [`WORD_CHARS`] characters.

use unicode_normalization::UnicodeNormalization;
use unicode_properties::{GeneralCategory, UnicodeGeneralCategory};
use unicode_segmentation::UnicodeSegmentation;

/// Longest folded word kept, in characters; the rest of a longer one is ignored on both sides.
pub const WORD_CHARS: usize = 64;

/// One word of a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// The folded word.
    pub exact: String,
    /// First byte of the word in the text.
    pub start: usize,
    /// Byte after the word in the text.
    pub end: usize,
}

/// The words of `text` in order, with their places in it.
pub fn words(text: &str) -> impl Iterator<Item = Word> + '_ {
    text.split_word_bound_indices()
        .filter(|(_, segment)| segment.chars().any(carries_meaning))
        .map(|(start, segment)| Word {
            exact: fold(segment),
            start,
            end: start + segment.len(),
        })
        .filter(|word| !word.exact.is_empty())
}

/// The stem of a folded word: Snowball's English algorithm. Words of other scripts stay as they are.
pub fn stem(exact: &str) -> String {
    frostem::Stemmer::new(frostem::Algorithm::English)
        .stem(exact)
        .into_owned()
}

/// Compatibility form (NFKD), without accents and vowel points, typographic apostrophe as `'`, lower case.
fn fold(segment: &str) -> String {
    segment
        .nfkd()
        .filter(|c| !is_accent(*c))
        .map(|c| if c == '\u{2019}' { '\'' } else { c })
        .flat_map(char::to_lowercase)
        .filter(|c| !is_accent(*c))
        .nfc()
        .take(WORD_CHARS)
        .collect()
}

/// Marks that readers of Latin, Greek, Cyrillic, Hebrew and Arabic script leave out when they type.
/// Marks of other scripts carry vowels and stay.
fn is_accent(c: char) -> bool {
    matches!(c,
        '\u{0300}'..='\u{036F}' | '\u{0591}'..='\u{05BD}' | '\u{05BF}' | '\u{05C1}' | '\u{05C2}' | '\u{05C4}' | '\u{05C5}' | '\u{05C7}'
        | '\u{0610}'..='\u{061A}' | '\u{0640}' | '\u{064B}'..='\u{065F}' | '\u{0670}' | '\u{06D6}'..='\u{06DC}'
        | '\u{06DF}'..='\u{06E4}' | '\u{06E7}' | '\u{06E8}' | '\u{06EA}'..='\u{06ED}' | '\u{FE0E}' | '\u{FE0F}')
}

fn carries_meaning(c: char) -> bool {
    c.is_alphanumeric()
        || (!c.is_ascii()
            && matches!(
                c.general_category(),
                GeneralCategory::OtherSymbol
                    | GeneralCategory::MathSymbol
                    | GeneralCategory::CurrencySymbol
            ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exact(text: &str) -> Vec<String> {
        words(text).map(|word| word.exact).collect()
    }

    /// The sentence of Unicode UAX #29 (revision 45), section 4, figure 1, and the words it lists there.
    #[test]
    fn words_are_those_of_uax_29() {
        let text = "The quick (\u{201C}brown\u{201D}) fox can\u{2019}t jump 32.3 feet, right?";
        assert_eq!(
            exact(text),
            [
                "the", "quick", "brown", "fox", "can't", "jump", "32.3", "feet", "right"
            ]
        );
    }

    /// Rules WB4 to WB13b of UAX #29, each with a case of its own.
    #[test]
    fn word_boundary_rules_hold() {
        assert_eq!(
            exact("e\u{301}tude x\u{308}y"),
            ["etude", "xy"],
            "WB4: marks stay with their letter"
        );
        assert_eq!(
            exact("can't a:b"),
            ["can't", "a:b"],
            "WB6, WB7: MidLetter between letters"
        );
        assert_eq!(
            exact("ab12cd 3a"),
            ["ab12cd", "3a"],
            "WB8 to WB10: letters and digits join"
        );
        assert_eq!(
            exact("1,000.5 1. 2"),
            ["1,000.5", "1", "2"],
            "WB11, WB12: numeric punctuation"
        );
        assert_eq!(
            exact("\u{30AB}\u{30BF}\u{30AB}\u{30CA}"),
            ["\u{30AB}\u{30BF}\u{30AB}\u{30CA}"],
            "WB13: Katakana joins"
        );
        assert_eq!(
            exact("L_arm_CTRL"),
            ["l_arm_ctrl"],
            "WB13a, WB13b: ExtendNumLet joins"
        );
        assert_eq!(
            exact("\u{5D0}\u{5D1}\"\u{5D2} x"),
            ["\u{5D0}\u{5D1}\"\u{5D2}", "x"],
            "WB7b, WB7c: Hebrew and a double quote"
        );
        assert_eq!(
            exact("\u{65E5}\u{672C}"),
            ["\u{65E5}", "\u{672C}"],
            "WB999: ideographs stand alone"
        );
    }

    /// The sample vocabulary Snowball prints for its English stemmer
    /// (https://snowballstem.org/algorithms/english/stemmer.html); compared as well with what the Python
    /// package `snowballstemmer` 3.1 answers for each.
    #[test]
    fn stems_are_those_of_the_snowball_sample() {
        for pair in include_str!("../tests/snowball_english.txt").lines() {
            if let Some((word, wanted)) = pair.split_once(' ') {
                assert_eq!(stem(word), wanted, "stem of {word}");
            }
        }
    }

    #[test]
    fn accents_width_and_case_are_folded() {
        assert_eq!(
            exact("Caf\u{E9} CAFE\u{301} \u{FF13}\u{FF14} \u{1E9E}"),
            ["cafe", "cafe", "34", "\u{DF}"]
        );
        assert_eq!(
            exact("\u{5E9}\u{5C1}\u{5B8}\u{5DC}\u{5D5}\u{5B9}\u{5DD}"),
            ["\u{5E9}\u{5DC}\u{5D5}\u{5DD}"]
        );
        assert_eq!(
            exact("\u{1F525} *** -- \u{2026} \u{2764}\u{FE0F}"),
            ["\u{1F525}", "\u{2764}"]
        );
    }

    #[test]
    fn a_word_without_end_is_cut() {
        assert_eq!(exact(&"a".repeat(10_000)), ["a".repeat(WORD_CHARS)]);
    }
}
