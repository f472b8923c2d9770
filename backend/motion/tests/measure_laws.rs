//! Laws that every measure keeps whatever the movement, and what no input may do.

use std::collections::BTreeMap;

use motion::measure::json::{CompareRequest, MeasureRequest};
use motion::measure::{
    Answer, CannotTell, Limits, Measure, Place, arc_kept, findings, frames_added, held, lag,
    offset, scaled, smoothness, spectral_arc_length, value,
};
use motion::trace::{Point, Recording, Trace};
use proptest::prelude::*;

const PARTS: [&str; 19] = [
    "hip",
    "chest",
    "neck",
    "head",
    "shoulder.left",
    "elbow.left",
    "wrist.left",
    "shoulder.right",
    "elbow.right",
    "wrist.right",
    "thigh.left",
    "knee.left",
    "ankle.left",
    "toe.left",
    "thigh.right",
    "knee.right",
    "ankle.right",
    "toe.right",
    "ball",
];

/// Numbers in -0.5..0.5 in a fixed order.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
    }
}

/// A figure whose parts swing on sines of their own, trembling by half a pixel, with a jump and a stop in it.
fn figure(seed: u64, frames: usize) -> Recording {
    let mut dice = Dice(seed);
    let mut traces = BTreeMap::new();
    for (i, part) in PARTS.iter().enumerate() {
        let (size, pace, phase) = (
            60.0 + 80.0 * dice.roll(),
            9.0 + 6.0 * dice.roll(),
            6.0 * dice.roll(),
        );
        let trace: Trace = (0..frames)
            .map(|f| {
                let t = (f as f64).min(60.0 + i as f64) / pace + phase;
                let jump = if f == 30 && i % 4 == 0 { 9.0 } else { 0.0 };
                Some(Point {
                    x: 300.0 + 20.0 * i as f64 + size * t.sin() + dice.roll() + jump,
                    y: 200.0 + 12.0 * i as f64 + 0.6 * size * (1.3 * t).cos() + dice.roll(),
                    confidence: 0.9,
                })
            })
            .collect();
        traces.insert((*part).to_owned(), trace);
    }
    let contacts = ["ankle.left", "ankle.right"]
        .map(|a| (a.to_owned(), (0..frames).map(|f| f % 24 < 15).collect()));
    Recording {
        fps: 24.0,
        height_px: 260.0,
        traces,
        contacts: contacts.into(),
    }
}

fn moved(recording: &Recording, by: impl Fn(Point) -> Point) -> Recording {
    let mut moved = recording.clone();
    for point in moved.traces.values_mut().flatten().flatten() {
        *point = by(*point);
    }
    moved
}

fn places(shift: usize) -> Vec<Place> {
    let of = |(measure, part): (Measure, &str)| {
        [(28, 34), (20, 44), (56, 74)].map(|(start, end)| Place {
            measure,
            part: part.to_owned(),
            start: start + shift,
            end: end + shift,
        })
    };
    let parts = Measure::ALL.map(|m| match m {
        Measure::Pop | Measure::UnevenSpacing => (m, "hip"),
        Measure::OneBlock => (m, "body"),
        Measure::Pinned => (m, "head"),
        Measure::StillHips => (m, "hip"),
        Measure::FootSlide | Measure::Stomp | Measure::HighStep => (m, "ankle.left"),
        Measure::IkLock => (m, "knee.left"),
        _ => (m, "wrist.left"),
    });
    parts.into_iter().flat_map(of).collect()
}

fn values(recording: &Recording, shift: usize, limits: &Limits) -> Vec<Result<f64, String>> {
    let of = |p: &Place| {
        value(recording, p, limits)
            .map(|v| v.value)
            .map_err(|e| e.to_string())
    };
    places(shift).iter().map(of).collect()
}

/// Equal but for rounding.
fn alike(a: &[Result<f64, String>], b: &[Result<f64, String>]) -> Result<(), TestCaseError> {
    for ((a, b), place) in a.iter().zip(b).zip(places(0)) {
        match (a, b) {
            (Ok(a), Ok(b)) => prop_assert!((a - b).abs() <= 1e-6, "{place:?}: {a} {b}"),
            _ => prop_assert_eq!(a, b, "{:?}", place),
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn moving_the_picture_changes_nothing(seed: u64, x in -900.0..900.0, y in -900.0..900.0) {
        let (here, limits) = (figure(seed, 90), Limits::default());
        let there = moved(&here, |p| Point { x: p.x + x, y: p.y + y, ..p });
        alike(&values(&here, 0, &limits), &values(&there, 0, &limits))?;
        prop_assert_eq!(findings(&here, &limits).len(), findings(&there, &limits).len());
    }

    /// The floors of the noise are in pixels and grow with the picture here.
    #[test]
    fn a_larger_picture_of_a_larger_figure_changes_nothing(seed: u64, by in 0.4..3.0) {
        let (here, limits) = (figure(seed, 90), Limits::default());
        let mut there = moved(&here, |p| Point { x: by * p.x, y: by * p.y, ..p });
        there.height_px *= by;
        let wide = Limits {
            noise_floor_px: by * limits.noise_floor_px,
            noise_least_px: by * limits.noise_least_px,
            noise_most_px: by * limits.noise_most_px,
            ..limits.clone()
        };
        alike(&values(&here, 0, &limits), &values(&there, 0, &wide))?;
    }

    /// The floor of the noise is above the tremor here, which is read from the whole trace and so changes a little with the join.
    #[test]
    fn frames_that_stand_still_before_change_nothing(seed: u64, before in 1_usize..60) {
        let limits = Limits { noise_floor_px: 1.2, ..Limits::default() };
        let here = figure(seed, 90);
        let mut later = here.clone();
        for trace in later.traces.values_mut() {
            let first = trace[0];
            trace.splice(0..0, std::iter::repeat_n(first, before));
        }
        for flags in later.contacts.values_mut() {
            flags.splice(0..0, std::iter::repeat_n(false, before));
        }
        alike(&values(&here, 0, &limits), &values(&later, before, &limits))?;
    }

    /// The camera's trace is subtracted.
    #[test]
    fn a_moving_camera_changes_nothing(seed: u64, pan in -4.0..4.0) {
        let (here, limits) = (figure(seed, 90), Limits::default());
        let mut panned = here.clone();
        for trace in panned.traces.values_mut() {
            for (f, point) in trace.iter_mut().enumerate() {
                *point = point.map(|p| Point { x: p.x + pan * f as f64, ..p });
            }
        }
        let camera = (0..90).map(|f| Some(Point { x: pan * f64::from(f), y: 0.0, confidence: 1.0 })).collect();
        panned.traces.insert("camera".into(), camera);
        alike(&values(&here, 0, &limits), &values(&panned, 0, &limits))?;
    }

    #[test]
    fn the_same_seed_gives_the_same_answer(seed: u64, other: u64) {
        let recording = figure(seed, 90);
        let limits = Limits { seed: other, ..Limits::default() };
        prop_assert_eq!(findings(&recording, &limits), findings(&recording, &limits));
    }

    #[test]
    fn short_broken_and_wild_recordings_are_answered(
        seed: u64,
        frames in 0_usize..12,
        wild in prop::collection::vec((0_usize..19, 0_usize..12, prop::num::f64::ANY, prop::num::f64::ANY), 0..40),
        height in prop_oneof![Just(260.0), prop::num::f64::ANY],
        fps in prop_oneof![Just(24.0), prop::num::f64::ANY],
    ) {
        let mut recording = figure(seed, frames);
        (recording.height_px, recording.fps) = (height, fps);
        for (part, f, x, y) in wild {
            if let Some(point) = recording.traces.get_mut(PARTS[part]).and_then(|t| t.get_mut(f)) {
                *point = Some(Point { x, y, confidence: x });
            }
        }
        let limits = Limits::default();
        for finding in findings(&recording, &limits) {
            prop_assert!(finding.value.is_finite() && (0.0..=1.0).contains(&finding.confidence), "{finding:?}");
        }
        for (measure, part) in Measure::ALL.into_iter().flat_map(|m| ["hip", "wrist.left", "knee.left", "ankle.left", "ball"].map(|p| (m, p))) {
            for (start, end) in [(0, 0), (0, frames), (frames / 2, frames.saturating_sub(1)), (usize::MAX, usize::MAX)] {
                let place = Place { measure, part: part.into(), start, end };
                if let Ok(v) = value(&recording, &place, &limits) {
                    prop_assert!(v.value.is_finite() && v.sd >= 0.0, "{place:?} {v:?}");
                }
            }
        }
        for part in PARTS {
            if let Ok(s) = smoothness(&recording, part, 0, frames.saturating_sub(1), &limits) {
                prop_assert!(s.sparc.is_finite() && s.ldlj.is_finite());
            }
        }
    }
}

/// Any JSON, leaning towards the fields of a request.
fn any_json() -> impl Strategy<Value = String> {
    let word = prop::sample::select(vec![
        "fps",
        "height_px",
        "traces",
        "contacts",
        "at",
        "before",
        "after",
        "map",
        "measure",
        "part",
        "start",
        "end",
        "head",
        "ankle.left",
        "pop",
        "stomp",
        "x",
    ]);
    let leaf = prop_oneof![
        Just("null".to_owned()),
        any::<bool>().prop_map(|b| b.to_string()),
        any::<i64>().prop_map(|n| n.to_string()),
        (-300_i32..300).prop_map(|n| n.to_string()),
        Just("24".to_owned()),
        Just("1e400".to_owned()),
        Just("[1,2,1]".to_owned()),
        word.clone().prop_map(|w| format!("\"{w}\"")),
        any::<String>().prop_map(|s| serde_json::to_string(&s).unwrap_or_default()),
    ];
    leaf.prop_recursive(6, 64, 8, move |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..8).prop_map(|v| format!("[{}]", v.join(","))),
            prop::collection::vec((word.clone(), inner), 0..8).prop_map(|v| format!(
                "{{{}}}",
                v.iter()
                    .map(|(k, v)| format!("\"{k}\":{v}"))
                    .collect::<Vec<_>>()
                    .join(",")
            )),
        ]
    })
}

fn request() -> MeasureRequest {
    let recording = figure(3, 40);
    MeasureRequest {
        fps: 24.0,
        height_px: 260.0,
        traces: recording.traces,
        contacts: Some(recording.contacts),
        at: Some(vec![Place {
            measure: Measure::Pop,
            part: "hip".into(),
            start: 30,
            end: 30,
        }]),
    }
}

fn answered(text: &str) {
    let limits = Limits::default();
    if let Ok(request) = serde_json::from_str::<MeasureRequest>(text) {
        let _ = request.answer(&limits).map(|a| serde_json::to_string(&a));
    }
    if let Ok(request) = serde_json::from_str::<CompareRequest>(text) {
        let _ = request.answer(&limits).map(|a| serde_json::to_string(&a));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_json_is_answered_or_refused(text in any_json()) {
        answered(&text);
        answered(&format!("{{\"fps\":24,\"height_px\":200,\"traces\":{{\"head\":{text},\"ankle.left\":[[1,2,1],null,{text}]}},\"at\":[{text}]}}"));
    }

    #[test]
    fn any_text_is_answered_or_refused(text in any::<String>()) {
        answered(&text);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// One character of a sound request changed.
    #[test]
    fn a_damaged_request_is_answered_or_refused(at in 0.0..1.0, with in prop::sample::select(b"0-9.e{}[],:\"nul \x7f".to_vec())) {
        let mut text = serde_json::to_vec(&request()).unwrap_or_default();
        let index = (at * text.len() as f64) as usize;
        text[index] = with;
        if let Ok(text) = String::from_utf8(text) {
            answered(&text);
        }
    }
}

#[test]
fn what_is_no_request_is_told_what_a_request_is() {
    let told = |text: &str| match serde_json::from_str::<MeasureRequest>(text) {
        Ok(request) => panic!("{text} was taken for {request:?}"),
        Err(error) => error.to_string(),
    };
    for text in ["[]", "null", "3"] {
        let said = told(text);
        assert!(
            said.contains("an object with fps, height_px and traces"),
            "{text}: {said}"
        );
    }
    let within = r#"{"fps":24,"height_px":200,"traces":{},"at":[7]}"#;
    assert!(told(within).contains("an object with measure, part, start and end"));
}

#[test]
fn a_sound_request_is_answered_and_an_unsound_one_names_its_field() {
    let answer = request().answer(&Limits::default()).expect("sound");
    assert_eq!(answer.at.len(), 1);
    assert!(answer.at[0].value.is_some() && answer.at[0].cannot_tell.is_none());
    assert!(answer.measures["sparc"].values.contains_key("hip"));
    let said = |change: &dyn Fn(&mut MeasureRequest)| {
        let mut request = request();
        change(&mut request);
        request
            .answer(&Limits::default())
            .map(|_| ())
            .map_err(|f| f.to_string())
    };
    assert_eq!(
        said(&|r| r.fps = f64::NAN),
        Err("fps: NaN is not above 0 and at most 1000".into())
    );
    assert_eq!(
        said(&|r| r.contacts = Some(BTreeMap::from([("toe.left".into(), vec![])]))),
        Err("contacts.toe.left: contacts are of ankle.left and ankle.right".into())
    );
    assert_eq!(
        said(&|r| r.at = Some(vec![Place {
            measure: Measure::Pop,
            part: "hip".into(),
            start: 39,
            end: 40
        }])),
        Err("at[0].end: there is no frame 40, the traces have 40".into())
    );
    let compare = |map: Option<Vec<Option<usize>>>| {
        let request = CompareRequest {
            before: request(),
            after: request(),
            map,
            at: vec![],
        };
        request
            .answer(&Limits::default())
            .map(|a| a.verdicts.len())
            .map_err(|f| f.to_string())
    };
    assert_eq!(compare(None), Ok(0));
    assert_eq!(
        compare(Some(vec![None; 3])),
        Err("map: 3 entries for 40 frames".into())
    );
    assert_eq!(
        compare(Some(vec![Some(40); 40])),
        Err("map[0]: the later revision has no frame 40".into())
    );
}

#[test]
fn a_hundred_thousand_frames_of_nothing_are_nothing() {
    let still = Some(Point {
        x: 5.0,
        y: 5.0,
        confidence: 1.0,
    });
    let traces =
        ["head", "chest", "wrist.left", "ankle.left"].map(|p| (p.to_owned(), vec![still; 100_000]));
    let recording = Recording {
        fps: 24.0,
        height_px: 200.0,
        traces: traces.into(),
        contacts: BTreeMap::new(),
    };
    assert_eq!(findings(&recording, &Limits::default()), []);
    assert_eq!(
        smoothness(&recording, "head", 0, 99_999, &Limits::default()),
        Err(CannotTell::NoMove)
    );
    assert_eq!(spectral_arc_length(&[], 24.0, 10.0, 0.05), None);
    assert_eq!(lag(&[1.0; 50], &[1.0; 50], 9), None);
}

/// A hand that swings, `size` wide, `late` frames after the clip begins, and holds from frame 60 on.
fn hand(size: f64, late: f64) -> Recording {
    let at = |f: usize| {
        let t = ((f as f64).min(60.0) - late) / 8.0;
        Some(Point {
            x: 300.0 + size * t.sin(),
            y: 200.0 + 0.3 * size * (2.0 * t).cos(),
            confidence: 1.0,
        })
    };
    let traces = BTreeMap::from([("wrist.left".to_owned(), (0..90).map(at).collect())]);
    Recording {
        fps: 24.0,
        height_px: 250.0,
        traces,
        contacts: BTreeMap::new(),
    }
}

#[test]
fn asks_are_checked_in_their_own_units() {
    let limits = Limits::default();
    let (wide, half) = (hand(80.0, 0.0), hand(40.0, 0.0));
    let met = |answer: Result<Answer, CannotTell>| {
        answer.map(|a| ((a.measured * 100.0).round() / 100.0, a.met))
    };
    assert_eq!(
        met(scaled(
            (&wide, (0, 59)),
            (&half, (0, 59)),
            "wrist.left",
            0.5,
            0.1,
            &limits
        )),
        Ok((0.5, true))
    );
    assert_eq!(
        met(scaled(
            (&wide, (0, 59)),
            (&wide, (0, 59)),
            "wrist.left",
            0.5,
            0.1,
            &limits
        )),
        Ok((1.0, false))
    );
    let stretched: Vec<Option<usize>> = (0..90).map(|f| Some(f + f / 10)).collect();
    assert_eq!(
        met(frames_added((20, 50), &stretched, 3.0, 0.5)),
        Ok((3.0, true))
    );
    assert_eq!(
        met(frames_added((20, 95), &stretched, 3.0, 0.5)),
        Err(CannotTell::NoFrames(20, 95))
    );
    let mut pair = wide.clone();
    pair.traces.insert(
        "wrist.right".into(),
        hand(50.0, 4.0).traces["wrist.left"].clone(),
    );
    let behind = offset(
        &pair,
        "wrist.left",
        "wrist.right",
        (5, 55),
        4.0,
        0.5,
        &limits,
    );
    assert!(behind.is_ok_and(|a| a.met && (a.measured - 4.0).abs() < 0.3));
    assert_eq!(
        met(arc_kept(
            (&wide, (2, 12)),
            (&half, (2, 12)),
            "wrist.left",
            0.2,
            &limits
        ))
        .map(|a| a.1),
        Ok(true)
    );
    assert_eq!(
        met(held(
            &wide,
            "wrist.left",
            (20, 89),
            28.0,
            1.0,
            0.01,
            &limits
        ))
        .map(|a| a.1),
        Ok(true)
    );
    assert_eq!(
        met(held(
            &wide,
            "wrist.left",
            (20, 69),
            28.0,
            1.0,
            0.01,
            &limits
        ))
        .map(|a| a.1),
        Ok(false)
    );
}
