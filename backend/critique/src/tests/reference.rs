//! Against rank-bm25, scikit-learn, scipy.stats and lifelines: values of `tests/reference/critique.py`, checked in beside it.

use serde::Deserialize;
use unicode_segmentation::UnicodeSegmentation;

use super::critic;
use crate::beta::Beta;
use crate::contract::Note;
use crate::habits::{Count, HabitKey, habit, prior};
use crate::survival::{Followed, curve};
use crate::words::tokens;
use crate::yardstick::Corpus;

#[derive(Deserialize)]
struct Reference {
    words: Vec<WordSet>,
    beta: Vec<BetaRow>,
    habits: HabitRows,
    survival: Vec<SurvivalRow>,
}

#[derive(Deserialize)]
struct WordSet {
    docs: Vec<String>,
    rows: Vec<WordRow>,
}

#[derive(Deserialize)]
struct WordRow {
    query: String,
    bm25: Vec<f64>,
    tfidf: Vec<f64>,
    tfidf_log: Vec<f64>,
}

#[derive(Deserialize)]
struct BetaRow {
    alpha: f64,
    beta: f64,
    mean: f64,
    cdf: Vec<(f64, f64)>,
    quantile: Vec<(f64, f64)>,
}

#[derive(Deserialize)]
struct HabitRows {
    with: Vec<u32>,
    shots: Vec<u32>,
    alpha: f64,
    beta: f64,
    posterior: Vec<PosteriorRow>,
}

#[derive(Deserialize)]
struct PosteriorRow {
    with: u32,
    shots: u32,
    mean: f64,
    low: f64,
    high: f64,
    above: f64,
}

#[derive(Deserialize)]
struct SurvivalRow {
    name: String,
    times: Vec<f64>,
    cleared: Vec<u8>,
    steps: Vec<(f64, f64, f64)>,
    median: Option<f64>,
}

fn reference() -> Reference {
    serde_json::from_str(include_str!("../../../../tests/reference/critique.json")).unwrap()
}

fn near(ours: &[f64], theirs: &[f64], within: f64, what: &str) {
    assert_eq!(ours.len(), theirs.len(), "{what}");
    for (a, b) in ours.iter().zip(theirs) {
        assert!((a - b).abs() <= within, "{what}: {a} beside {b}");
    }
}

#[test]
fn likeness_by_words_agrees_with_rank_bm25_and_scikit_learn() {
    for set in reference().words {
        let corpus = Corpus::new(set.docs.iter().map(String::as_str));
        for row in set.rows {
            near(&corpus.bm25(&row.query), &row.bm25, 1e-9, &row.query);
            near(
                &corpus.tfidf(&row.query, false),
                &row.tfidf,
                1e-9,
                &row.query,
            );
            near(
                &corpus.tfidf(&row.query, true),
                &row.tfidf_log,
                1e-9,
                &row.query,
            );
        }
    }
}

#[test]
fn the_beta_distribution_agrees_with_scipy() {
    for row in reference().beta {
        let beta = Beta {
            alpha: row.alpha,
            beta: row.beta,
        };
        near(&[beta.mean()], &[row.mean], 1e-12, "mean");
        for (x, p) in row.cdf {
            near(&[beta.cdf(x)], &[p], 1e-10, &format!("{beta:?} up to {x}"));
        }
        for (p, x) in row.quantile {
            near(&[beta.quantile(p)], &[x], 1e-9, &format!("{beta:?} at {p}"));
        }
    }
}

#[test]
fn habits_agree_with_scipy_and_the_written_formula() {
    let rows = reference().habits;
    let students: Vec<Count> = rows
        .with
        .iter()
        .zip(&rows.shots)
        .map(|(k, n)| Count {
            with: *k,
            shots: *n,
        })
        .collect();
    let held = prior(&students);
    near(
        &[held.alpha, held.beta],
        &[rows.alpha, rows.beta],
        1e-9,
        "prior by moments",
    );
    let key = HabitKey {
        principle: domain::Principle::Spacing,
        area: "arm".into(),
    };
    for row in rows.posterior {
        let got = habit(
            key.clone(),
            Count {
                with: row.with,
                shots: row.shots,
            },
            Beta {
                alpha: 1.2,
                beta: 4.8,
            },
        );
        let ours = [got.rate, got.interval.0, got.interval.1, got.above_school];
        near(
            &ours,
            &[row.mean, row.low, row.high, row.above],
            1e-9,
            "posterior",
        );
        assert_eq!(got.caution.is_some(), row.shots < 4);
    }
}

#[test]
fn the_prior_stays_sane_at_its_ends() {
    let all =
        |with: u32, shots: u32, students: usize| prior(&vec![Count { with, shots }; students]);
    assert_eq!(
        all(1, 5, 4),
        Beta {
            alpha: 1.0,
            beta: 4.0
        },
        "four students say nothing"
    );
    for held in [all(0, 6, 8), all(6, 6, 8), all(3, 6, 8), all(0, 0, 9)] {
        assert!(
            held.alpha > 0.0 && held.beta > 0.0 && held.alpha + held.beta <= 50.0 + 1e-9,
            "{held:?}"
        );
    }
}

#[test]
fn times_to_clear_agree_with_lifelines_and_kaplan_and_meier() {
    for row in reference().survival {
        let followed: Vec<Followed> = row
            .times
            .iter()
            .zip(&row.cleared)
            .map(|(t, c)| Followed {
                time: *t,
                cleared: *c == 1,
            })
            .collect();
        let got = curve(&followed);
        assert_eq!(got.steps.len(), row.steps.len(), "{}", row.name);
        for (ours, theirs) in got.steps.iter().zip(row.steps) {
            near(
                &[ours.time, ours.open, ours.error],
                &[theirs.0, theirs.1, theirs.2],
                1e-9,
                &row.name,
            );
        }
        assert_eq!(got.median, row.median, "{}", row.name);
    }
    // The published example: Kaplan & Meier 1958, from memory.
    let published = [0.875, 0.7, 0.525, 0.2625];
    let first = curve(
        &[
            (0.8, true),
            (3.1, true),
            (5.4, true),
            (9.2, true),
            (1.0, false),
            (2.7, false),
            (7.0, false),
            (12.1, false),
        ]
        .map(|(time, cleared)| Followed { time, cleared }),
    );
    near(
        &first.steps.iter().map(|s| s.open).collect::<Vec<_>>(),
        &published,
        1e-12,
        "Kaplan & Meier",
    );
}

/// UAX #29: a word of ours lies within one word of the standard, and a standard word of plain letters and digits is one of ours.
#[test]
fn words_keep_to_the_boundaries_of_uax_29() {
    let file = std::fs::read_to_string(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../ops/train/data/tune.jsonl"
    ))
    .unwrap();
    let mut words = 0;
    for shot in super::data::shots(&file).iter().take(12) {
        for note in shot.revisions.iter().flat_map(|r| &r.notes) {
            let ours: Vec<(usize, usize)> = tokens(&note.text)
                .iter()
                .map(|t| (t.start, t.end))
                .collect();
            for (start, word) in note.text.unicode_word_indices() {
                let end = start + word.len();
                if word.bytes().all(|b| b.is_ascii_alphanumeric()) {
                    words += 1;
                    assert!(ours.contains(&(start, end)), "{word} in {}", note.text);
                }
            }
            for (start, end) in ours {
                let within = note
                    .text
                    .unicode_word_indices()
                    .any(|(s, w)| s <= start && end <= s + w.len());
                let mark = matches!(&note.text[start..end], "%" | "\u{bd}");
                assert!(
                    within || mark,
                    "{} in {}",
                    &note.text[start..end],
                    note.text
                );
            }
        }
    }
    assert!(words > 2000, "{words} words were looked at");
}

/// The weights of a note's words are those of scikit-learn's formula with its document frequencies: a note beside itself is 1.
#[test]
fn a_note_beside_itself_is_as_alike_as_can_be() {
    let critic = critic();
    let note: Note = serde_json::from_str(
        r#"{"id":"a","text":"the left wrist pops at frame 40","span":[39,41]}"#,
    )
    .unwrap();
    let taken = critic.analyse(&note);
    assert!((crate::note::cosine(&taken.words, &taken.words) - 1.0).abs() < 1e-12);
}
