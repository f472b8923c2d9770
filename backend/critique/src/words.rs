//! Words of a note: tokens, and the stems they share with their kin.

/// One word as it is matched: lower-case ASCII letters and digits, apostrophes dropped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Token {
    /// The word, spelling mended where that is safe.
    pub text: String,
    /// First byte in the text the word was read from.
    pub start: usize,
    /// One past its last byte.
    pub end: usize,
    /// Number of the clause: punctuation and words like "but" begin a new one.
    pub clause: u32,
    /// Number of the sentence: only full stops and their like begin a new one.
    pub sentence: u32,
}

/// Words that turn the sentence round and so begin a clause.
const TURNS: &[&str] = &["but", "however", "although", "though", "except"];

/// Whether the word turns the sentence round.
pub fn is_turn(word: &str) -> bool {
    TURNS.contains(&word)
}

/// Splits a text into words. Letters with an accent lose it; other scripts and pictures separate words and are otherwise skipped.
pub fn tokens(text: &str) -> Vec<Token> {
    let mut reader = Reader::default();
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let next = chars.peek().map(|(_, c)| *c);
        reader.take(at, c, next);
    }
    reader.close(text.len());
    reader.done
}

#[derive(Default)]
struct Reader {
    done: Vec<Token>,
    word: String,
    start: usize,
    clause: u32,
    sentence: u32,
    before: Option<char>,
}

impl Reader {
    fn take(&mut self, at: usize, c: char, next: Option<char>) {
        if let Some(letter) = plain(c) {
            if self.word.is_empty() {
                self.start = at;
            }
            self.word.push_str(letter.as_str());
        } else if !(is_apostrophe(c) && next.is_some_and(char::is_alphanumeric)) {
            self.close(at);
            self.mark(at, c, next);
        }
        self.before = Some(c);
    }

    fn mark(&mut self, at: usize, c: char, next: Option<char>) {
        let digits = self.before.is_some_and(|b| b.is_ascii_digit())
            && next.is_some_and(|n| n.is_ascii_digit());
        let spaced =
            self.before.is_none_or(char::is_whitespace) && next.is_none_or(char::is_whitespace);
        match c {
            '%' => self.whole_word(at, c, "percent"),
            '\u{bd}' => self.whole_word(at, c, "half"),
            '.' | ',' | ':' if digits => {}
            '.' | ';' | '!' | '?' | '\n' | '\u{3002}' | '\u{61f}' => {
                self.clause += 1;
                self.sentence += 1;
            }
            ',' | ':' | '(' | ')' | '\u{2014}' | '\u{2013}' | '\u{60c}' => self.clause += 1,
            '-' if spaced => self.clause += 1,
            _ => {}
        }
    }

    fn whole_word(&mut self, at: usize, c: char, word: &str) {
        self.start = at;
        self.word.push_str(word);
        self.close(at + c.len_utf8());
    }

    fn close(&mut self, end: usize) {
        if self.word.is_empty() {
            return;
        }
        let text = std::mem::take(&mut self.word);
        if is_turn(&text) {
            self.clause += 1;
        }
        self.done.push(Token {
            text,
            start: self.start,
            end,
            clause: self.clause,
            sentence: self.sentence,
        });
    }
}

fn is_apostrophe(c: char) -> bool {
    matches!(c, '\'' | '\u{2019}' | '\u{2bc}' | '`')
}

enum Letter {
    One([u8; 1]),
    Two(&'static str),
}

impl Letter {
    fn as_str(&self) -> &str {
        match self {
            Letter::One(byte) => std::str::from_utf8(byte).unwrap_or_default(),
            Letter::Two(both) => both,
        }
    }
}

/// The plain form of a Latin letter or a digit; none for everything else.
fn plain(c: char) -> Option<Letter> {
    let one = |b: u8| Some(Letter::One([b]));
    match c {
        'a'..='z' | '0'..='9' => u8::try_from(c).ok().and_then(one),
        'A'..='Z' => u8::try_from(c.to_ascii_lowercase()).ok().and_then(one),
        'à'..='å' | 'À'..='Å' => one(b'a'),
        'ç' | 'Ç' => one(b'c'),
        'è'..='ë' | 'È'..='Ë' => one(b'e'),
        'ì'..='ï' | 'Ì'..='Ï' => one(b'i'),
        'ñ' | 'Ñ' => one(b'n'),
        'ò'..='ö' | 'ø' | 'Ò'..='Ö' | 'Ø' => one(b'o'),
        'ù'..='ü' | 'Ù'..='Ü' => one(b'u'),
        'æ' | 'Æ' => Some(Letter::Two("ae")),
        'œ' | 'Œ' => Some(Letter::Two("oe")),
        'ß' => Some(Letter::Two("ss")),
        _ => None,
    }
}

/// The stem: plural and verb endings dropped while three letters stay, a doubled end made single, a final e dropped.
pub fn stem(word: &str) -> String {
    if word.bytes().any(|b| b.is_ascii_digit()) {
        return word.into();
    }
    if let Some(root) = word.strip_suffix("ies").filter(|root| root.len() >= 2) {
        return format!("{root}y");
    }
    let mut root = word;
    let mut cut = false;
    for ending in ["ing", "ed", "ly", "es", "s"] {
        if ending == "s" && word.ends_with("ss") {
            continue;
        }
        if let Some(rest) = word.strip_suffix(ending).filter(|rest| rest.len() >= 3) {
            root = rest;
            cut = true;
            break;
        }
    }
    let bytes = root.as_bytes();
    let doubled = bytes.len() >= 4 && bytes[bytes.len() - 1] == bytes[bytes.len() - 2];
    if cut && doubled {
        root = &root[..root.len() - 1];
    }
    match root.strip_suffix('e') {
        Some(rest) if rest.len() >= 3 => rest.into(),
        _ => root.into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<String> {
        tokens(text).into_iter().map(|t| t.text).collect()
    }

    #[test]
    fn apostrophes_vanish_and_accents_fall_off() {
        assert_eq!(
            words("It’s the mentor's CAFÉ, isn't it"),
            ["its", "the", "mentors", "cafe", "isnt", "it"]
        );
        assert_eq!(
            words("30% less, ½ of it"),
            ["30", "percent", "less", "half", "of", "it"]
        );
        assert!(words("شكرا 🎬 ありがとう").is_empty());
    }

    #[test]
    fn clauses_begin_at_marks_and_at_but() {
        let clauses: Vec<_> = tokens("nice arm, the leg pops but 1.5 is fine - now")
            .iter()
            .map(|t| t.clause)
            .collect();
        assert_eq!(clauses, [0, 0, 1, 1, 1, 2, 2, 2, 2, 2, 3]);
    }

    #[test]
    fn kin_share_a_stem() {
        for (a, b) in [
            ("moves", "moving"),
            ("travelling", "travel"),
            ("bodies", "body"),
            ("eased", "easing"),
            ("hips", "hip"),
            ("popping", "pops"),
        ] {
            assert_eq!(stem(a), stem(b), "{a} and {b}");
        }
        assert_eq!(stem("less"), "less");
        assert_eq!(stem("does"), "doe");
    }
}
