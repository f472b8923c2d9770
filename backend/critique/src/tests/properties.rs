//! What must hold for every shot.

use std::collections::{BTreeMap, BTreeSet};

use domain::Side;
use proptest::prelude::*;

use super::{critic, data};
use crate::contract::{MatchInput, MatchOutput, Note, Relation, Shot};
use crate::matching::{carry::Maps, pair};
use crate::{Critic, Earlier, match_shot};

fn answer(critic: &Critic, shot: &Shot, history: &[Shot]) -> MatchOutput {
    match_shot(
        critic,
        &MatchInput {
            shot: shot.clone(),
            student_history: history.to_vec(),
        },
    )
}

/// Note, earlier note, rank, relation, score in hundred-thousandths; ids through `name`.
type Told = BTreeSet<(String, Option<String>, u8, Relation, i64)>;

fn told(answer: &MatchOutput, name: impl Fn(&str) -> String) -> Told {
    let link = |l: &crate::contract::Link| {
        let score = (l.score * 1e5).round() as i64;
        (
            name(&l.note),
            l.earlier_note.as_deref().map(&name),
            l.concern_rank,
            l.relation,
            score,
        )
    };
    answer.links.iter().map(link).collect()
}

fn threads(
    answer: &MatchOutput,
    name: impl Fn(&str) -> String,
) -> BTreeSet<(Vec<String>, domain::Standing)> {
    let sorted = |c: &crate::contract::Concern| {
        let mut notes: Vec<String> = c.notes.iter().map(|n| name(n)).collect();
        notes.sort();
        (notes, c.standing)
    };
    answer.concerns.iter().map(sorted).collect()
}

fn same(id: &str) -> String {
    id.to_owned()
}

fn each_note(shot: &mut Shot, mut change: impl FnMut(&mut Note)) {
    shot.revisions
        .iter_mut()
        .flat_map(|r| &mut r.notes)
        .for_each(&mut change);
}

#[test]
fn the_order_of_notes_does_not_matter() {
    let critic = critic();
    let shots = data::some(12);
    for shot in &shots {
        let mut turned = shot.clone();
        turned.revisions.iter_mut().for_each(|r| r.notes.reverse());
        let (a, b) = (
            answer(&critic, shot, &shots[..3]),
            answer(&critic, &turned, &shots[..3]),
        );
        assert_eq!(told(&a, same), told(&b, same), "{}", shot.id);
        assert_eq!(threads(&a, same), threads(&b, same), "{}", shot.id);
    }
}

#[test]
fn the_names_of_notes_do_not_matter() {
    let critic = critic();
    for shot in data::some(12) {
        let other = |id: &str| id.chars().rev().collect::<String>();
        let mut renamed = shot.clone();
        each_note(&mut renamed, |n| n.id = other(&n.id));
        let (a, b) = (answer(&critic, &shot, &[]), answer(&critic, &renamed, &[]));
        assert_eq!(told(&a, other), told(&b, same), "{}", shot.id);
    }
}

fn mirrored(side: Option<Side>) -> Option<Side> {
    side.map(|s| match s {
        Side::Left => Side::Right,
        Side::Right => Side::Left,
        Side::Both => Side::Both,
    })
}

/// The text with every word that names a side turned round. "right" and "left" have other meanings too: they are written so that they
/// can only be sides.
fn turned(text: &str, round: bool) -> String {
    let turn = |word: &str| match (word.to_lowercase().as_str(), round) {
        ("right" | "r", false) | ("left" | "l", true) => "rgt".to_owned(),
        ("left" | "l", false) | ("right" | "r", true) => "lft".to_owned(),
        _ => word.to_owned(),
    };
    let mut out = String::new();
    let mut word = String::new();
    for c in text.chars().chain([' ']) {
        if c.is_alphanumeric() || c == '\'' {
            word.push(c);
        } else {
            out += &turn(&std::mem::take(&mut word));
            out.push(c);
        }
    }
    out
}

#[test]
fn mirroring_every_side_leaves_scores_equal() {
    let critic = critic();
    let mut sides = 0;
    for mut shot in data::some(12) {
        let mut round = shot.clone();
        each_note(&mut shot, |n| n.text = turned(&n.text, false));
        each_note(&mut round, |n| {
            n.text = turned(&n.text, true);
            for part in n.parts.iter_mut().flatten() {
                sides += usize::from(part.side.is_some());
                part.side = mirrored(part.side);
            }
        });
        let (a, b) = (answer(&critic, &shot, &[]), answer(&critic, &round, &[]));
        assert_eq!(told(&a, same), told(&b, same), "{}", shot.id);
    }
    assert!(sides > 50, "{sides} sides were turned");
}

#[test]
fn a_student_who_has_nothing_to_do_with_it_changes_nothing() {
    // Habits aside, which are about the student's own shots, an answer is about one shot alone.
    let critic = critic();
    let shots = data::some(10);
    for shot in &shots[..5] {
        let without_habits = |mut a: MatchOutput| {
            a.links.retain(|l| l.relation != Relation::Habit);
            a
        };
        let (alone, beside) = (
            answer(&critic, shot, &[]),
            answer(&critic, shot, &shots[5..]),
        );
        assert_eq!(
            told(&without_habits(alone), same),
            told(&without_habits(beside), same)
        );
    }
}

#[test]
fn a_note_beside_itself_scores_highest() {
    let critic = critic();
    let shots = data::some(6);
    let notes: Vec<Note> = shots
        .iter()
        .flat_map(|s| s.revisions[0].notes.clone())
        .collect();
    let taken: Vec<_> = notes.iter().map(|n| critic.analyse(n)).collect();
    let told: Vec<usize> = (0..notes.len())
        .filter(|n| !taken[*n].parts.is_empty() && taken[*n].main_principle().is_some())
        .collect();
    assert!(told.len() > 20);
    for n in told {
        let logit = |other: usize| {
            let pair = pair::features(&critic.lexicon, &taken[other], taken[other].span, &taken[n]);
            critic.weights.pair_logit(&pair.features)
        };
        let own = logit(n);
        for other in 0..notes.len() {
            assert!(
                own >= logit(other) - 1e-9,
                "\"{}\" is liker \"{}\"",
                notes[n].text,
                notes[other].text
            );
        }
    }
}

#[test]
fn the_outline_of_a_pair_bounds_it_and_hides_no_proposal() {
    let critic = critic();
    let notes = data::some(8)
        .into_iter()
        .flat_map(|s| s.revisions)
        .flat_map(|r| r.notes)
        .collect::<Vec<Note>>();
    let earlier: Vec<Earlier> = notes
        .iter()
        .enumerate()
        .map(|(concern, note)| Earlier::open(critic.analyse(note), concern))
        .collect();
    for (n, note) in notes.iter().enumerate().step_by(5) {
        let new = &earlier[n].note;
        let mut logits: Vec<f64> = vec![];
        for held in &earlier {
            let outline = pair::outline(&critic.lexicon, &held.note, held.span, new);
            let logit = critic
                .weights
                .pair_logit(&outline.compare(&held.note, new).features);
            assert!(critic.weights.pair_bound(&outline) >= logit);
            logits.push(logit);
        }
        let mut likeliest: Vec<usize> = (0..logits.len()).collect();
        likeliest.sort_by(|a, b| logits[*b].total_cmp(&logits[*a]));
        for proposal in critic.propose(note, &earlier).1 {
            assert!(likeliest[..4].contains(&proposal.earlier), "{}", note.text);
        }
    }
}

#[test]
fn every_note_that_wants_something_is_in_exactly_one_concern() {
    let critic = critic();
    for shot in data::some(12) {
        let answer = answer(&critic, &shot, &[]);
        let mut held: BTreeMap<&str, usize> = BTreeMap::new();
        for id in answer.concerns.iter().flat_map(|c| &c.notes) {
            *held.entry(id).or_default() += 1;
        }
        for note in shot.revisions.iter().flat_map(|r| &r.notes) {
            let wants = matches!(note.kind, Some(domain::Kind::Fix | domain::Kind::Consider));
            let count = held.get(note.id.as_str()).copied().unwrap_or(0);
            assert!(
                count == 1 || (count == 0 && !wants),
                "{} is in {count}",
                note.id
            );
            let first = answer.links.iter().filter(|l| {
                l.note == note.id && l.concern_rank == 1 && l.relation != Relation::Habit
            });
            assert!(first.count() <= 1);
        }
        assert!(answer.links.iter().all(|l| (0.0..=1.0).contains(&l.score)));
    }
}

#[test]
fn a_proposal_says_why() {
    let critic = critic();
    let note = |text: &str, span: (i64, i64)| -> Note {
        serde_json::from_value(
            serde_json::json!({"id": text, "text": text, "span": [span.0, span.1]}),
        )
        .unwrap()
    };
    let earlier: Vec<Earlier> = [
        "the left wrist pops at 40",
        "right foot slides",
        "no thought behind the turn",
    ]
    .iter()
    .zip([(38, 44), (60, 80), (0, 90)])
    .enumerate()
    .map(|(concern, (text, span))| Earlier::open(critic.analyse(&note(text, span)), concern))
    .collect();
    let (tags, proposals) = critic.propose(
        &note("left wrist still jumps over one frame", (39, 43)),
        &earlier,
    );
    assert_eq!(tags.principles[0].0, domain::Principle::Spacing);
    let best = &proposals[0];
    assert_eq!((best.earlier, best.relation), (0, Relation::Still));
    assert!(
        best.score > 0.8 && best.reasons.contains(&"same left hand".to_owned()),
        "{best:?}"
    );
    assert!(
        best.reasons.contains(&"overlapping frames".to_owned())
            && best.reasons.contains(&"both about pop".to_owned()),
        "{best:?}"
    );
    assert!(
        critic
            .propose(&note("the camera is too low", (0, 5)), &earlier)
            .1
            .iter()
            .all(|p| p.score < 0.5)
    );
}

fn held(critic: &Critic, concern: usize, text: &str, span: (i64, i64)) -> Earlier {
    let note: Note = serde_json::from_value(
        serde_json::json!({"id": text, "text": text, "span": [span.0, span.1]}),
    )
    .unwrap();
    Earlier::open(critic.analyse(&note), concern)
}

fn typed(text: &str, span: (i64, i64)) -> Note {
    serde_json::from_value(serde_json::json!({"id": "new", "text": text, "span": [span.0, span.1]}))
        .unwrap()
}

#[test]
fn a_concern_is_proposed_once_and_is_no_rival_of_itself() {
    let critic = critic();
    let said = ["the left wrist pops at 40", "left wrist jumps over a frame"];
    let one: Vec<_> = said.map(|text| held(&critic, 7, text, (38, 44))).into();
    let new = typed("left wrist still jumps over one frame", (39, 43));
    let (_, proposals) = critic.propose(&new, &one);
    assert_eq!(proposals.len(), 1, "{proposals:?}");
    let alone = critic
        .propose(&new, &one[proposals[0].earlier..=proposals[0].earlier])
        .1;
    assert_eq!(proposals[0].score, alone[0].score);
}

#[test]
fn a_clicked_wrist_is_the_hand_that_the_word_says_and_is_still_called_a_wrist() {
    let critic = critic();
    let mut clicked = typed("pops", (0, 5));
    clicked.parts = Some(vec![crate::contract::Part {
        name: "wrist".into(),
        side: Some(Side::Left),
    }]);
    let (clicked, said) = (
        critic.analyse(&clicked),
        critic.analyse(&typed("the left wrist pops", (0, 5))),
    );
    assert_eq!(clicked.parts, said.parts);
    let named = |text: &str| {
        critic
            .tag(text)
            .parts
            .first()
            .map(|p| (p.name, p.finest, p.side))
    };
    let left = Some(Side::Left);
    assert_eq!(named("left wrist pops"), Some(("hand", "wrist", left)));
    assert_eq!(named("both ankles slide").map(|p| p.1), Some("ankle"));
    assert_eq!(named("left paw pops"), Some(("hand", "hand", left)));
    assert_eq!(
        named("the left hip sticks out"),
        Some(("hips", "hips", None))
    );
}

#[test]
fn an_opposite_ask_is_told_with_both_ways() {
    let critic = critic();
    let earlier = [held(
        &critic,
        0,
        "the left arm swing is too small, push it bigger",
        (30, 44),
    )];
    let new = typed("left arm swing is too big now, make it smaller", (30, 44));
    let (_, proposals) = critic.propose(&new, &earlier);
    let best = &proposals[0];
    assert_eq!(best.relation, Relation::Reversal, "{best:?}");
    assert!(best.said, "{best:?}");
    let opposed = best.opposed.as_ref().expect("both ways");
    assert_eq!(
        (opposed.earlier.as_str(), opposed.now.as_str()),
        ("bigger", "smaller")
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn any_text_has_sane_tags(text in "\\PC{0,200}") {
        let tags = critic_once().tag(&text);
        prop_assert!(tags.principles.iter().all(|(_, s)| (0.5..=1.0).contains(s)));
        prop_assert!((tags.kind_odds.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        prop_assert!(tags.asks.iter().all(|a| a.is_sane()));
    }

    #[test]
    fn a_carried_span_stays_in_order(anchors in prop::collection::vec((0..300i32, 0..300i32, 0..100i32), 0..8), a in 0..300i32, b in 0..300i32) {
        let anchors: Vec<_> = anchors.iter().map(|(o, n, c)| serde_json::json!([o, n, f64::from(*c) / 100.0])).collect();
        let shot: Shot = serde_json::from_value(serde_json::json!({
            "id": "s", "fps": 24, "revisions": [], "frame_maps": [{"from": 1, "to": 2, "anchors": anchors}]
        })).unwrap();
        let (start, end) = Maps::new(&shot).carry((f64::from(a.min(b)), f64::from(a.max(b))), 1, 2);
        prop_assert!(start <= end && start.is_finite() && end.is_finite());
    }
}

/// The lexicon is compiled once for all cases.
fn critic_once() -> &'static Critic {
    static HELD: std::sync::LazyLock<Critic> = std::sync::LazyLock::new(critic);
    &HELD
}
