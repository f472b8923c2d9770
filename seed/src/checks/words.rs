//! Notes read as a mentor talks: no way of saying a thing is used twice.

use std::collections::BTreeMap;

use super::school;
use crate::plan::Scenario;

/// Words that carry a sentence's pattern; every other word is content.
const FRAME_WORDS: &str = "a an the this that these those there here it its he she they him her them his i me my you your yours we us our one two three four \
    and or but nor so then than as if when while until before after between from to of in on at by with without under over up down out off into through \
    for is are was were be been being am do does did done have has had will would could can may might should must not no yes nothing nobody somebody \
    something what who which where how why again still once more most less least very too only just even never always all both each every some any other \
    now today already please let give make look see watch try think like";

/// Every text of the scenario with its place: notes, summaries, amendments, answers and students' words.
fn texts(s: &Scenario) -> Vec<(String, String)> {
    let mut out = Vec::new();
    for shot in &s.shots {
        for r in &shot.revisions {
            let name = format!("{} r{}", shot.key, r.number);
            let Some(c) = &r.critique else { continue };
            out.extend(
                c.notes
                    .iter()
                    .map(|n| (format!("{name} {}", n.concern), n.words.clone())),
            );
            out.push((format!("{name} summary"), c.summary.to_owned()));
            out.extend(
                c.amendments
                    .iter()
                    .map(|a| (format!("{name} amendment"), a.words.to_owned())),
            );
        }
    }
    out.retain(|(_, t)| !t.is_empty());
    out
}

fn words(text: &str) -> Vec<String> {
    text.to_lowercase()
        .replace('\'', "")
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .map(|w| {
            if w.chars().all(|c| c.is_ascii_digit()) {
                "#".to_owned()
            } else {
                w.to_owned()
            }
        })
        .collect()
}

fn skeleton(text: &str) -> Vec<String> {
    let frame: Vec<&str> = FRAME_WORDS.split_whitespace().collect();
    words(text)
        .into_iter()
        .map(|w| {
            if w == "#" || frame.contains(&w.as_str()) {
                w
            } else {
                "_".to_owned()
            }
        })
        .collect()
}

fn sentences(text: &str) -> Vec<&str> {
    text.split(['.', '?', '!', ';', ':'])
        .filter(|s| !s.trim().is_empty())
        .collect()
}

/// Groups of places that share something.
fn shared(found: impl IntoIterator<Item = (Vec<String>, String)>) -> Vec<String> {
    let mut by: BTreeMap<Vec<String>, Vec<String>> = BTreeMap::new();
    for (key, place) in found {
        let places = by.entry(key).or_default();
        if places.last() != Some(&place) {
            places.push(place);
        }
    }
    by.into_iter()
        .filter(|(_, p)| p.len() > 1)
        .map(|(k, p)| format!("{}: {}", k.join(" "), p.join(", ")))
        .collect()
}

#[test]
fn no_two_texts_open_alike() {
    let s = school();
    let openings = texts(s)
        .into_iter()
        .map(|(place, t)| (words(&t).into_iter().take(3).collect(), place));
    let twice = shared(openings);
    assert!(twice.is_empty(), "{}", twice.join("\n"));
}

#[test]
fn no_sentence_pattern_is_used_twice() {
    let s = school();
    let patterns = texts(s).into_iter().flat_map(|(place, t)| {
        let long: Vec<_> = sentences(&t)
            .into_iter()
            .map(skeleton)
            .filter(|k| k.len() >= 6)
            .collect();
        long.into_iter().map(move |k| (k, place.clone()))
    });
    let twice = shared(patterns);
    assert!(twice.is_empty(), "{}", twice.join("\n"));
}

#[test]
fn no_five_words_are_repeated() {
    let s = school();
    let runs = texts(s).into_iter().flat_map(|(place, t)| {
        let w = words(&t);
        let all: Vec<Vec<String>> = w.windows(5).map(<[String]>::to_vec).collect();
        all.into_iter().map(move |k| (k, place.clone()))
    });
    let twice = shared(runs);
    assert!(twice.is_empty(), "{}", twice.join("\n"));
}

#[test]
fn sketched_openings_differ_too() {
    let s = school();
    let openings = texts(s)
        .into_iter()
        .map(|(place, t)| (skeleton(&t).into_iter().take(7).collect::<Vec<_>>(), place))
        .filter(|(k, _)| k.len() == 7 && k.iter().any(|w| w != "_"));
    let twice = shared(openings);
    assert!(twice.is_empty(), "{}", twice.join("\n"));
}

#[test]
fn notes_say_enough_and_not_too_much() {
    let s = school();
    for (place, t) in texts(s) {
        let n = words(&t).len();
        assert!((1..=75).contains(&n), "{place}: {n} words");
    }
}
