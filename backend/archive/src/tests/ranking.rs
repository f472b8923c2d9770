//! Scores against an outside implementation, and the order of hits.

use std::collections::BTreeMap;

use tantivy::collector::TopDocs;

use super::data::{SOURCE, archive, folder, id, ids, mentor, minute, note, search};
use crate::compile::{permission, query, scored_terms};
use crate::live::Live;
use crate::query::{Clause, parse};
use crate::rank::Statistics;
use crate::schema::VERSION;
use crate::{Asker, Document, Filters};

const CORPUS: [&str; 4] = [
    "hand pops frame",
    "hand slides hand hip settle",
    "foot slides",
    "hip leads foot follows late late",
];

/// BM25 of the corpus above by the Python package `bm25s` 0.3.16, `BM25(method="lucene", k1=1.2, b=0.75)`,
/// times k1 + 1 = 2.2, the constant factor of equation 3.15 in Robertson & Zaragoza (2009) that it leaves out.
const SCORES: [(&str, [f32; 4]); 4] = [
    ("hand ", [0.772_113, 0.890_466, 0.0, 0.0]),
    ("slides ", [0.0, 0.628_835, 0.871_385, 0.0]),
    ("late ", [0.0, 0.0, 0.0, 1.451_365]),
    ("hand slides ", [0.0, 1.519_301, 0.0, 0.0]),
];

fn corpus() -> Vec<Document> {
    (1..).zip(CORPUS).map(|(n, words)| note(n, words)).collect()
}

/// Notes of another school, of another enrolment, and a draft of another mentor.
fn hidden() -> Vec<Document> {
    let words = "hand hand slides late late foot hip hand";
    let other_school = (1_000..1_030).map(|n| Document {
        school: id(2),
        ..note(n, words)
    });
    let other_enrolment = (2_000..2_030).map(|n| Document {
        enrolment: id(11),
        critic: id(201),
        ..note(n, words)
    });
    let draft = (3_000..3_030).map(|n| Document {
        visible_from: None,
        critic: id(201),
        ..note(n, words)
    });
    other_school.chain(other_enrolment).chain(draft).collect()
}

fn scores(live: &Live, asker: &Asker, clauses: &[Clause]) -> BTreeMap<u128, f32> {
    let searcher = live.searcher();
    let permitted = || permission(&live.fields, asker, minute(1_000_000));
    let terms = scored_terms(&live.fields, clauses);
    let statistics = Statistics::count(&searcher, permitted().as_ref(), terms).unwrap();
    let query = query(permitted(), &live.fields, clauses, &Filters::default());
    let top = TopDocs::with_limit(100).order_by_score();
    let found = searcher
        .search_with_statistics_provider(query.as_ref(), &top, &statistics)
        .unwrap();
    let key = |address| {
        let high = searcher
            .segment_reader(0)
            .fast_fields()
            .u64("id_low")
            .unwrap();
        let tantivy::DocAddress { doc_id, .. } = address;
        u128::from(high.first(doc_id).unwrap())
    };
    found
        .into_iter()
        .map(|(score, address)| (key(address), score))
        .collect()
}

#[test]
fn scores_are_those_of_bm25() {
    let folder = folder();
    let live = Live::create(folder.path(), SOURCE).unwrap();
    let changes: Vec<_> = corpus()
        .iter()
        .chain(&hidden())
        .map(super::data::put)
        .collect();
    live.apply(&changes, 1).unwrap();
    assert_eq!(
        live.searcher().segment_readers().len(),
        1,
        "the keys are read from the first segment"
    );
    for (text, wanted) in SCORES {
        let found = scores(&live, &mentor(), &parse(text).unwrap());
        for (n, wanted) in (1..).zip(wanted) {
            // Twice: the stem and the very form.
            let score = found.get(&n).copied().unwrap_or(0.0);
            assert!(
                (score - 2.0 * wanted).abs() < 2e-5,
                "{text}{n}: {score}, wanted {}",
                2.0 * wanted
            );
        }
    }
}

#[test]
fn notes_of_others_do_not_move_the_order() {
    let (alone, among) = (folder(), folder());
    let all: Vec<Document> = corpus().into_iter().chain(hidden()).collect();
    let (alone, among) = (
        archive(alone.path(), &corpus()),
        archive(among.path(), &all),
    );
    for text in ["hand ", "slid", "late foot ", "\"hand hip\"", "h*", ""] {
        let (wanted, found) = (
            search(&alone, &mentor(), text, 2, None).unwrap(),
            search(&among, &mentor(), text, 2, None).unwrap(),
        );
        assert_eq!(found, wanted, "{text}: hits and cursor");
    }
}

#[test]
fn the_form_as_typed_comes_first_then_the_newest() {
    let folder = folder();
    let documents = [
        note(1, "it holds here"),
        note(2, "a hold here"),
        note(3, "he holds here"),
        note(4, "a holder here"),
    ];
    let archive = archive(folder.path(), &documents);
    let found = |text| ids(&search(&archive, &mentor(), text, 10, None).unwrap());
    assert_eq!(found("hold "), [2, 3, 1]);
    assert_eq!(found("holds "), [3, 1, 2]);
    assert_eq!(found("hold"), [2, 3, 1, 4], "while typing");
    assert_eq!(found("hold*"), [4, 3, 2, 1]);
    assert_eq!(found("\"holds here\""), [3, 1]);
    assert_eq!(found(""), [4, 3, 2, 1]);
}

#[test]
fn a_changed_way_of_indexing_needs_a_new_version() {
    let fields = serde_json::to_string(&crate::schema::schema().0).unwrap();
    let words: Vec<String> =
        crate::words::words("L'\u{E9}t\u{E9} one-frame can\u{2019}t \u{1F525} 3.4x")
            .map(|word| crate::words::stem(&word.exact))
            .collect();
    assert_eq!(
        (VERSION, fields.len()),
        (1, 2_089),
        "raise VERSION, then this number"
    );
    assert_eq!(
        words,
        ["l'ete", "one", "frame", "can't", "\u{1F525}", "3.4x"]
    );
}
