//! A roster as a CSV file (RFC 4180): what its lines say, before anything is known about the school.

use chrono::NaiveDate;
use csv::{ReaderBuilder, StringRecord, Trim};

use crate::http::persons::types::{as_kept, has_words, is_mail_address};
use crate::http::problem::FieldError;

/// Lines that one file may have.
pub(super) const LINES_AT_MOST: usize = 1_000;
const NEEDED: [&str; 4] = ["name", "email", "course", "mentor_email"];
const OPTIONAL: [&str; 2] = ["starts_on", "submissions"];

/// What a file says.
#[derive(Debug, Default)]
pub(super) struct RosterFile {
    /// Its lines after the first, in their order.
    pub lines: Vec<Line>,
    /// What is to be mended.
    pub problems: Vec<FieldError>,
}

/// What a line says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Line {
    /// Its number in the file, from 1.
    pub number: u64,
    /// The student's name.
    pub name: String,
    /// The student's address, in small letters.
    pub email: String,
    /// The course's name.
    pub course: String,
    /// The mentor's address, in small letters.
    pub mentor_email: String,
    /// The first day, if given.
    pub starts_on: Option<NaiveDate>,
    /// Submissions to begin with, if given.
    pub submissions: Option<i32>,
    /// Whether one of these could not be understood.
    pub faulty: bool,
}

/// A problem of one field of one line.
pub(super) fn problem(line: u64, field: &str, reason: &str, remedy: &str) -> FieldError {
    FieldError {
        field: format!("line {line}, {field}"),
        reason: reason.into(),
        remedy: Some(remedy.to_owned()).filter(|words| !words.is_empty()),
    }
}

/// Reads a file: UTF-8 with or without a byte order mark, any line ends, quotes, comma or semicolon between the fields.
pub(super) fn read(bytes: &[u8]) -> RosterFile {
    let mut file = RosterFile::default();
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let text = match std::str::from_utf8(bytes) {
        Ok(text) if !text.contains('\0') => text,
        broken => {
            let good = match broken {
                Ok(text) => text.find('\0').unwrap_or_default(),
                Err(error) => error.valid_up_to(),
            };
            file.problems.push(problem(
                line_at(&bytes[..good]),
                "file",
                "is not text in UTF-8",
                "Save it as \"CSV UTF-8\".",
            ));
            return file;
        }
    };
    let first = text.lines().next().unwrap_or_default();
    let semicolons = first.contains(';') && !first.contains(',');
    let mut reader = ReaderBuilder::new()
        .delimiter(if semicolons { b';' } else { b',' })
        .trim(Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let columns = match reader.headers() {
        Ok(headers) => headers.iter().map(str::to_lowercase).collect::<Vec<_>>(),
        Err(error) => {
            file.problems
                .push(problem(1, "file", &error.to_string(), ""));
            return file;
        }
    };
    check_columns(&columns, &mut file.problems);
    if !file.problems.is_empty() {
        return file;
    }
    let mut lines = LineCount::new(text);
    for record in reader.records() {
        if file.lines.len() == LINES_AT_MOST {
            let reason = format!("has more than {LINES_AT_MOST} lines");
            file.problems.push(problem(1, "file", &reason, "Split it."));
            return file;
        }
        match record {
            Ok(record) => {
                let number = lines.line_of(record.position());
                let line = understand(&columns, &record, number, &mut file.problems);
                file.lines.push(line);
            }
            Err(error) => {
                let line = lines.line_of(error.position());
                file.problems
                    .push(problem(line, "line", &error.to_string(), ""));
            }
        }
    }
    if file.lines.is_empty() && file.problems.is_empty() {
        file.problems.push(problem(
            2,
            "line",
            "is missing: the file names nobody",
            "One student a line.",
        ));
    }
    file
}

/// The line that the end of these bytes is on.
fn line_at(bytes: &[u8]) -> u64 {
    bytes
        .iter()
        .map(|byte| u64::from(*byte == b'\n'))
        .sum::<u64>()
        + 1
}

/// Counts lines up to a place. The reader's own count stands one short after CRLF, which it takes for the end at its CR.
struct LineCount<'a> {
    rest: &'a [u8],
    passed: usize,
    line: u64,
}

impl<'a> LineCount<'a> {
    fn new(text: &'a str) -> Self {
        Self {
            rest: text.as_bytes(),
            passed: 0,
            line: 1,
        }
    }

    /// The line that what begins at or right after this place is on; places come in their order.
    fn line_of(&mut self, place: Option<&csv::Position>) -> u64 {
        let target = place.and_then(|place| usize::try_from(place.byte()).ok());
        while let [byte, rest @ ..] = self.rest {
            let is_end = matches!(byte, b'\r' | b'\n');
            if target.is_none_or(|target| self.passed >= target) && !is_end {
                break;
            }
            self.line += u64::from(*byte == b'\n');
            self.passed += 1;
            self.rest = rest;
        }
        self.line
    }
}

fn check_columns(columns: &[String], problems: &mut Vec<FieldError>) {
    let remedy = format!(
        "The first line is {},{}.",
        NEEDED.join(","),
        OPTIONAL.join(",")
    );
    for needed in NEEDED {
        if !columns.iter().any(|column| column == needed) {
            problems.push(problem(1, needed, "is missing", &remedy));
        }
    }
    for (index, column) in columns.iter().enumerate() {
        if !NEEDED.contains(&column.as_str()) && !OPTIONAL.contains(&column.as_str()) {
            problems.push(problem(1, column, "is not a column of a roster", &remedy));
        }
        if columns[..index].contains(column) {
            problems.push(problem(1, column, "stands there twice", &remedy));
        }
    }
}

fn understand(
    columns: &[String],
    record: &StringRecord,
    number: u64,
    problems: &mut Vec<FieldError>,
) -> Line {
    let before = problems.len();
    let field = |name: &str| {
        let at = columns.iter().position(|column| column == name);
        at.and_then(|at| record.get(at)).unwrap_or_default()
    };
    let mut fault = |field: &str, reason: &str, remedy: &str| {
        problems.push(problem(number, field, reason, remedy));
    };
    if record.len() > columns.len() {
        fault(
            "line",
            "has more fields than the first line",
            "Put a name with a comma in quotes.",
        );
    }
    let name = field("name");
    if has_words(name).is_err() || name.chars().count() > 120 {
        fault("name", "must be 1 to 120 characters", "");
    }
    if is_mail_address(field("email")).is_err() {
        fault("email", "is not a mail address", "");
    }
    if field("course").is_empty() {
        fault("course", "is missing", "The course's name.");
    }
    if field("mentor_email").is_empty() {
        fault("mentor_email", "is missing", "The mentor's mail address.");
    }
    let starts_on = match field("starts_on") {
        "" => None,
        day => day.parse::<NaiveDate>().map(Some).unwrap_or_else(|_| {
            fault("starts_on", "is not a day", "As in 2026-11-25.");
            None
        }),
    };
    let submissions = match field("submissions") {
        "" => None,
        n => n
            .parse()
            .ok()
            .filter(|n| (0..=1_000).contains(n))
            .map(Some)
            .unwrap_or_else(|| {
                fault("submissions", "must be a number from 0 to 1000", "");
                None
            }),
    };
    Line {
        number,
        name: name.to_owned(),
        email: as_kept(field("email")),
        course: field("course").to_owned(),
        mentor_email: as_kept(field("mentor_email")),
        starts_on,
        submissions,
        faulty: problems.len() > before,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn fields(file: &RosterFile) -> Vec<&str> {
        file.problems.iter().map(|p| p.field.as_str()).collect()
    }

    /// RFC 4180: quotes, doubled quotes, CRLF, a line end within a field.
    #[test]
    fn a_file_as_rfc_4180_has_it() {
        let file = read(
            b"\xef\xbb\xbfname,email,course,mentor_email,starts_on,submissions\r\n\"Lund, \xc3\x85sa \"\"Ossi\"\"\",Asa@X.example,Body,m@x.example,2026-12-01,16\r\nBo,bo@x.example,\"Bo\r\ndy\",m@x.example,,\r\n",
        );
        assert_eq!(fields(&file), [""; 0]);
        assert_eq!(file.lines[0].name, "Lund, Åsa \"Ossi\"");
        assert_eq!(file.lines[0].email, "asa@x.example");
        assert_eq!(
            file.lines[0].starts_on,
            NaiveDate::from_ymd_opt(2026, 12, 1)
        );
        assert_eq!(
            (file.lines[0].number, file.lines[0].submissions),
            (2, Some(16))
        );
        assert_eq!(
            (file.lines[1].number, file.lines[1].course.as_str()),
            (3, "Bo\r\ndy")
        );
    }

    #[test]
    fn every_fault_is_named_with_its_line() {
        let file = read(b"name;email;course;mentor_email;starts_on;submissions\n;x;Body;m@x.example;soon;-1\nBo;bo@x.example;;;;\n");
        assert_eq!(
            fields(&file),
            [
                "line 2, name",
                "line 2, email",
                "line 2, starts_on",
                "line 2, submissions",
                "line 3, course",
                "line 3, mentor_email"
            ]
        );
        assert!(file.lines.iter().all(|line| line.faulty));
    }

    #[test]
    fn a_file_without_its_columns_or_lines() {
        assert_eq!(
            fields(&read(b"name,mail\nBo,x")),
            [
                "line 1, email",
                "line 1, course",
                "line 1, mentor_email",
                "line 1, mail"
            ]
        );
        assert_eq!(
            fields(&read(b"name,email,course,mentor_email\n")),
            ["line 2, line"]
        );
        assert_eq!(fields(&read(b"\xff\xfe\x00")), ["line 1, file"]);
    }

    proptest! {
        #[test]
        fn nothing_makes_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
            let with_columns = [b"name,email,course,mentor_email\n".as_slice(), &bytes].concat();
            for file in [read(&bytes), read(&with_columns)] {
                prop_assert!(!file.lines.is_empty() || !file.problems.is_empty());
            }
        }
    }
}
