//! The index finds exactly what reading every document finds, for any documents, askers and searches.

use std::collections::{BTreeMap, BTreeSet};

use domain::parts::PartRef;
use domain::{Kind, Principle, Side};
use proptest::prelude::*;
use proptest::sample::{select, subsequence};

use super::data::{SOURCE, folder, id, minute, note};
use crate::scan::scan;
use crate::{Archive, Asker, Change, Document, DocumentKey, Filters, Named, Search, Sort};

const WORDS: [&str; 18] = [
    "hold",
    "holds",
    "holding",
    "hand",
    "Hands",
    "hip",
    "hips",
    "the",
    "settle",
    "settles",
    "r2",
    "one-frame",
    "caf\u{E9}",
    "can\u{2019}t",
    "\u{5E9}\u{5DC}\u{5D5}\u{5DD}",
    "\u{1F525}",
    "arc",
    "arcs",
];
const TEXTS: [&str; 12] = [
    "",
    "*",
    "\"",
    "h",
    "ho*",
    "\"hand hold\"",
    "\"hold",
    "one-frame ",
    "sett",
    "hold* hand",
    "\u{1F525}",
    "\"the hips\" arc ",
];
const PRINCIPLES: [Principle; 3] = [Principle::Spacing, Principle::Timing, Principle::Arcs];
const KINDS: [Kind; 2] = [Kind::Fix, Kind::Keep];
const SORTS: [Sort; 3] = [Sort::Note, Sort::Answer, Sort::Amendment];

fn sentence(most: usize) -> impl Strategy<Value = String> {
    prop::collection::vec(select(&WORDS[..]), 0..most).prop_map(|words| words.join(" "))
}

fn side() -> impl Strategy<Value = Option<Side>> {
    select(vec![
        None,
        Some(Side::Left),
        Some(Side::Right),
        Some(Side::Both),
    ])
}

fn part() -> impl Strategy<Value = PartRef> {
    let part = select(vec!["wrist", "arm", "foot", "spine", "prop"]);
    (part, side()).prop_map(|(part, side)| PartRef {
        part: part.into(),
        side,
    })
}

fn key() -> impl Strategy<Value = DocumentKey> {
    (select(&SORTS[..]), 0u128..25).prop_map(|(sort, n)| DocumentKey { sort, id: id(n) })
}

prop_compose! {
    fn document()(
        key in key(), school in 1u128..3, enrolment in 10u128..14, student in 100u128..103, critic in 200u128..203,
        shot in 400u128..404,
        kind in prop::option::of(select(&KINDS[..])), principles in subsequence(&PRINCIPLES[..], 0..=3),
        parts in prop::collection::vec(part(), 0..3), words in sentence(9), at in 0i64..40,
        visible in prop::option::weighted(0.8, 0i64..40),
    ) -> Document {
        Document {
            key, school: id(school), enrolment: id(enrolment), critic: id(critic), parts, words, kind, principles,
            student: Named { id: id(student), name: "A student".into() },
            shot: Named { id: id(shot), name: "A shot".into() },
            at: minute(at), visible_from: visible.map(minute),
            ..note(0, "")
        }
    }
}

fn change() -> impl Strategy<Value = Change> {
    prop_oneof![
        6 => document().prop_map(|document| Change::Put(Box::new(document))),
        1 => key().prop_map(Change::Remove),
    ]
}

prop_compose! {
    fn asker()(
        school in 1u128..3, person in prop_oneof![100u128..103, 200u128..203], as_student in any::<bool>(), as_office in prop::bool::weighted(0.2),
        as_mentor in prop::option::of(subsequence(vec![10u128, 11, 12, 13], 0..=4)),
    ) -> Asker {
        Asker {
            school: id(school), person: id(person), as_student, as_office,
            as_mentor: as_mentor.map(|all| all.into_iter().map(id).collect()),
        }
    }
}

prop_compose! {
    fn filters()(
        principle in prop::option::weighted(0.2, select(&PRINCIPLES[..])),
        part in prop::option::weighted(0.3, select(vec!["wrist", "arm", "body", "leg", "foot", "prop", "wing"])),
        side in side(), kind in prop::option::weighted(0.2, select(&KINDS[..])),
        student in prop::option::weighted(0.2, 100u128..103), shot in prop::option::weighted(0.2, 400u128..404),
        from in prop::option::weighted(0.3, 0i64..40), to in prop::option::weighted(0.3, 0i64..40),
    ) -> Filters {
        Filters {
            principle, part: part.map(Into::into), side, kind,
            student: student.map(id), shot: shot.map(id), from: from.map(minute), to: to.map(minute),
        }
    }
}

prop_compose! {
    fn question()(
        asker in asker(), filters in filters(), now in 0i64..45, limit in 1usize..8,
        text in prop_oneof![3 => select(&TEXTS[..]).prop_map(String::from), 3 => sentence(3), 1 => any::<String>()],
    ) -> (Asker, Filters, i64, usize, String) {
        (asker, filters, now, limit, text)
    }
}

/// All pages of a search.
fn pages(
    archive: &Archive,
    asker: &Asker,
    search: &Search<'_>,
) -> Result<(Vec<DocumentKey>, BTreeSet<usize>), TestCaseError> {
    let (mut found, mut totals, mut cursor) = (Vec::new(), BTreeSet::new(), None::<String>);
    loop {
        let search = Search {
            cursor: cursor.as_deref(),
            ..search.clone()
        };
        let page = archive
            .search(asker, &search)
            .map_err(|error| TestCaseError::fail(error.to_string()))?;
        prop_assert!(page.hits.len() <= search.limit);
        found.extend(page.hits.iter().map(|hit| hit.document.key));
        totals.insert(page.total);
        cursor = page.next_cursor;
        if cursor.is_none() {
            return Ok((found, totals));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_index_finds_what_a_scan_finds(
        batches in prop::collection::vec(prop::collection::vec(change(), 1..30), 1..6),
        questions in prop::collection::vec(question(), 60),
    ) {
        let folder = folder();
        let (archive, _) = Archive::open(folder.path(), SOURCE)?;
        archive.rebuild(SOURCE)?.finish(0)?;
        let mut held = BTreeMap::new();
        for (position, batch) in batches.iter().enumerate() {
            archive.apply(batch, position as u64 + 1)?;
            archive.apply(batch, position as u64 + 1)?;
            for change in batch {
                match change {
                    Change::Put(document) => held.insert(document.key, document.as_ref().clone()),
                    Change::Remove(key) => held.remove(key),
                };
            }
        }
        let documents: Vec<Document> = held.into_values().collect();
        for (asker, filters, now, limit, text) in &questions {
            let Ok(wanted) = scan(&documents, asker, text, filters, minute(*now)) else { continue };
            let wanted: BTreeSet<DocumentKey> = wanted.into_iter().map(|document| document.key).collect();
            let search = Search { text, filters, cursor: None, limit: *limit, now: minute(*now) };
            let (found, totals) = pages(&archive, asker, &search)?;
            prop_assert_eq!(totals, BTreeSet::from([wanted.len()]), "{:?}", text);
            prop_assert_eq!(found.len(), wanted.len(), "repeated or missing: {:?}", text);
            prop_assert_eq!(found.into_iter().collect::<BTreeSet<_>>(), wanted, "{:?} {:?}", text, filters);
        }
    }
}
