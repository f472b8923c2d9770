//! The scenario holds together: frames, dates, quotas, verdicts, and what the notes say of the pictures.

use std::collections::BTreeSet;

use super::school;
use crate::plan::{Kind, Moment, PARTS, PersonPlan, RevisionPlan, Role, Scenario, ShotPlan, Side};

fn role<'a>(s: &'a Scenario, key: &str) -> Option<&'a PersonPlan> {
    s.people.iter().find(|p| p.key == key)
}

fn revisions(
    s: &'static Scenario,
) -> impl Iterator<Item = (&'static ShotPlan, &'static RevisionPlan)> {
    s.shots
        .iter()
        .flat_map(|shot| shot.revisions.iter().map(move |r| (shot, r)))
}

#[test]
fn the_school_has_the_size_it_should() {
    let s = school();
    let count = |r: Role| s.people.iter().filter(|p| p.role == r).count();
    assert_eq!(
        [
            count(Role::Mentor),
            count(Role::Student),
            count(Role::Office)
        ],
        [2, 12, 1]
    );
    assert_eq!(s.courses.len(), 3);
    assert_eq!(s.shots.len(), 20);
    assert!(
        (50..=60).contains(&revisions(s).count()),
        "{}",
        revisions(s).count()
    );
    assert!(s.school.invented);
    assert!(
        s.people.iter().all(|p| p.email.ends_with(".example")),
        "RFC 2606 keeps .example for nobody"
    );
    let small = Scenario::small();
    assert_eq!(small.shots.len(), 3);
    assert!(small.people.iter().any(|p| p.role == Role::Office));
}

#[test]
fn keys_refer_to_what_exists() {
    for s in [Scenario::full(), Scenario::small()] {
        for e in &s.enrolments {
            assert_eq!(role(&s, e.student).map(|p| p.role), Some(Role::Student));
            assert_eq!(role(&s, e.mentor).map(|p| p.role), Some(Role::Mentor));
            assert!(s.courses.iter().any(|c| c.key == e.course));
        }
        for shot in &s.shots {
            let course = s
                .courses
                .iter()
                .find(|c| c.key == shot.course)
                .expect("course");
            assert!(
                s.enrolments
                    .iter()
                    .any(|e| e.student == shot.student && e.course == shot.course),
                "{}",
                shot.key
            );
            assert!(
                shot.assignment
                    .is_none_or(|a| course.assignments.iter().any(|b| b.key == a)),
                "{}",
                shot.key
            );
        }
        let keys: BTreeSet<_> = s.shots.iter().map(|shot| shot.key).collect();
        assert_eq!(keys.len(), s.shots.len());
    }
}

#[test]
fn dates_run_forward_and_stay_in_the_past() {
    let s = school();
    for e in &s.enrolments {
        assert!(e.adjustments.iter().all(|a| a.at > e.starts));
    }
    for shot in &s.shots {
        let start = s
            .enrolments
            .iter()
            .find(|e| e.student == shot.student && e.course == shot.course)
            .expect("enrolled")
            .starts;
        let mut last = start;
        for (i, r) in shot.revisions.iter().enumerate() {
            let name = format!("{} r{}", shot.key, r.number);
            let mut step = |m: Moment, what: &str| {
                assert!(m > last, "{name}: {what}");
                assert!(
                    m.days_before() >= 1,
                    "{name}: {what} must be before the first start"
                );
                last = m;
            };
            step(r.sent, "sent");
            if let Some(w) = r.withdrawn {
                step(w, "withdrawn");
                assert!(r.critique.is_none(), "{name}");
            }
            if let Some(c) = &r.critique {
                step(c.opened, "opened");
                if let Some(m) = c.released {
                    step(m, "released");
                    let after = c
                        .notes
                        .iter()
                        .filter_map(|n| n.answer.as_ref().map(|a| a.at))
                        .chain(c.amendments.iter().map(|a| a.at));
                    let next = shot.revisions.get(i + 1).map(|n| n.sent);
                    for at in after {
                        assert!(
                            at > m && at.days_before() >= 1,
                            "{name}: answers and amendments follow the release"
                        );
                        assert!(
                            next.is_none_or(|n| at < n),
                            "{name}: and come before the next revision"
                        );
                    }
                } else {
                    assert!(
                        c.notes.iter().all(|n| n.answer.is_none()) && c.amendments.is_empty(),
                        "{name}"
                    );
                }
            }
            let waits = r.critique.as_ref().is_none_or(|c| c.released.is_none());
            assert!(
                !waits || i + 1 == shot.revisions.len(),
                "{name}: only the last revision may wait"
            );
        }
    }
}

#[test]
fn nobody_sends_more_than_granted() {
    let s = school();
    for e in &s.enrolments {
        let course = s
            .courses
            .iter()
            .find(|c| c.key == e.course)
            .expect("course");
        let sent = revisions(s)
            .filter(|(shot, r)| {
                shot.student == e.student && shot.course == e.course && r.withdrawn.is_none()
            })
            .count() as i32;
        let extra: i32 = e.adjustments.iter().map(|a| a.amount).sum();
        assert!(sent < course.granted as i32 + extra, "{}", e.student);
    }
}

#[test]
fn every_page_has_something_to_show() {
    let s = school();
    let promise = |shot: &ShotPlan| {
        s.courses
            .iter()
            .find(|c| c.key == shot.course)
            .map_or(0, |c| c.promise_days as i32)
    };
    let unopened: Vec<_> = revisions(s)
        .filter(|(_, r)| r.critique.is_none() && r.withdrawn.is_none())
        .collect();
    for mentor in ["maren", "anwil"] {
        let mine = |shot: &ShotPlan| {
            s.enrolments
                .iter()
                .any(|e| e.mentor == mentor && e.student == shot.student && e.course == shot.course)
        };
        assert!(
            unopened.iter().filter(|(shot, _)| mine(shot)).count() >= 2,
            "{mentor} has work"
        );
        assert!(
            unopened
                .iter()
                .any(|(shot, r)| mine(shot) && r.sent.days_before() > promise(shot)),
            "{mentor} is late with one"
        );
        assert!(
            revisions(s)
                .any(|(shot, r)| mine(shot)
                    && r.critique.as_ref().is_some_and(|c| c.released.is_none())),
            "{mentor} has a draft"
        );
    }
    assert!(revisions(s).any(|(_, r)| r.withdrawn.is_some()));
    let notes = || {
        revisions(s)
            .filter_map(|(_, r)| r.critique.as_ref())
            .flat_map(|c| &c.notes)
    };
    for kind in [Kind::Fix, Kind::Consider, Kind::Keep, Kind::Question] {
        assert!(notes().filter(|n| n.kind == kind).count() >= 5, "{kind:?}");
    }
    assert!(
        notes().any(|n| !n.strokes.is_empty())
            && notes().any(|n| !n.traces.is_empty())
            && notes().any(|n| n.ask.is_some())
    );
    let oldest = revisions(s).map(|(_, r)| r.sent.days_before()).max();
    assert!(
        oldest.is_some_and(|d| d > 270 && d < 366),
        "a year of history"
    );
}

#[test]
fn notes_stay_inside_their_shots_and_vocabulary() {
    let s = school();
    for (shot, r) in revisions(s) {
        for n in r.critique.iter().flat_map(|c| &c.notes) {
            let name = format!("{} r{} {}", shot.key, r.number, n.concern);
            assert!(
                n.span.start <= n.span.end && n.span.end < r.frames,
                "{name}"
            );
            assert!(!n.principles.is_empty() && !n.parts.is_empty(), "{name}");
            for p in &n.parts {
                assert!(PARTS.contains(&p.part), "{name}: {}", p.part);
                let limb = [
                    "shoulder", "arm", "elbow", "wrist", "hand", "leg", "knee", "ankle", "foot",
                    "toe",
                ]
                .contains(&p.part);
                assert!(!limb || p.side.is_some(), "{name}: a limb has a side");
                assert!(p.side != Some(Side::Both) || limb, "{name}");
            }
            for k in &n.strokes {
                assert!(k.frame <= k.hold_to && k.hold_to < r.frames, "{name}");
                assert!(
                    k.points.iter().flatten().all(|v| (0.0..=1.0).contains(v)),
                    "{name}"
                );
            }
            for d in n.traces.iter().flat_map(|t| &t.dots) {
                assert!(
                    d.0 < r.frames && (0.0..=1.0).contains(&d.1) && (0.0..=1.0).contains(&d.2),
                    "{name}"
                );
            }
            assert!(!n.words.contains(['{', '}']), "{name}");
        }
    }
}

#[test]
fn the_plan_serialises() {
    let s = Scenario::small();
    let json = serde_json::to_value(s).expect("plain data");
    assert_eq!(json["shots"][0]["revisions"][0]["stage"], "blocking-plus");
    assert_eq!(
        json["shots"][0]["revisions"][0]["critique"]["notes"][0]["ask"]["what"],
        "add-frames"
    );
    assert_eq!(
        json["shots"][0]["revisions"][0]["critique"]["notes"][0]["parts"][0]["side"],
        "left"
    );
    assert_eq!(
        json["shots"][0]["revisions"][1]["critique"]["verdicts"][3]["verdict"],
        "set-aside"
    );
}
