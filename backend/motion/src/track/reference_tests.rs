//! Against other programs' values: `tests/reference/motion_track.py` computes them (OpenCV, SciPy).

use serde::Deserialize;

use super::clip::Clip;
use super::lk::{LkOptions, follow};
use super::ncc::correlate;
use super::pyramid::Pyramid;
use super::spline::Spline;
use crate::plane::Plane;

#[derive(Deserialize)]
struct Reference {
    lk: Vec<Followed>,
    ncc: Correlated,
    spline: Curve,
    lab: Vec<Colour>,
}

#[derive(Deserialize)]
struct Followed {
    kind: u8,
    shift: [f64; 2],
    window: usize,
    found: Vec<[f32; 3]>,
}

#[derive(Deserialize)]
struct Correlated {
    grey: Vec<Vec<f32>>,
    colour: Vec<Vec<f32>>,
}

#[derive(Deserialize)]
struct Curve {
    times: Vec<f64>,
    points: Vec<[f64; 2]>,
    at: Vec<f64>,
    got: Vec<[f64; 2]>,
}

#[derive(Deserialize)]
struct Colour {
    rgb: [u8; 3],
    lab: [f32; 3],
}

fn reference() -> Reference {
    let text = include_str!("../../../../tests/reference/motion_track.json");
    serde_json::from_str(text).unwrap()
}

/// The formula of the script.
fn wave(x: f64, y: f64, kind: u8) -> f64 {
    let v = if kind == 0 {
        40.0 * (x / 5.0 + 0.7 * (y / 9.0).sin()).sin()
            + 35.0 * (y / 6.0 - x / 13.0).cos()
            + 30.0 * ((x + 2.0 * y) / 31.0).sin()
    } else {
        60.0 * (x / 3.1).sin() * (y / 3.7).cos()
            + 45.0 * (x / 17.0 + y / 23.0).sin()
            + 12.0 * (x * y / 900.0).cos()
    };
    v + 127.5
}

fn picture(kind: u8, [dx, dy]: [f64; 2], width: usize, height: usize) -> Plane {
    Plane::from_fn(width, height, |x, y| {
        let v = wave(x as f64 - dx, y as f64 - dy, kind);
        (v + 0.5).floor().clamp(0.0, 255.0) as f32
    })
}

fn points() -> impl Iterator<Item = [f32; 2]> {
    (0..8).flat_map(|j| (0..10).map(move |i| [40.0 + 24.3 * i as f32, 36.0 + 23.7 * j as f32]))
}

#[test]
fn points_are_followed_as_opencv_follows_them() {
    for case in reference().lk {
        let options = LkOptions {
            window_px: case.window,
            ..LkOptions::default()
        };
        let [a, b] = [[0.0; 2], case.shift]
            .map(|shift| Pyramid::new(&picture(case.kind, shift, 320, 240), options.levels));
        let mut apart: Vec<f32> = points()
            .zip(&case.found)
            .filter(|(_, found)| found[2] > 0.0)
            .map(|(p, found)| {
                let got = follow(&a, &b, p, p, &options);
                (got.x - found[0]).hypot(got.y - found[1])
            })
            .collect();
        apart.sort_by(f32::total_cmp);
        assert!(apart.len() > 60, "{} of 80", apart.len());
        let median = apart[apart.len() / 2];
        assert!(
            median < 0.01,
            "picture {} moved by {:?}, window {}: {median} px apart",
            case.kind,
            case.shift,
            case.window
        );
    }
}

#[test]
fn patches_correlate_as_in_opencv() {
    let picture: Vec<Plane> = [
        picture(0, [0.0; 2], 64, 48),
        picture(1, [0.0; 2], 64, 48),
        picture(0, [5.5, 3.25], 64, 48),
    ]
    .into();
    let patch: Vec<Plane> = picture
        .iter()
        .map(|p| {
            Plane::from_fn(21, 21, |x, y| {
                // Rounded half to even, as NumPy does.
                (p.at(20 + x, 12 + y) * 0.8 + 20.0).round_ties_even()
            })
        })
        .collect();
    let wanted = reference().ncc;
    for (channels, wanted) in [(1, &wanted.grey), (3, &wanted.colour)] {
        let map = correlate(&picture[..channels], &patch[..channels]).unwrap();
        for (row, wanted) in wanted.iter().enumerate() {
            for (column, value) in wanted.iter().enumerate() {
                let got = map.at(3 * column, 3 * row);
                assert!((got - value).abs() < 3e-5, "{column} {row}: {got} {value}");
            }
        }
    }
}

#[test]
fn the_natural_spline_is_that_of_scipy() {
    let Curve {
        times,
        points,
        at,
        got,
    } = reference().spline;
    let spline = Spline::through(times, points);
    for (time, wanted) in at.iter().zip(got) {
        let place = spline.at(*time);
        for c in 0..2 {
            assert!(
                (place[c] - wanted[c]).abs() < 1e-6,
                "{time}: {place:?} {wanted:?}"
            );
        }
    }
}

#[test]
fn colours_are_those_of_opencv() {
    for Colour { rgb, lab } in reference().lab {
        let mut clip = Clip::new(32, 16, 32);
        clip.push_rgb(&rgb.repeat(32 * 16)).unwrap();
        let [l, a, b] = clip.prepared(0).unwrap().colour(8.3, 5.1);
        assert!((l - 0.7 * lab[0]).abs() < 0.3, "{rgb:?}: {l} {lab:?}");
        assert!(
            (a - lab[1]).abs() < 1.0 && (b - lab[2]).abs() < 1.0,
            "{rgb:?}: {a} {b} {lab:?}"
        );
    }
}
