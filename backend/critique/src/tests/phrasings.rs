//! Wordings of our own invention that no model has seen. The floors lie a little under what was measured.

use domain::{Kind, Principle, Side};
use serde::Deserialize;

use super::critic;

#[derive(Deserialize)]
struct Phrasing {
    text: String,
    kind: Kind,
    principles: Vec<Principle>,
    part: Option<String>,
    side: Option<Side>,
}

fn phrasings() -> Vec<Phrasing> {
    include_str!("../../phrasings.jsonl")
        .lines()
        .map(|l| serde_json::from_str(l).unwrap())
        .collect()
}

/// Share of the phrasings that pass, of those that are looked at.
fn share(
    looked_at: impl Fn(&Phrasing) -> bool,
    right: impl Fn(&Phrasing, &crate::Tags) -> bool,
) -> f64 {
    let critic = critic();
    let held: Vec<Phrasing> = phrasings().into_iter().filter(|p| looked_at(p)).collect();
    let good = held
        .iter()
        .filter(|p| right(p, &critic.tag(&p.text)))
        .count();
    good as f64 / held.len() as f64
}

#[test]
fn there_are_enough_of_them_and_each_is_another() {
    let mut texts: Vec<String> = phrasings().into_iter().map(|p| p.text).collect();
    let count = texts.len();
    texts.sort();
    texts.dedup();
    assert!(count >= 150 && texts.len() == count, "{count} phrasings");
}

#[test]
fn the_main_principle_is_found() {
    let found = share(
        |p| !p.principles.is_empty(),
        |p, tags| {
            tags.principles
                .iter()
                .any(|(said, _)| *said == p.principles[0])
        },
    );
    assert!(found >= 0.85, "{found}");
}

#[test]
fn praise_is_told_from_what_hurts() {
    let praise = share(|p| p.kind == Kind::Keep, |_, tags| tags.kind == Kind::Keep);
    let fault = share(|p| p.kind == Kind::Fix, |_, tags| tags.kind != Kind::Keep);
    assert!(
        praise >= 0.85 && fault >= 0.97,
        "praise {praise}, faults {fault}"
    );
}

#[test]
fn a_part_that_is_named_is_found_with_its_side() {
    let found = share(
        |p| p.side.is_some(),
        |p, tags| {
            tags.parts
                .iter()
                .any(|t| Some(t.name) == p.part.as_deref() && t.side == p.side)
        },
    );
    assert!(found >= 0.85, "{found}");
}

#[test]
fn requests_are_read() {
    use domain::ask::{Ask, AskKind};
    let critic = critic();
    for (text, what, amount) in [
        ("halve this swing", AskKind::Scale, 0.5),
        ("two more frames here please", AskKind::AddFrames, 2.0),
        ("offset these arms by three", AskKind::Offset, 3.0),
        ("hold the look for at least 8 frames", AskKind::Hold, 8.0),
        ("take out 4 frames", AskKind::RemoveFrames, 4.0),
        ("make it 30% smaller", AskKind::Scale, 0.7),
    ] {
        assert_eq!(critic.tag(text).asks, [Ask { what, amount }], "{text}");
    }
    assert!(critic.tag("the left arm pops at frame 12").asks.is_empty());
}

#[test]
fn a_schools_own_words_are_merged_and_checked() {
    let critic = critic();
    let additions = serde_json::from_str(
        r#"{"traits": {"foot-slide": ["bambi mode"]}, "parts": {"flipper": "hand"}, "cues": {"praise": ["zonk"]}}"#,
    )
    .unwrap();
    let school = critic.with(&additions).unwrap();
    let tags = school.tag("bambi mode on the left flipper");
    assert_eq!(
        (tags.principles[0].0, tags.parts[0].name),
        (Principle::Contact, "hand")
    );
    assert_eq!(tags.parts[0].side, Some(Side::Left));
    for (wrong, says) in [
        (
            r#"{"traits": {"bambi": ["legs"]}}"#,
            "there is nothing called \"bambi\"",
        ),
        (
            r#"{"parts": {"flipper": "fin"}}"#,
            "there is nothing called \"fin\"",
        ),
        (r#"{"cues": {"praise": ["Zonk!"]}}"#, "\"Zonk!\""),
        (r#"{"qualities": ["~ zonk"]}"#, "gap"),
        (r#"{"directions": {"sideways:+1": ["zonk"]}}"#, "sideways"),
    ] {
        let fault = school
            .lexicon
            .with(&serde_json::from_str(wrong).unwrap())
            .err()
            .unwrap()
            .to_string();
        assert!(fault.contains(says), "{fault}");
    }
}

#[test]
fn own_words_are_taken_one_by_one() {
    use crate::{Additions, OwnWord};
    use domain::WordTable;
    let lexicon = critic().lexicon;
    let word = |table, phrase: &str, meaning: &str| OwnWord {
        table,
        phrase: phrase.into(),
        meaning: meaning.into(),
    };
    let merged = |words: &[OwnWord]| {
        let mut additions = Additions::default();
        words.iter().try_for_each(|w| additions.add(w))?;
        lexicon.with(&additions)
    };
    for table in WordTable::ALL {
        for meaning in lexicon.meanings(*table) {
            let one = word(*table, "zonk", &meaning.name);
            let school = merged(std::slice::from_ref(&one)).unwrap();
            assert_eq!(school.meanings_of(*table, "zonk").concat(), meaning.name);
            let twice = merged(&[one.clone(), one]).err().unwrap().to_string();
            assert!(twice.contains("stands there already"), "{twice}");
        }
    }
    for (wrong, says) in [
        (word(WordTable::Qualities, "zonk", "pop"), "nothing called"),
        (word(WordTable::Parts, "big zonk", "hand"), "one word"),
        (word(WordTable::Parts, "zonk*", "hand"), "one word"),
        (word(WordTable::Traits, "<n>", "pop"), "at least one word"),
        (word(WordTable::Traits, "", "pop"), "at least one word"),
        (word(WordTable::Traits, "zo*", "pop"), "three letters"),
    ] {
        let fault = merged(&[wrong]).err().unwrap().to_string();
        assert!(fault.contains(says), "{fault}");
    }
    // Two faults cannot share a phrase; two directions can.
    let other = [
        word(WordTable::Traits, "zonk", "pop"),
        word(WordTable::Traits, "zonk", "hitch"),
    ];
    assert!(merged(&other).is_err());
    let ways = [
        word(WordTable::Directions, "zonk", "amount:+1"),
        word(WordTable::Directions, "zonk", "speed:+1"),
    ];
    assert!(merged(&ways).is_ok());
}
