//! Each stated fault is in the picture at its strength; where none is stated, none is found.

use super::measures::{
    Trace, contacts, foot_slide, hands_on_one_thing, in_step, one_block, own_trace, pinned, snap,
    stomps, trace,
};
use super::school;
use crate::clip::{Look, Play, Take, warp_of};
use crate::motion::actions::Action;
use crate::motion::build::Character;
use crate::motion::fault::{Fault, FaultKind};
use crate::motion::perform::Stepping;
use crate::motion::skeleton::{ARMS, Joint, LEGS};
use crate::plan::{RevisionPlan, Scenario, ShotPlan};
use crate::render::light::Mood;
use crate::render::set::Place;
use crate::scenario::sketch::{scene, take};

/// The value above which the measures design calls it a fault.
pub(super) fn limit(kind: FaultKind) -> f64 {
    match kind {
        FaultKind::Pop => 4.2,
        FaultKind::DeadStop => 0.65,
        FaultKind::SlowSettle => 10.0,
        FaultKind::StraightPath => 0.972,
        FaultKind::UnevenSpacing => 0.19,
        FaultKind::InStep => 0.955,
        FaultKind::OneBlock => 0.76,
        FaultKind::Pinned => 0.80,
        FaultKind::FootSlide => 3.0,
        FaultKind::Stomp => 2.6,
        FaultKind::Snap => 19.0,
        FaultKind::WeakAnticipation => 0.5,
    }
}

/// The span of a fault in frames of a revision.
fn span(shot: &ShotPlan, take: &Take, f: &Fault) -> (usize, usize) {
    let w = warp_of(&shot.scene, &take.retime);
    let at = |t: f32| w.to_revision(t).round().max(0.0) as usize;
    (at(f.from), at(f.to))
}

fn most(found: &[(usize, f64)], a: usize, b: usize) -> f64 {
    found
        .iter()
        .filter(|(f, _)| (a..=b).contains(f))
        .map(|(_, v)| *v)
        .fold(0.0, f64::max)
}

/// The measure of a fault's kind at its place.
pub(super) fn value(shot: &ShotPlan, play: &Play, take: &Take, f: &Fault) -> f64 {
    let (a, b) = span(shot, take, f);
    let side = f.part.side();
    let t = || own_trace(play, f.part);
    match f.kind {
        FaultKind::Pop => most(&t().pops(), a.saturating_sub(1), b + 1),
        FaultKind::DeadStop => most(&t().dead_stops(), a, b),
        FaultKind::SlowSettle => most(&t().slow_settles(), a, b + 4),
        FaultKind::StraightPath => t().straightness(a, b),
        FaultKind::UnevenSpacing => most(&uneven_trace(play, f.part).uneven(), a, b),
        FaultKind::InStep => (a..=b.saturating_sub(20).max(a))
            .filter_map(|s| in_step(play, s))
            .fold(0.0, f64::max),
        FaultKind::OneBlock => one_block(play, a, b).unwrap_or(0.0),
        FaultKind::Pinned => pinned(play, f.part, a, b).unwrap_or(0.0),
        FaultKind::FootSlide => foot_slide(play, side, a, b),
        FaultKind::Stomp => most(&stomps(play, side), b, b),
        FaultKind::Snap => ARMS
            .iter()
            .chain(&LEGS)
            .find(|c| c[1] == f.part)
            .map_or(0.0, |c| snap(play, c, a, b)),
        FaultKind::WeakAnticipation => missing_dip(shot, play, take, a, b),
    }
}

fn uneven_trace(play: &Play, part: Joint) -> Trace {
    if part == Joint::Hip {
        trace(play, Joint::Hip, None)
    } else {
        own_trace(play, part)
    }
}

/// Share of the hips' dip that is missing against the same take without faults.
fn missing_dip(shot: &ShotPlan, play: &Play, take: &Take, a: usize, b: usize) -> f64 {
    let clean = Play::new(
        &shot.scene,
        &Take {
            faults: Vec::new(),
            ..take.clone()
        },
    );
    let dip = |p: &Play| {
        let y = |f: usize| f64::from(p.joint(f, Joint::Hip)[1]);
        let u = |f: usize| (f - a) as f64 / (b - a) as f64;
        (a..=b)
            .map(|f| y(f) - (y(a) + (y(b) - y(a)) * u(f)))
            .fold(0.0, f64::max)
    };
    1.0 - dip(play) / dip(&clean).max(1e-6)
}

fn revisions(
    s: &'static Scenario,
) -> impl Iterator<Item = (&'static ShotPlan, &'static RevisionPlan)> {
    s.shots
        .iter()
        .flat_map(|shot| shot.revisions.iter().map(move |r| (shot, r)))
}

fn without(take: &Take, f: &Fault) -> Take {
    let faults = take
        .faults
        .iter()
        .filter(|g| (g.kind, g.part, g.from) != (f.kind, f.part, f.from))
        .copied()
        .collect();
    Take {
        faults,
        ..take.clone()
    }
}

/// What a fault must measure: the limit, or, where another revision has it far stronger, well over the clean value.
fn bar(shot: &ShotPlan, f: &Fault, clean: f64) -> f64 {
    let strongest = shot
        .revisions
        .iter()
        .flat_map(|r| &r.take.faults)
        .filter(|g| (g.kind, g.part, g.from) == (f.kind, f.part, f.from))
        .map(|g| g.strength)
        .fold(0.0, f32::max);
    if f.strength < 0.8 * strongest {
        clean + 0.4 * (limit(f.kind) - clean)
    } else {
        limit(f.kind)
    }
}

#[test]
fn stated_faults_are_in_the_picture() {
    let s = school();
    let mut wrong = Vec::new();
    for (shot, r) in revisions(s) {
        let play = Play::new(&shot.scene, &r.take);
        for f in &r.take.faults {
            if r.take.stepping != Stepping::Ones && f.kind != FaultKind::WeakAnticipation {
                wrong.push(format!(
                    "{} r{}: {:?} on held drawings",
                    shot.key, r.number, f.kind
                ));
                continue;
            }
            let with = value(shot, &play, &r.take, f);
            let clean_take = without(&r.take, f);
            let clean = value(shot, &Play::new(&shot.scene, &clean_take), &clean_take, f);
            let bar = bar(shot, f, clean);
            if with < bar || clean >= limit(f.kind) {
                wrong.push(format!(
                    "{} r{}: {:?} {} at {}: {with:.3}, clean {clean:.3}, limit {bar}",
                    shot.key,
                    r.number,
                    f.kind,
                    f.part.name(),
                    f.strength
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_weaker_fault_measures_less() {
    let s = school();
    let mut wrong = Vec::new();
    for shot in &s.shots {
        for pair in shot.revisions.windows(2) {
            for f in &pair[1].take.faults {
                let Some(before) = pair[0]
                    .take
                    .faults
                    .iter()
                    .find(|g| (g.kind, g.part, g.from) == (f.kind, f.part, f.from))
                else {
                    continue;
                };
                let v = |r: &RevisionPlan, f: &Fault| {
                    value(shot, &Play::new(&shot.scene, &r.take), &r.take, f)
                };
                let (x, y) = (v(&pair[0], before), v(&pair[1], f));
                let ratio = f.strength / before.strength;
                if (ratio < 0.8 && y >= x) || (ratio > 1.25 && y <= x) {
                    wrong.push(format!(
                        "{} r{}: {:?} {x:.3} then {y:.3}",
                        shot.key, pair[1].number, f.kind
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Frames around a stated fault in which its traces may show it in other measures too.
const NEAR: usize = 10;

/// Every finding of a play outside the stated spans. A foot may stop at once where it lands: that is contact, and stomps are measured apart.
fn findings(play: &Play, stated: &[(usize, usize)]) -> Vec<String> {
    let mut out = Vec::new();
    let free = |f: usize| stated.iter().all(|&(a, b)| f + NEAR < a || f > b + NEAR);
    let mut tell = |what: &str, part: &str, found: Vec<(usize, f64)>, bar: f64| {
        for (f, v) in found.into_iter().filter(|&(f, v)| v >= bar && free(f)) {
            out.push(format!("{what} {part} on {f}: {v:.3}"));
        }
    };
    for j in [
        Joint::WristRight,
        Joint::WristLeft,
        Joint::Head,
        Joint::Hip,
        Joint::Chest,
        Joint::AnkleRight,
        Joint::AnkleLeft,
    ] {
        let t = own_trace(play, j);
        let lands: Vec<usize> = match j {
            Joint::AnkleRight | Joint::AnkleLeft => {
                contacts(play, j.side()).iter().map(|c| c.0).collect()
            }
            _ => Vec::new(),
        };
        let pops = t
            .pops()
            .into_iter()
            .filter(|&(f, _)| lands.iter().all(|&l| f.abs_diff(l) > 2))
            .collect();
        tell("pop", j.name(), pops, limit(FaultKind::Pop));
        tell(
            "uneven",
            j.name(),
            t.uneven(),
            limit(FaultKind::UnevenSpacing),
        );
    }
    for j in [Joint::WristRight, Joint::WristLeft, Joint::Head] {
        let t = own_trace(play, j);
        tell(
            "dead stop",
            j.name(),
            t.dead_stops(),
            limit(FaultKind::DeadStop),
        );
        tell(
            "slow settle",
            j.name(),
            t.slow_settles(),
            limit(FaultKind::SlowSettle),
        );
    }
    for (side, leg) in LEGS.iter().enumerate() {
        tell(
            "stomp",
            leg[2].name(),
            stomps(play, side),
            limit(FaultKind::Stomp),
        );
        let slides = contacts(play, side)
            .into_iter()
            .filter(|&(a, b)| (a..=b).all(free))
            .map(|(a, b)| (a, foot_slide(play, side, a, b)))
            .collect();
        tell(
            "foot slide",
            leg[2].name(),
            slides,
            limit(FaultKind::FootSlide),
        );
    }
    let steps = (1..play.frames().saturating_sub(20))
        .filter(|&f| !hands_on_one_thing(play, f))
        .filter_map(|f| in_step(play, f).map(|v| (f + 10, v)))
        .collect();
    tell("in step", "wrists", steps, limit(FaultKind::InStep));
    out
}

#[test]
fn nothing_is_wrong_where_nothing_is_stated() {
    let s = school();
    let wrong: Vec<String> = revisions(s)
        .filter(|(_, r)| r.take.stepping == Stepping::Ones)
        .flat_map(|(shot, r)| {
            let stated: Vec<_> = r
                .take
                .faults
                .iter()
                .map(|f| span(shot, &r.take, f))
                .collect();
            let found = findings(&Play::new(&shot.scene, &r.take), &stated);
            found
                .into_iter()
                .map(move |w| format!("{} r{}: {w}", shot.key, r.number))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_act_is_clean_on_every_body() {
    let mut wrong = Vec::new();
    for action in [
        Action::Jump,
        Action::Walk,
        Action::Lift,
        Action::Sneak,
        Action::Take,
        Action::Throw,
        Action::Sit,
        Action::Wave,
    ] {
        for character in [
            Character::Heron,
            Character::Barrel,
            Character::Sprout,
            Character::Courier,
        ] {
            for (vigour, open, mirrored) in [(1.0, 16.0, false), (0.92, 24.0, true)] {
                let scene = scene(action, character, Place::Lane, vigour, open, mirrored);
                let found = findings(&Play::new(&scene, &take(Look::Lit, Mood::Studio)), &[]);
                wrong.extend(
                    found
                        .into_iter()
                        .map(|w| format!("{action:?} {character:?} {vigour}: {w}")),
                );
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
