//! Speed of the archive with 100,000 invented notes, against reading all of them in the same run.
//!
//! `cargo run --release -p archive --example search_speed [notes]` prints `name<TAB>value<TAB>unit`.

use std::error::Error;
use std::hint::black_box;
use std::io::Write;
use std::time::Instant;

use archive::scan::scan;
use archive::{Archive, Asker, Change, Document, DocumentKey, Filters, Named, Search, Sort, Span};
use chrono::{DateTime, Duration, Utc};
use domain::parts::PartRef;
use domain::{Kind, Principle};
use uuid::Uuid;

const NOTES: u64 = 100_000;
const ENROLMENTS: u64 = 1_000;
const MENTORED: u64 = 300;
const QUERY_ROUNDS: usize = 40;
const SCAN_ROUNDS: usize = 3;
const CHANGES: u64 = 60;

const QUERIES: [&str; 10] = [
    "hand",
    "settle ",
    "moving hold ",
    "\"moving hold\"",
    "anticip*",
    "hip* arc ",
    "elbow wrist spacing ",
    "h",
    "",
    "r3 lantern ",
];
const COMMON: [&str; 24] = [
    "the",
    "hand",
    "moves",
    "on",
    "frame",
    "is",
    "late",
    "hold",
    "moving",
    "hip",
    "arc",
    "and",
    "of",
    "foot",
    "slides",
    "settle",
    "wrist",
    "elbow",
    "leads",
    "spacing",
    "anticipation",
    "before",
    "after",
    "shoulder",
];

/// A small generator of its own, so that every run has the same notes.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % sides
    }
}

fn id<T: From<Uuid>>(kind: u128, n: u64) -> T {
    Uuid::from_u128((kind << 64) | u128::from(n)).into()
}

fn time(minutes: u64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + Duration::days(20_000) + Duration::minutes(minutes as i64)
}

fn sentence(dice: &mut Dice) -> String {
    let count = 6 + dice.roll(30);
    let mut words = Vec::new();
    for _ in 0..count {
        words.push(match dice.roll(5) {
            0 => format!("w{}", dice.roll(8_000)),
            _ => COMMON[dice.roll(COMMON.len() as u64) as usize].to_owned(),
        });
    }
    words.join(" ")
}

fn note(dice: &mut Dice, n: u64) -> Document {
    let enrolment = dice.roll(ENROLMENTS);
    let visible = dice.roll(50) > 0;
    Document {
        key: DocumentKey {
            sort: Sort::Note,
            id: id(1, n),
        },
        school: id(2, enrolment % 3),
        enrolment: id(3, enrolment),
        student: Named {
            id: id(4, enrolment),
            name: format!("Student {enrolment}"),
        },
        critique: id(6, n / 6),
        critic: id(5, enrolment % 7),
        visible_from: visible.then(|| time(n)),
        note: Some(id(1, n)),
        shot: Named {
            id: id(7, n / 30),
            name: format!("Shot {}", n / 30),
        },
        first_frame: 1,
        revision: 1 + (n % 5) as i32,
        footage: id(8, n / 6),
        kind: Some(Kind::ALL[dice.roll(Kind::ALL.len() as u64) as usize]),
        principles: vec![Principle::ALL[dice.roll(Principle::ALL.len() as u64) as usize]],
        parts: vec![PartRef {
            part: ["wrist", "foot", "head"][dice.roll(3) as usize].to_owned(),
            side: None,
        }],
        span: Some(Span { start: 10, end: 20 }),
        words: sentence(dice),
        at: time(n),
    }
}

fn say(name: &str, value: f64, unit: &str) -> std::io::Result<()> {
    writeln!(std::io::stdout(), "{name}\t{value:.3}\t{unit}")
}

fn quantile(times: &mut [f64], q: f64) -> f64 {
    times.sort_by(f64::total_cmp);
    times[((times.len() - 1) as f64 * q).round() as usize]
}

fn millis(begun: Instant) -> f64 {
    begun.elapsed().as_secs_f64() * 1_000.0
}

fn main() -> Result<(), Box<dyn Error>> {
    let count = std::env::args()
        .nth(1)
        .map_or(Ok(NOTES), |text| text.parse())?;
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let documents: Vec<Document> = (0..count).map(|n| note(&mut dice, n)).collect();
    let folder = tempfile::tempdir()?;
    let (archive, _) = Archive::open(folder.path(), "invented")?;

    let begun = Instant::now();
    let mut rebuild = archive.rebuild("invented")?;
    for batch in documents.chunks(5_000) {
        let batch: Vec<Change> = batch
            .iter()
            .map(|note| Change::Put(Box::new(note.clone())))
            .collect();
        rebuild.add(&batch)?;
    }
    rebuild.finish(1)?;
    say("archive_rebuild", begun.elapsed().as_secs_f64(), "s")?;
    say(
        "archive_rebuild_rate",
        count as f64 / begun.elapsed().as_secs_f64(),
        "notes/s",
    )?;

    let mentored = (0..MENTORED).map(|n| id(3, n * 3)).collect();
    let asker = Asker {
        school: id(2, 0),
        person: id(5, 0),
        as_student: false,
        as_mentor: Some(mentored),
        as_office: false,
    };
    queries(&archive, &documents, &asker)?;
    changes(&archive, &mut dice, &asker, count)?;

    drop(archive);
    let begun = Instant::now();
    let (_, state) = Archive::open(folder.path(), "invented")?;
    state?;
    say("archive_open", millis(begun), "ms")?;
    Ok(())
}

fn queries(archive: &Archive, documents: &[Document], asker: &Asker) -> Result<(), Box<dyn Error>> {
    let filters = Filters::default();
    let now = time(u64::from(u32::MAX));
    let (mut indexed, mut scanned) = (Vec::new(), Vec::new());
    for round in 0..QUERY_ROUNDS {
        for text in QUERIES {
            let begun = Instant::now();
            let page = archive.search(
                asker,
                &Search {
                    text,
                    filters: &filters,
                    cursor: None,
                    limit: 30,
                    now,
                },
            )?;
            indexed.push(millis(begun));
            if round < SCAN_ROUNDS {
                let begun = Instant::now();
                let found = black_box(scan(documents, asker, text, &filters, now)?);
                scanned.push(millis(begun));
                if found.len() != page.total {
                    return Err(format!(
                        "{text:?}: the index finds {}, the scan {}",
                        page.total,
                        found.len()
                    )
                    .into());
                }
            }
        }
    }
    let (p50, p99) = (quantile(&mut indexed, 0.5), quantile(&mut indexed, 0.99));
    let reference = quantile(&mut scanned, 0.5);
    say("archive_query_p50", p50, "ms")?;
    say("archive_query_p99", p99, "ms")?;
    say("scan_query_p50", reference, "ms")?;
    say("scan_query_p99", quantile(&mut scanned, 0.99), "ms")?;
    say("archive_query_to_scan_p50", p50 / reference, "ratio")?;
    Ok(())
}

/// From a change handed over until a search finds it.
fn changes(
    archive: &Archive,
    dice: &mut Dice,
    asker: &Asker,
    count: u64,
) -> Result<(), Box<dyn Error>> {
    let filters = Filters::default();
    let now = time(u64::from(u32::MAX));
    let mut times = Vec::new();
    for n in 0..CHANGES {
        let text = format!("fresh{n} ");
        let document = Document {
            enrolment: id(3, 0),
            school: asker.school,
            visible_from: Some(time(count + n)),
            words: text.clone(),
            ..note(dice, count + n)
        };
        let begun = Instant::now();
        archive.apply(&[Change::Put(Box::new(document))], 2 + n)?;
        let page = archive.search(
            asker,
            &Search {
                text: &text,
                filters: &filters,
                cursor: None,
                limit: 30,
                now,
            },
        )?;
        times.push(millis(begun));
        if page.total != 1 {
            return Err(format!("{text}is not found").into());
        }
    }
    say(
        "archive_change_to_findable_p50",
        quantile(&mut times, 0.5),
        "ms",
    )?;
    say(
        "archive_change_to_findable_p99",
        quantile(&mut times, 0.99),
        "ms",
    )?;
    Ok(())
}
