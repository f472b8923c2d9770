//! The words of a hit in context: pieces of plain text, marked where they answer the search.

use serde::{Deserialize, Serialize};
use unicode_segmentation::UnicodeSegmentation;

use crate::query::Clause;
use crate::words::{Word, words};

/// Longest stretch of a text shown, in characters as readers count them (grapheme clusters, UAX #29).
pub const FRAGMENT_GRAPHEMES: usize = 240;

/// Graphemes kept before the first hit when the beginning is left out.
const LEAD_GRAPHEMES: usize = 40;

/// Says that text was left out.
const LEFT_OUT: &str = "\u{2026}";

/// A piece of text; the pieces of a hit follow each other without gaps.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Piece {
    /// The text.
    pub text: String,
    /// Whether it is what was looked for.
    pub hit: bool,
}

/// Cuts `text` to at most [`FRAGMENT_GRAPHEMES`] around the words `clauses` speak of.
pub(crate) fn fragments(text: &str, clauses: &[Clause]) -> Vec<Piece> {
    let starts: Vec<usize> = text
        .grapheme_indices(true)
        .map(|(start, _)| start)
        .collect();
    let marks = marked(text, &starts, clauses);
    let (from, to) = window(text, &starts, &marks);
    let mut pieces = Vec::new();
    if from > 0 {
        push(&mut pieces, LEFT_OUT, false);
    }
    let mut done = from;
    for &(start, end) in marks
        .iter()
        .filter(|(start, end)| *start >= from && *end <= to)
    {
        push(&mut pieces, &text[done..start], false);
        push(&mut pieces, &text[start..end], true);
        done = end;
    }
    push(&mut pieces, &text[done..to], false);
    if to < text.len() {
        push(&mut pieces, LEFT_OUT, false);
    }
    pieces
}

fn push(pieces: &mut Vec<Piece>, text: &str, hit: bool) {
    match pieces.last_mut() {
        _ if text.is_empty() => {}
        Some(last) if last.hit == hit => last.text.push_str(text),
        _ => pieces.push(Piece {
            text: text.to_owned(),
            hit,
        }),
    }
}

/// The byte ranges to mark: in order, apart from each other, on grapheme boundaries.
fn marked(text: &str, starts: &[usize], clauses: &[Clause]) -> Vec<(usize, usize)> {
    let held: Vec<Word> = words(text).collect();
    let mut ranges: Vec<(usize, usize)> = clauses
        .iter()
        .flat_map(|clause| clause.places(&held))
        .map(|place| (held[place.start].start, held[place.end - 1].end))
        .map(|(start, end)| (floor(starts, start), ceil(starts, end, text.len())))
        .collect();
    ranges.sort_unstable();
    let mut apart: Vec<(usize, usize)> = Vec::with_capacity(ranges.len());
    for (start, end) in ranges {
        match apart.last_mut() {
            Some(last) if start < last.1 => last.1 = last.1.max(end),
            _ => apart.push((start, end)),
        }
    }
    apart
}

fn floor(starts: &[usize], at: usize) -> usize {
    let after = starts.partition_point(|start| *start <= at);
    after.checked_sub(1).map_or(0, |index| starts[index])
}

fn ceil(starts: &[usize], at: usize, len: usize) -> usize {
    starts
        .get(starts.partition_point(|start| *start < at))
        .copied()
        .unwrap_or(len)
}

/// The byte range shown: all of a short text; else a stretch that begins a little before the mark with
/// the most marks close behind it, at a word.
fn window(text: &str, starts: &[usize], marks: &[(usize, usize)]) -> (usize, usize) {
    let count = starts.len();
    if count <= FRAGMENT_GRAPHEMES {
        return (0, text.len());
    }
    let index_of = |byte: usize| starts.partition_point(|start| *start < byte);
    let reach = FRAGMENT_GRAPHEMES - LEAD_GRAPHEMES;
    let ends: Vec<usize> = marks.iter().map(|(_, end)| index_of(*end)).collect();
    let (mut best, mut most) = (0, 0);
    for (nth, (start, _)) in marks.iter().enumerate() {
        let first = index_of(*start);
        let close = ends
            .partition_point(|end| *end <= first + reach)
            .saturating_sub(nth);
        if close > most {
            (best, most) = (first, close);
        }
    }
    let lead = best
        .saturating_sub(LEAD_GRAPHEMES)
        .min(count - FRAGMENT_GRAPHEMES);
    let from = word_start(text, starts, lead, best);
    let to = lead + FRAGMENT_GRAPHEMES;
    (starts[from], word_end(text, starts, to.max(from + 1)))
}

/// The first grapheme from `lead` on that begins a word, not past `limit`.
fn word_start(text: &str, starts: &[usize], lead: usize, limit: usize) -> usize {
    if lead == 0 {
        return 0;
    }
    let is_space = |index: usize| text[starts[index]..].starts_with(char::is_whitespace);
    (lead..limit.max(lead))
        .find(|index| is_space(index - 1) && !is_space(*index))
        .unwrap_or(lead)
}

/// The byte after the last whole word before grapheme `to`; `to` itself where no space is near.
fn word_end(text: &str, starts: &[usize], to: usize) -> usize {
    let Some(&cut) = starts.get(to) else {
        return text.len();
    };
    let near = starts[to.saturating_sub(LEAD_GRAPHEMES)];
    text[near..cut]
        .char_indices()
        .rev()
        .find(|(_, c)| c.is_whitespace())
        .map_or(cut, |(at, _)| floor(starts, near + at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::query::parse;
    use proptest::prelude::*;

    fn shown(text: &str, search: &str) -> String {
        let clauses = parse(search).unwrap_or_default();
        let mark = |piece: Piece| {
            if piece.hit {
                format!("[{}]", piece.text)
            } else {
                piece.text
            }
        };
        fragments(text, &clauses).into_iter().map(mark).collect()
    }

    #[test]
    fn the_words_looked_for_are_marked() {
        let cases = [
            ("The hand holds.", "hold ", "The hand [holds]."),
            ("The hand holds.", "\"hand holds\"", "The [hand holds]."),
            (
                "hand, hand; hold hand",
                "\"hold hand\" hand ",
                "[hand], [hand]; [hold hand]",
            ),
            ("Caf\u{E9} walk", "cafe*", "[Caf\u{E9}] walk"),
            ("<b>hips</b> & toes", "hips", "<b>[hips]</b> & toes"),
            ("nothing here", "", "nothing here"),
            ("", "hips", ""),
        ];
        for (text, search, wanted) in cases {
            assert_eq!(shown(text, search), wanted);
        }
    }

    #[test]
    fn a_long_text_is_cut_at_words_around_the_hits() {
        let filler = "one two three four five six seven eight nine ten ".repeat(20);
        let text = format!("{filler}the elbow leads {filler}");
        let cut = shown(&text, "elbow ");
        assert!(
            cut.starts_with(LEFT_OUT) && cut.ends_with(LEFT_OUT),
            "{cut}"
        );
        assert!(cut.contains("the [elbow] leads"), "{cut}");
        let first = cut.trim_start_matches(LEFT_OUT).split(' ').next();
        assert!(
            first.is_some_and(|word| filler.split(' ').any(|whole| whole == word)),
            "{cut}"
        );
        assert!(cut.graphemes(true).count() <= FRAGMENT_GRAPHEMES + 4);
    }

    proptest! {
        /// Pieces are the text itself, and no grapheme is cut, whatever the text.
        #[test]
        fn no_grapheme_is_cut(
            text in "([a-d]{1,5}|e\u{301}|\u{1F469}\u{200D}\u{1F52C}|\u{1F1F8}\u{1F1EA}|\u{5E9}\u{5C1}|\u{1100}\u{1161}|\u{915}\u{94D}\u{937}| |\n){0,400}",
            search in "([a-d]{1,3}[* ]|\u{1F469} |\u{5E9} ){0,4}",
        ) {
            let clauses = parse(&search).unwrap_or_default();
            let pieces = fragments(&text, &clauses);
            let inner: Vec<&str> = pieces.iter().map(|piece| piece.text.trim_matches('\u{2026}')).collect();
            let joined = inner.concat();
            let at = text.find(&joined);
            prop_assert!(at.is_some(), "not a stretch of the text");
            let starts: std::collections::HashSet<usize> =
                text.grapheme_indices(true).map(|(start, _)| start).chain([text.len()]).collect();
            prop_assert!(joined.graphemes(true).count() <= FRAGMENT_GRAPHEMES);
            let whole = text.match_indices(&joined).map(|(at, _)| at).any(|mut at| {
                inner.iter().all(|piece| {
                    let begins = starts.contains(&at);
                    at += piece.len();
                    begins && starts.contains(&at)
                })
            });
            prop_assert!(whole, "a grapheme was cut");
        }
    }
}
