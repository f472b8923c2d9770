//! The story over the revisions: verdicts, standings, and what notes say of the pictures.

use std::collections::{BTreeMap, BTreeSet};

use super::school;
use crate::motion::fault::Fault;
use crate::plan::{AskPlan, FaultName, RevisionPlan, ShotPlan, Verdict};

/// Standings as the product's table has them, for concerns with a note or verdict in a revision.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standing {
    Noted,
    Unmentioned,
    Eased,
    Cleared,
    Back,
    SetAside,
}

/// The standing of every concern after each released revision.
fn standings(shot: &ShotPlan) -> Vec<BTreeMap<String, Standing>> {
    let mut now: BTreeMap<String, Standing> = BTreeMap::new();
    let mut out = Vec::new();
    for r in &shot.revisions {
        if let Some(c) = r.critique.as_ref().filter(|c| c.released.is_some()) {
            for (concern, standing) in &mut now {
                let verdict = c
                    .verdicts
                    .iter()
                    .find(|v| v.concern == *concern)
                    .map(|v| v.verdict);
                let named = c.notes.iter().any(|n| n.concern == *concern);
                *standing = match (*standing, verdict) {
                    (Standing::SetAside, Some(Verdict::Cleared)) => Standing::Cleared,
                    (Standing::SetAside, _) | (_, Some(Verdict::SetAside)) => Standing::SetAside,
                    (_, Some(Verdict::Cleared)) => Standing::Cleared,
                    (Standing::Cleared, Some(_)) => Standing::Back,
                    (Standing::Cleared, None) if named => Standing::Back,
                    (Standing::Cleared, None) => Standing::Cleared,
                    (_, Some(Verdict::Eased)) => Standing::Eased,
                    (_, Some(Verdict::Still)) => Standing::Noted,
                    (_, None) if named => Standing::Noted,
                    (_, None) => Standing::Unmentioned,
                };
            }
            for n in &c.notes {
                now.entry(n.concern.clone()).or_insert(Standing::Noted);
            }
        }
        out.push(now.clone());
    }
    out
}

#[test]
fn verdicts_judge_open_books() {
    let s = school();
    for shot in &s.shots {
        let after = standings(shot);
        let mut known = BTreeSet::new();
        for (i, r) in shot.revisions.iter().enumerate() {
            let Some(c) = &r.critique else { continue };
            let before = if i == 0 {
                BTreeMap::new()
            } else {
                after[i - 1].clone()
            };
            let mut seen = BTreeSet::new();
            for v in &c.verdicts {
                let name = format!("{} r{} {}", shot.key, r.number, v.concern);
                assert!(seen.insert(&v.concern), "{name}: judged twice");
                assert!(
                    before
                        .get(&v.concern)
                        .is_some_and(|b| *b != Standing::SetAside),
                    "{name}: not carried"
                );
            }
            for n in &c.notes {
                assert_eq!(
                    n.ties_to.is_some(),
                    known.contains(&n.concern),
                    "{} r{} {}",
                    shot.key,
                    r.number,
                    n.concern
                );
            }
            known.extend(c.notes.iter().map(|n| n.concern.clone()));
        }
    }
}

#[test]
fn standings_follow_the_story() {
    let s = school();
    let of = |key: &str, concern: &str| {
        let shot = s.shots.iter().find(|x| x.key == key).expect("shot");
        standings(shot)
            .iter()
            .map(|m| m.get(concern).copied())
            .collect::<Vec<_>>()
    };
    use Standing::{Back, Cleared, Eased, Noted, SetAside, Unmentioned};
    assert_eq!(
        of("lantern-jump", "wrist-jump"),
        [
            Some(Noted),
            Some(Eased),
            Some(Cleared),
            Some(Cleared),
            Some(Back)
        ]
    );
    assert_eq!(of("lantern-jump", "arms-in-step"), vec![Some(Noted); 5]);
    assert_eq!(
        of("lantern-jump", "foot-creep"),
        [
            Some(Noted),
            Some(Noted),
            Some(Cleared),
            Some(Cleared),
            Some(Cleared)
        ]
    );
    assert_eq!(
        of("lantern-jump", "crouch-hold"),
        [
            Some(Noted),
            Some(SetAside),
            Some(SetAside),
            Some(SetAside),
            Some(SetAside)
        ]
    );
    assert_eq!(
        of("lantern-jump", "head-lead"),
        [None, None, None, Some(Noted), Some(Unmentioned)]
    );
    assert_eq!(
        of("roof-wave", "watch-arm"),
        [Some(Noted), Some(Eased), Some(SetAside)]
    );
    let strength = |r: usize, kind| {
        s.shots[0].revisions[r]
            .take
            .faults
            .iter()
            .find(|f| f.kind == kind)
            .map_or(0.0, |f| f.strength)
    };
    let pops: Vec<f32> = (0..5)
        .map(|r| strength(r, crate::motion::fault::FaultKind::Pop))
        .collect();
    assert!(
        (pops[1] / pops[0] - 0.5).abs() < 0.01
            && pops[2] == 0.0
            && pops[3] == 0.0
            && pops[4] > 0.8 * pops[0],
        "{pops:?}"
    );
}

/// The fault a concern speaks of, from any note of it up to this revision.
fn fault_of(shot: &ShotPlan, concern: &str, upto: usize) -> Option<FaultName> {
    shot.revisions[..=upto]
        .iter()
        .filter_map(|r| r.critique.as_ref())
        .flat_map(|c| &c.notes)
        .find(|n| n.concern == concern)
        .and_then(|n| n.fault)
}

fn present(r: &RevisionPlan, name: FaultName) -> Option<&Fault> {
    r.take
        .faults
        .iter()
        .find(|f| (f.kind, f.part) == (name.kind, name.part) && f.strength > 0.0)
}

#[test]
fn notes_and_verdicts_are_true_of_the_pictures() {
    let s = school();
    for shot in &s.shots {
        for (i, r) in shot.revisions.iter().enumerate() {
            let Some(c) = &r.critique else {
                assert!(
                    r.take.faults.is_empty(),
                    "{} r{}: a fault nobody has spoken of",
                    shot.key,
                    r.number
                );
                continue;
            };
            let name = |k: &str| format!("{} r{} {k}", shot.key, r.number);
            let warp = crate::clip::warp_of(&shot.scene, &r.take.retime);
            for n in &c.notes {
                let Some(fault) = n.fault else { continue };
                let f = present(r, fault).unwrap_or_else(|| panic!("{}", name(&n.concern)));
                let (a, b) = (warp.to_revision(f.from), warp.to_revision(f.to));
                assert!(
                    n.span.start as f32 <= b + 0.5 && n.span.end as f32 >= a - 0.5,
                    "{}",
                    name(&n.concern)
                );
            }
            for v in &c.verdicts {
                let Some(fault) = fault_of(shot, &v.concern, i) else {
                    continue;
                };
                let here = present(r, fault).map_or(0.0, |f| f.strength);
                let before = shot.revisions[..i]
                    .iter()
                    .rev()
                    .find_map(|p| present(p, fault))
                    .map_or(0.0, |f| f.strength);
                match v.verdict {
                    Verdict::Cleared => assert!(here == 0.0, "{}", name(&v.concern)),
                    Verdict::Eased => {
                        assert!(here > 0.0 && here < 0.75 * before, "{}", name(&v.concern))
                    }
                    Verdict::Still => assert!(here > 0.75 * before, "{}", name(&v.concern)),
                    Verdict::SetAside => {}
                }
            }
            for f in &r.take.faults {
                let spoken = c.notes.iter().any(|n| {
                    n.fault
                        .is_some_and(|x| (x.kind, x.part) == (f.kind, f.part))
                }) || c.verdicts.iter().any(|v| {
                    fault_of(shot, &v.concern, i)
                        .is_some_and(|x| (x.kind, x.part) == (f.kind, f.part))
                });
                assert!(spoken, "{}: nobody mentions {:?}", name(""), f.kind);
            }
        }
    }
}

#[test]
fn notes_name_the_frame_of_a_fault_that_lasts_one() {
    for shot in &school().shots {
        for r in &shot.revisions {
            let warp = crate::clip::warp_of(&shot.scene, &r.take.retime);
            for n in r.critique.iter().flat_map(|c| &c.notes) {
                let Some(f) = n
                    .fault
                    .and_then(|x| present(r, x))
                    .filter(|f| f.to - f.from < 2.0)
                else {
                    continue;
                };
                let shown = warp.to_revision(f.from).round() as u32 + shot.first_frame;
                let named = n
                    .words
                    .split(|c: char| !c.is_ascii_digit())
                    .any(|w| w == shown.to_string());
                assert!(named, "{} r{} {}: {shown}", shot.key, r.number, n.concern);
            }
        }
    }
}

#[test]
fn history_holds_no_reversal() {
    let s = school();
    for shot in &s.shots {
        let mut asked: BTreeMap<&str, AskPlan> = BTreeMap::new();
        for n in shot
            .revisions
            .iter()
            .filter_map(|r| r.critique.as_ref())
            .flat_map(|c| &c.notes)
        {
            let Some(ask) = n.ask else { continue };
            if let Some(old) = asked.insert(&n.concern, ask) {
                assert_eq!(old.what, ask.what, "{} {}", shot.key, n.concern);
            }
        }
    }
}
