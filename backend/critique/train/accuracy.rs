//! Figures by cross-validation: nothing is scored by weights that saw its student or its wording.

use std::collections::BTreeSet;
use std::error::Error;

use critique::matching::match_prepared;
use critique::weights::Weights;

use crate::baseline::{self, Likeness};
use crate::data::TuneShot;
use crate::learn;
use crate::score::{MatchScore, TagScore};

/// Into so many groups students are split.
const GROUPS: usize = 4;

pub fn print(shots: &[TuneShot], verbose: bool) -> Result<(), Box<dyn Error>> {
    let boundary = Weights::built_in()?.source.boundary;
    let lexicon = crate::data::lexicon()?;
    let reads = learn::read(&lexicon, shots);
    let students: Vec<&str> = shots
        .iter()
        .map(|s| s.student.as_str())
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    let group = |student: &str| students.iter().position(|s| *s == student).unwrap_or(0) % GROUPS;
    let mut matches = [MatchScore::default(), MatchScore::default()];
    let mut words = TagScore::default();
    for held in 0..GROUPS {
        let rest: Vec<&TuneShot> = shots.iter().filter(|s| group(&s.student) != held).collect();
        let (critic, tags) =
            crate::learned(&reads, &rest, &boundary, |r| group(r.student) != held)?;
        for read in reads.iter().filter(|r| group(r.student) == held) {
            words.add(&read.note.truth, &tags[&read.note.id]);
            if verbose {
                complain(read, &tags[&read.note.id]);
            }
        }
        for shot in shots.iter().filter(|s| group(&s.student) == held) {
            for (mode, tagged) in [true, false].into_iter().enumerate() {
                let history: Vec<_> = earlier(shots, shot)
                    .map(|s| learn::prepare(&critic, s, tagged, &tags))
                    .collect();
                let answer = match_prepared(
                    &critic,
                    &learn::prepare(&critic, shot, tagged, &tags),
                    &history,
                );
                matches[mode].add(shot, &answer);
            }
        }
    }
    for (likeness, name) in [(Likeness::Bm25, "bm25"), (Likeness::Tfidf, "tfidf")] {
        let mut score = MatchScore::default();
        for held in 0..GROUPS {
            let (out, rest): (Vec<&TuneShot>, Vec<&TuneShot>) =
                shots.iter().partition(|s| group(&s.student) == held);
            baseline::score(likeness, &rest, &out, &mut score);
        }
        println!(
            "text_only.{name}.recurrence.precision\t{:.3}\tshare",
            score.recurrence.precision()
        );
        println!(
            "text_only.{name}.recurrence.recall\t{:.3}\tshare",
            score.recurrence.recall()
        );
        println!(
            "text_only.{name}.recurrence.f1\t{:.3}\tshare",
            score.recurrence.f1()
        );
    }
    words.print("tag");
    for (score, name) in matches.iter().zip(["match.tagged", "match.auto"]) {
        score.print(name);
        score.print_confusion(name);
    }
    Ok(())
}

fn complain(read: &learn::Read, tags: &critique::Tags) {
    let t = &read.note.truth;
    if tags.kind != t.kind && (tags.kind == domain::Kind::Keep || t.kind == domain::Kind::Keep) {
        println!(
            "KIND\t{}\tfor {}\t{}\t{}",
            tags.kind, t.kind, t.wording, read.note.text
        );
    }
    if let Some(main) = t.principles.first()
        && !t.generic
        && t.archetype != "praise"
        && !tags.principles.iter().any(|(p, _)| p == main)
    {
        println!(
            "PRIN\t{:?}\tfor {main}\t{}\t{}",
            tags.principles.iter().map(|p| p.0).collect::<Vec<_>>(),
            t.wording,
            read.note.text
        );
    }
}

fn earlier<'a>(shots: &'a [TuneShot], shot: &'a TuneShot) -> impl Iterator<Item = &'a TuneShot> {
    let mut past: Vec<&TuneShot> = shots
        .iter()
        .filter(|s| s.student == shot.student && s.order < shot.order)
        .collect();
    past.sort_by_key(|s| s.order);
    past.into_iter()
}
