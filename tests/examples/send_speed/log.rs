//! The log of Postgres under `log_statement = all`: which statements a session ran, with which values.

use std::collections::BTreeMap;

/// A statement with its parameters' values.
pub struct Logged {
    /// Its text.
    pub text: String,
    /// The values of $1, $2 and so on; None is null.
    pub values: Vec<Option<String>>,
}

/// The transactions of the program's own sessions that were committed, in the order of their ends.
pub fn transactions(log: &str) -> Vec<Vec<Logged>> {
    let mut open: BTreeMap<String, Vec<Logged>> = BTreeMap::new();
    let mut done = vec![];
    for (process, entry) in entries(log) {
        let statements = open.entry(process.clone()).or_default();
        if let Some(values) = parameters_of(&entry) {
            if let Some(last) = statements.last_mut() {
                last.values = values_of(values);
            }
        } else if let Some(text) = text_of(&entry) {
            if text == "BEGIN" {
                statements.clear();
            }
            let ends = text == "COMMIT";
            statements.push(Logged {
                text,
                values: vec![],
            });
            if ends {
                done.extend(open.remove(&process));
            }
        }
    }
    done
}

/// The entries of the program's sessions: the process and what it says, over however many lines.
fn entries(log: &str) -> Vec<(String, String)> {
    let mut entries: Vec<(String, String)> = vec![];
    for line in log.lines() {
        if let Some(more) = line.strip_prefix('\t') {
            if let Some((_, text)) = entries.last_mut() {
                *text += "\n";
                *text += more;
            }
        } else if let Some((head, rest)) = line.split_once("] ") {
            let process = head.rsplit('[').next().unwrap_or_default();
            let (user, text) = rest.split_once(' ').unwrap_or_default();
            let is_ours = user.starts_with("refrain_app@");
            let process = if is_ours { process } else { "" };
            entries.push((process.to_owned(), text.to_owned()));
        }
    }
    entries.retain(|(process, _)| !process.is_empty());
    entries
}

fn text_of(entry: &str) -> Option<String> {
    let said = entry.strip_prefix("LOG:  ")?;
    let text = match said.strip_prefix("statement: ") {
        Some(text) => text,
        None => said.strip_prefix("execute ")?.split_once(": ")?.1,
    };
    Some(text.trim().to_owned())
}

/// `$1 = 'a', $2 = NULL` and so on; a quote inside a value is doubled.
fn values_of(text: &str) -> Vec<Option<String>> {
    let (mut values, mut rest) = (vec![], text);
    while let Some((_, after)) = rest.split_once(" = ") {
        let Some(quoted) = after.strip_prefix('\'') else {
            values.push(None);
            rest = after;
            continue;
        };
        let (value, behind) = unquoted(quoted);
        values.push(Some(value));
        rest = behind;
    }
    values
}

/// The value up to its closing quote, and what comes behind.
fn unquoted(quoted: &str) -> (String, &str) {
    let mut value = String::new();
    let mut letters = quoted.char_indices().peekable();
    while let Some((at, letter)) = letters.next() {
        if letter != '\'' {
            value.push(letter);
        } else if letters.next_if(|(_, next)| *next == '\'').is_some() {
            value.push('\'');
        } else {
            return (value, &quoted[at + 1..]);
        }
    }
    (value, "")
}

/// Written with a capital since Postgres 16.
fn parameters_of(entry: &str) -> Option<&str> {
    let detail = entry.strip_prefix("DETAIL:  ")?;
    let small = detail.strip_prefix("parameters: ");
    small.or_else(|| detail.strip_prefix("Parameters: "))
}
