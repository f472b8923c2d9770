//! Movements by formula with a fault of known strength: what each measure must say follows from the formula.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use motion::measure::{CannotTell, Limits, Measure, Place, Verdict, compare, findings, value};
use motion::trace::{Point, Recording, Trace};

const HEIGHT: f64 = 300.0;

/// A trace by formula, in standing heights.
fn trace(frames: usize, at: impl Fn(f64) -> [f64; 2]) -> Trace {
    let point = |f: usize| {
        let [x, y] = at(f as f64);
        Point {
            x: 400.0 + HEIGHT * x,
            y: 300.0 + HEIGHT * y,
            confidence: 1.0,
        }
    };
    (0..frames).map(|f| Some(point(f))).collect()
}

fn recording(traces: impl IntoIterator<Item = (&'static str, Trace)>) -> Recording {
    Recording {
        fps: 24.0,
        height_px: HEIGHT,
        traces: traces
            .into_iter()
            .map(|(part, t)| (part.to_owned(), t))
            .collect(),
        contacts: BTreeMap::new(),
    }
}

fn place(measure: Measure, part: &str, start: usize, end: usize) -> Place {
    Place {
        measure,
        part: part.to_owned(),
        start,
        end,
    }
}

fn told(recording: &Recording, measure: Measure, part: &str, start: usize, end: usize) -> f64 {
    value(
        recording,
        &place(measure, part, start, end),
        &Limits::default(),
    )
    .map_or(f64::NAN, |v| v.value)
}

fn finds(recording: &Recording, measure: Measure, part: &str) -> Vec<(usize, usize)> {
    let found = findings(recording, &Limits::default());
    found
        .iter()
        .filter(|f| f.measure == measure && f.part == part)
        .map(|f| (f.start, f.end))
        .collect()
}

#[track_caller]
fn near(a: f64, b: f64, tolerance: f64) {
    assert!(
        (a - b).abs() <= tolerance,
        "{a} is not within {tolerance} of {b}"
    );
}

/// The minimum jerk movement from 0 to 1 (Flash and Hogan 1985).
fn reach(u: f64) -> f64 {
    let u = u.clamp(0.0, 1.0);
    u.powi(3) * (10.0 - 15.0 * u + 6.0 * u * u)
}

fn swing(f: f64) -> [f64; 2] {
    [0.2 * (f / 9.0).sin(), 0.1 * (f / 7.0).cos()]
}

#[test]
fn a_jump_is_found_where_it_is_and_rises_with_its_size() {
    let jump = |size: f64| {
        recording([(
            "ball",
            trace(80, |f| {
                if f == 40.0 {
                    [swing(f)[0] + size, swing(f)[1]]
                } else {
                    swing(f)
                }
            }),
        )])
    };
    assert_eq!(finds(&jump(0.03), Measure::Pop, "ball"), [(40, 40)]);
    assert_eq!(finds(&jump(0.0), Measure::Pop, "ball"), []);
    let values =
        [0.0, 0.01, 0.02, 0.04].map(|size| told(&jump(size), Measure::Pop, "ball", 40, 40));
    assert!(values.is_sorted(), "{values:?}");
    near(values[3] / values[2], 2.0, 0.1);
}

#[test]
fn a_jump_of_every_part_is_the_bodys() {
    let parts = ["hip", "chest", "neck", "head", "wrist.left"];
    let body = recording(parts.map(|part| {
        let phase = part.len() as f64;
        (
            part,
            trace(80, move |f| {
                [
                    swing(f + phase)[0] + if f == 40.0 { 0.03 } else { 0.0 },
                    swing(f)[1],
                ]
            }),
        )
    }));
    let found: Vec<String> = findings(&body, &Limits::default())
        .into_iter()
        .filter(|f| f.measure == Measure::Pop)
        .map(|f| f.part)
        .collect();
    assert_eq!(found, ["body"]);
}

#[test]
fn a_dead_stop_loses_all_speed_and_an_ease_a_part_of_it() {
    let dead = recording([("wrist.left", trace(80, |f| [0.02 * f.min(40.0), 0.0]))]);
    near(
        told(&dead, Measure::LinearStop, "wrist.left", 38, 43),
        1.0,
        0.01,
    );
    assert_eq!(finds(&dead, Measure::LinearStop, "wrist.left").len(), 1);
    // Speeds fall by a seventh of a smooth step a frame: at most 1.5 / 7 over one frame, 3 / 7 over two.
    let speeds = |k: i32| {
        let u = ((f64::from(k) - 39.5) / 7.0).clamp(0.0, 1.0);
        0.02 * (1.0 - u * u * (3.0 - 2.0 * u))
    };
    let eased = recording([(
        "wrist.left",
        trace(80, |f| [(0..f as i32).map(speeds).sum(), 0.0]),
    )]);
    assert!(
        told(&eased, Measure::LinearStop, "wrist.left", 38, 46)
            < 0.5 * (1.5 / 7.0 + 3.0 / 7.0) / 0.8
    );
    assert_eq!(finds(&eased, Measure::LinearStop, "wrist.left"), []);
}

#[test]
fn a_settle_is_as_long_as_its_tail() {
    for tail in [9.0, 12.0, 16.0] {
        // Full speed, then a fifth of it, falling evenly to 0 over the tail.
        let speed = |k: i32| {
            if k < 30 {
                0.03
            } else {
                0.006 * (1.0 - (f64::from(k) - 30.0) / tail).max(0.0)
            }
        };
        let creeping = recording([(
            "wrist.left",
            trace(90, |f| [(0..f as i32).map(speed).sum(), 0.0]),
        )]);
        near(
            told(
                &creeping,
                Measure::SlowSettle,
                "wrist.left",
                30,
                30 + tail as usize,
            ),
            tail,
            2.0,
        );
    }
    let stopped = recording([("wrist.left", trace(90, |f| [0.3 * reach(f / 20.0), 0.0]))]);
    assert!(told(&stopped, Measure::SlowSettle, "wrist.left", 14, 24) < 7.0);
    assert_eq!(finds(&stopped, Measure::SlowSettle, "wrist.left"), []);
}

#[test]
fn the_sagitta_of_an_arc_of_a_circle() {
    // A chord 2 sin(a / 2) under an arc of angle a, radius 1, is (1 - cos(a / 2)) away from its middle.
    for angle in [0.4_f64, 1.0, 2.0] {
        let arc = recording([(
            "wrist.left",
            trace(13, |f| {
                [
                    0.3 * (angle * f / 12.0).cos(),
                    0.3 * (angle * f / 12.0).sin(),
                ]
            }),
        )]);
        let expected = 1.0 - (1.0 - (angle / 2.0).cos()) / (2.0 * (angle / 2.0).sin());
        near(
            told(&arc, Measure::StraightPath, "wrist.left", 0, 12),
            expected,
            1e-9,
        );
    }
}

#[test]
fn gaps_that_alternate_by_a_share_read_as_that_share() {
    for share in [0.1, 0.25, 0.4] {
        let gap = |k: i32| {
            0.02 * if (20..32).contains(&k) {
                1.0 + share * if k % 2 == 0 { 1.0 } else { -1.0 }
            } else {
                1.0
            }
        };
        let uneven = recording([(
            "head",
            trace(60, |f| {
                [(0..f as i32).map(gap).sum(), 0.1 * (f / 30.0).sin()]
            }),
        )]);
        near(
            told(&uneven, Measure::UnevenSpacing, "head", 21, 32),
            share,
            0.03,
        );
        assert_eq!(
            finds(&uneven, Measure::UnevenSpacing, "head").is_empty(),
            share < 0.19
        );
    }
}

#[test]
fn a_clip_drawn_on_twos_is_not_uneven() {
    let twos = recording([("head", trace(60, |f| swing(2.0 * (f / 2.0).floor())))]);
    assert_eq!(finds(&twos, Measure::UnevenSpacing, "head"), []);
    let asked = value(
        &twos,
        &place(Measure::UnevenSpacing, "head", 20, 32),
        &Limits::default(),
    );
    assert_eq!(asked.map(|v| v.value), Err(CannotTell::NoMove));
}

#[test]
fn hands_are_in_step_when_alike_or_mirrored() {
    let hands = |other: &dyn Fn(f64) -> [f64; 2]| {
        recording([
            ("wrist.left", trace(70, swing)),
            ("wrist.right", trace(70, other)),
        ])
    };
    let same = hands(&swing);
    near(
        told(&same, Measure::InStep, "wrist.left", 20, 45),
        1.0,
        1e-6,
    );
    near(
        told(
            &hands(&|f| [-swing(f)[0], swing(f)[1]]),
            Measure::InStep,
            "wrist.left",
            20,
            45,
        ),
        1.0,
        1e-6,
    );
    assert!(!finds(&same, Measure::InStep, "wrist.left").is_empty());
    let late = hands(&|f| swing(f - 9.0 * PI / 2.0));
    assert!(told(&late, Measure::InStep, "wrist.left", 20, 45) < 0.5);
}

#[test]
fn parts_that_start_apart_are_no_block() {
    let start = |apart: f64| {
        let at = move |order: f64, size: f64| {
            move |f: f64| [size * reach((f - 40.0 - apart * order) / 14.0), 0.0]
        };
        let parts = [
            ("hip", 0.0, 0.15),
            ("neck", 1.0, 0.3),
            ("head", 2.0, 0.45),
            ("shoulder.left", 1.0, 0.3),
            ("shoulder.right", 1.0, 0.3),
        ];
        let hands = [("wrist.left", 3.0), ("wrist.right", 4.0)];
        let mut traces: Vec<(&'static str, Trace)> = parts
            .iter()
            .map(|(p, order, size)| (*p, trace(90, at(*order, *size))))
            .collect();
        // A hand moves with its shoulder and, later, on its own.
        traces.extend(hands.map(|(part, order)| {
            let (own, root) = (at(order, 0.3), at(1.0, 0.3));
            (
                part,
                trace(90, move |f| [own(f)[0] + root(f)[0], own(f)[0]]),
            )
        }));
        recording(traces)
    };
    let values =
        [2.0, 1.0, 0.0].map(|apart| told(&start(apart), Measure::OneBlock, "body", 40, 48));
    assert!(
        values.is_sorted() && values[2] > 0.8 && values[0] < 0.6,
        "{values:?}"
    );
}

#[test]
fn what_is_pinned_travels_less_than_the_chest() {
    let body = |share: f64| {
        recording([
            ("chest", trace(60, |f| [0.012 * f, 0.0])),
            (
                "head",
                trace(60, move |f| [0.012 * f * (1.0 - share), -0.2]),
            ),
            ("hip", trace(60, move |f| [0.012 * f * (1.0 - share), 0.3])),
        ])
    };
    for share in [0.0, 0.5, 1.0] {
        near(
            told(&body(share), Measure::Pinned, "head", 10, 35),
            share,
            0.01,
        );
        near(
            told(&body(share), Measure::StillHips, "hip", 10, 35),
            share,
            0.01,
        );
    }
    assert!(!finds(&body(1.0), Measure::Pinned, "head").is_empty());
    assert!(!finds(&body(1.0), Measure::StillHips, "hip").is_empty());
    assert_eq!(finds(&body(0.5), Measure::StillHips, "hip"), []);
}

/// A foot that steps once, slides by `slide` from frame 30 to 44, and comes down by `drop` in its last frame in the air.
fn foot(slide: f64, drop: f64, lift: f64) -> Recording {
    let x =
        move |f: f64| 0.2 * reach((f - 10.0) / 10.0) + slide * ((f - 30.0) / 14.0).clamp(0.0, 1.0);
    let y = move |f: f64| {
        let u = ((f - 10.0) / 10.0).clamp(0.0, 1.0);
        let high = lift * (PI * u).sin().powi(2);
        -high.max(if (15.0..20.0).contains(&f) { drop } else { 0.0 })
    };
    let mut foot = recording([
        ("ankle.left", trace(70, move |f| [x(f), y(f)])),
        ("toe.left", trace(70, move |f| [x(f) + 0.1, y(f) + 0.03])),
    ]);
    foot.contacts.insert(
        "ankle.left".to_owned(),
        (0..70).map(|f| !(11..20).contains(&f)).collect(),
    );
    foot
}

#[test]
fn feet_slide_land_and_lift_by_percents_of_the_height() {
    // The first and the last of fourteen steps of the slide are halved by the mean of three frames.
    near(
        told(
            &foot(0.05, 0.0, 0.08),
            Measure::FootSlide,
            "ankle.left",
            30,
            44,
        ),
        5.0,
        0.75,
    );
    near(
        told(
            &foot(0.0, 0.0, 0.08),
            Measure::FootSlide,
            "ankle.left",
            30,
            44,
        ),
        0.0,
        1e-9,
    );
    near(
        told(&foot(0.0, 0.04, 0.04), Measure::Stomp, "ankle.left", 19, 21),
        4.0,
        0.05,
    );
    near(
        told(
            &foot(0.0, 0.0, 0.2),
            Measure::HighStep,
            "ankle.left",
            10,
            20,
        ),
        20.0,
        0.1,
    );
    assert_eq!(
        finds(&foot(0.05, 0.0, 0.08), Measure::FootSlide, "ankle.left").len(),
        1
    );
    assert_eq!(
        finds(&foot(0.0, 0.04, 0.04), Measure::Stomp, "ankle.left"),
        [(19, 21)]
    );
    assert_eq!(
        finds(&foot(0.0, 0.0, 0.2), Measure::HighStep, "ankle.left").len(),
        1
    );
    assert_eq!(findings(&foot(0.0, 0.0, 0.08), &Limits::default()), []);
}

#[test]
fn a_foot_without_given_contacts_slides_too() {
    let mut sliding = foot(0.05, 0.0, 0.08);
    sliding.contacts.clear();
    near(
        told(&sliding, Measure::FootSlide, "ankle.left", 30, 44),
        5.0,
        0.75,
    );
}

#[test]
fn a_limb_that_snaps_loses_its_bend_in_degrees() {
    // Thigh straight down, shin bent by 50 degrees, by 20 on frames 30 and 31.
    let knee = |snapped: f64| {
        recording([
            ("thigh.left", trace(60, |_| [0.0, 0.0])),
            ("knee.left", trace(60, |_| [0.0, 0.25])),
            (
                "ankle.left",
                trace(60, move |f| {
                    let bend = if (30.0..=31.0).contains(&f) {
                        snapped
                    } else {
                        50.0_f64
                    };
                    [
                        -0.25 * bend.to_radians().sin(),
                        0.25 + 0.25 * bend.to_radians().cos(),
                    ]
                }),
            ),
        ])
    };
    near(
        told(&knee(20.0), Measure::IkLock, "knee.left", 30, 31),
        30.0,
        1e-6,
    );
    near(
        told(&knee(50.0), Measure::IkLock, "knee.left", 30, 31),
        0.0,
        1e-6,
    );
    assert_eq!(finds(&knee(20.0), Measure::IkLock, "knee.left"), [(30, 31)]);
}

#[test]
fn a_revision_is_better_worse_or_the_same() {
    let jump = |size: f64| {
        recording([(
            "ball",
            trace(80, |f| {
                [
                    swing(f)[0] + if f == 40.0 { size } else { 0.0 },
                    swing(f)[1],
                ]
            }),
        )])
    };
    let places = [place(Measure::Pop, "ball", 40, 40)];
    let verdict =
        |a: f64, b: f64| compare(&jump(a), &jump(b), None, &places, &Limits::default())[0].clone();
    assert_eq!(verdict(0.03, 0.0).verdict, Verdict::Better);
    assert_eq!(verdict(0.0, 0.03).verdict, Verdict::Worse);
    assert_eq!(verdict(0.03, 0.03).verdict, Verdict::Same);
    // Ten frames later in the later revision, and nowhere in it.
    let late = recording([(
        "ball",
        trace(90, |f| {
            [
                swing(f - 10.0)[0] + if f == 50.0 { 0.03 } else { 0.0 },
                swing(f - 10.0)[1],
            ]
        }),
    )]);
    let map: Vec<Option<usize>> = (10..90).map(Some).collect();
    let carried = &compare(&jump(0.03), &late, Some(&map), &places, &Limits::default())[0];
    assert_eq!(
        (carried.verdict, carried.frames),
        (Verdict::Same, Some((50, 50)))
    );
    let gone = &compare(
        &jump(0.03),
        &late,
        Some(&vec![None; 80]),
        &places,
        &Limits::default(),
    )[0];
    assert_eq!((gone.verdict, gone.frames), (Verdict::CannotTell, None));
}

#[test]
fn what_cannot_be_told_has_a_reason() {
    let mut lost = recording([("ball", trace(60, swing))]);
    for point in lost.traces.values_mut().flatten().skip(20).take(20) {
        *point = None;
    }
    let why = |recording: &Recording, part: &str, start, end| {
        value(
            recording,
            &place(Measure::Pop, part, start, end),
            &Limits::default(),
        )
        .err()
    };
    assert_eq!(
        why(&lost, "kite", 5, 6),
        Some(CannotTell::NoTrace("kite".into()))
    );
    assert_eq!(
        why(&lost, "ball", 25, 30),
        Some(CannotTell::Unsure("ball".into()))
    );
    assert_eq!(
        why(&lost, "ball", 58, 60),
        Some(CannotTell::NoFrames(58, 60))
    );
    assert_eq!(why(&lost, "ball", 5, 4), Some(CannotTell::NoFrames(5, 4)));
    lost.height_px = f64::NAN;
    assert_eq!(why(&lost, "ball", 5, 6), Some(CannotTell::NoHeight));
    let unsure = recording([(
        "ball",
        trace(60, swing)
            .into_iter()
            .map(|p| {
                p.map(|p| Point {
                    confidence: 0.3,
                    ..p
                })
            })
            .collect(),
    )]);
    assert_eq!(
        why(&unsure, "ball", 25, 30),
        Some(CannotTell::Unsure("ball".into()))
    );
}
