//! Where in a JSON text something stands.

use serde_path_to_error::{Path, Segment};

/// The line, counted from 1, on which the value at a path begins. 1 if the path leads nowhere.
pub fn line(json: &str, path: &Path) -> usize {
    let mut cursor = Cursor {
        bytes: json.as_bytes(),
        at: 0,
    };
    for segment in path.iter() {
        let found = match segment {
            Segment::Map { key } => cursor.enter_key(key),
            Segment::Seq { index } => cursor.enter_index(*index),
            Segment::Enum { .. } | Segment::Unknown => None,
        };
        if found.is_none() {
            break;
        }
    }
    cursor.line()
}

/// The same for a path as it is written: `shot.revisions[0].span`.
pub fn line_of(json: &str, path: &str) -> usize {
    let mut cursor = Cursor {
        bytes: json.as_bytes(),
        at: 0,
    };
    for step in path.split(['.', '[']) {
        let found = match step.strip_suffix(']').and_then(|n| n.parse().ok()) {
            Some(index) => cursor.enter_index(index),
            None => cursor.enter_key(step),
        };
        if found.is_none() {
            break;
        }
    }
    cursor.line()
}

/// Walks over JSON that is known to be well formed.
struct Cursor<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Cursor<'_> {
    fn line(mut self) -> usize {
        self.blank();
        1 + self.bytes[..self.at.min(self.bytes.len())]
            .iter()
            .filter(|b| **b == b'\n')
            .count()
    }

    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn blank(&mut self) {
        while self.peek().is_some_and(|b| b.is_ascii_whitespace()) {
            self.at += 1;
        }
    }

    fn take(&mut self, wanted: u8) -> Option<()> {
        self.blank();
        (self.peek()? == wanted).then(|| self.at += 1)
    }

    fn enter_key(&mut self, key: &str) -> Option<()> {
        self.take(b'{')?;
        loop {
            self.blank();
            let start = self.at;
            self.string()?;
            let name: Option<String> = serde_json::from_slice(&self.bytes[start..self.at]).ok();
            self.take(b':')?;
            if name.as_deref() == Some(key) {
                return Some(());
            }
            self.value()?;
            self.take(b',')?;
        }
    }

    fn enter_index(&mut self, index: usize) -> Option<()> {
        self.take(b'[')?;
        for _ in 0..index {
            self.value()?;
            self.take(b',')?;
        }
        Some(())
    }

    fn string(&mut self) -> Option<()> {
        self.take(b'"')?;
        loop {
            match self.peek()? {
                b'\\' => self.at += 2,
                b'"' => {
                    self.at += 1;
                    return Some(());
                }
                _ => self.at += 1,
            }
        }
    }

    /// Past a value, whatever it is.
    fn value(&mut self) -> Option<()> {
        self.blank();
        let mut depth = 0_u32;
        loop {
            match self.peek()? {
                b'"' => self.string()?,
                b'{' | b'[' => {
                    depth += 1;
                    self.at += 1;
                }
                b'}' | b']' | b',' if depth == 0 => return Some(()),
                b'}' | b']' => {
                    depth -= 1;
                    self.at += 1;
                }
                _ => self.at += 1,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_found_by_its_path() {
        let json = "{\n \"a\": [1, {\"x,]\": \"}\"},\n  {\"b\\n\": 2,\n \"c\": 3}]}";
        let fault = |json: &str| {
            let mut read = serde_json::Deserializer::from_str(json);
            serde_path_to_error::deserialize::<_, Outer>(&mut read)
                .err()
                .map(|e| line(json, e.path()))
        };
        #[derive(serde::Deserialize)]
        struct Outer {
            #[expect(dead_code, reason = "only read")]
            a: Vec<Option<Inner>>,
        }
        #[derive(serde::Deserialize)]
        struct Inner {
            #[expect(dead_code, reason = "only read")]
            c: Option<bool>,
        }
        assert_eq!(fault(&json.replace("1, {", "null, {")), Some(4));
    }
}
