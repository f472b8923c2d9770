//! The measures against values computed without the program by `tests/reference/motion_measures.py`, which names the sources.
#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot go on should stop where it stands"
)]

use std::collections::BTreeMap;

use motion::measure::{
    Limits, foot_skate, hampel, lag, log_dimensionless_jerk, spacing, spectral_arc_length,
    speed_by_curvature,
};
use motion::trace::{Point, Recording};
use serde_json::Value;

fn reference() -> Value {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../tests/reference/motion_measures.json"
    );
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn near(a: f64, b: f64, tolerance: f64) {
    assert!(
        (a - b).abs() <= tolerance,
        "{a} is not within {tolerance} of {b}"
    );
}

/// Flash and Hogan 1985: the largest speed of a minimum jerk movement is 1.875 times its mean.
#[test]
fn spacing_of_a_minimum_jerk_movement() {
    let reference = &reference()["minimum_jerk"];
    let point = |x: &f64| {
        Some(Point {
            x: 100.0 * x,
            y: 0.0,
            confidence: 1.0,
        })
    };
    let ratio = |places: &[f64]| {
        let recording = Recording {
            fps: 24.0,
            height_px: 200.0,
            traces: BTreeMap::from([("ball".to_owned(), places.iter().map(point).collect())]),
            contacts: BTreeMap::new(),
        };
        let gaps = spacing(&recording, "ball", &Limits::default())
            .unwrap()
            .split_off(1);
        gaps.iter().copied().fold(0.0, f64::max) / (gaps.iter().sum::<f64>() / gaps.len() as f64)
    };
    near(
        ratio(&numbers(&reference["places"])),
        number(&reference["peak_to_mean"]),
        1e-9,
    );
    near(number(&reference["peak_to_mean"]), 1.866_338, 1e-6);
    let fine: Vec<f64> = (0..=2000)
        .map(|i| f64::from(i) / 2000.0)
        .map(|u| u.powi(3) * (10.0 - 15.0 * u + 6.0 * u * u))
        .collect();
    near(ratio(&fine), number(&reference["continuous"]), 1e-5);
}

/// Balasubramanian et al. 2015 (arc length), 2012 (jerk), computed with numpy's FFT.
#[test]
fn smoothness_of_known_speeds() {
    for (name, row) in reference()["smoothness"].as_object().unwrap() {
        let speeds = numbers(&row["speeds"]);
        let sparc = spectral_arc_length(&speeds, 100.0, 10.0, 0.05).expect(name);
        near(sparc, number(&row["sparc"]), 1e-6);
        near(
            log_dimensionless_jerk(&speeds, 100.0).expect(name),
            number(&row["ldlj"]),
            1e-6,
        );
    }
    near(
        number(&reference()["smoothness"]["gauss"]["sparc"]),
        -1.414_031,
        1e-6,
    );
}

/// Lacquaniti, Terzuolo and Viviani 1983: an ellipse drawn harmonically has exponent 1/3 and gain (a b w^3)^(1/3).
#[test]
fn speed_follows_curvature_on_an_ellipse() {
    let reference = &reference()["two_thirds"];
    let places: Vec<[f64; 2]> = reference["points"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| [number(&p[0]), number(&p[1])])
        .collect();
    let (slope, gain) = speed_by_curvature(&places, number(&reference["rate"])).unwrap();
    near(slope, number(&reference["slope"]), 1e-3);
    near(gain, number(&reference["gain"]), 0.01);
}

/// Hampel 1974 by the package `hampel`, which leaves the first and the last three values alone.
#[test]
fn wild_values_are_those_of_the_package() {
    for row in reference()["hampel"].as_array().unwrap() {
        let values = numbers(&row["values"]);
        let inside = 3..values.len() - 3;
        let found = hampel(&values, 3, 3.0)
            .into_iter()
            .enumerate()
            .filter(|(i, wild)| *wild && inside.contains(i));
        let expected: Vec<f64> = numbers(&row["wild"]);
        assert_eq!(found.map(|(i, _)| i as f64).collect::<Vec<_>>(), expected);
    }
}

/// Zhang, Starke, Komura and Saito 2018.
#[test]
fn foot_skate_of_the_formula() {
    let reference = &reference()["foot_skate"];
    let value = foot_skate(
        &numbers(&reference["speeds"]),
        &numbers(&reference["heights"]),
        number(&reference["limit"]),
    );
    near(value, number(&reference["value"]), 1e-9);
    near(value, 2.192_896, 1e-6);
}

/// `scipy.signal.correlate` and the parabola through its largest value.
#[test]
fn lags_are_those_of_scipy() {
    for row in reference()["lag"].as_array().unwrap() {
        let lag = lag(&numbers(&row["a"]), &numbers(&row["b"]), 40).unwrap();
        near(lag, number(&row["lag"]), 1e-6);
    }
}
