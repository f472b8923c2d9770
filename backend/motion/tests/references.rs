//! Parts of the map against other people's programs: dtw-python, scikit-image and OpenCV, whose values
//! `tests/reference/motion_maps.py` computes and checks in.
#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot go on should stop where it stands"
)]

use motion::camera::phase::phase_shift;
use motion::frame_map::warping::warp;
use motion::plane::Plane;
use motion::ssim::ssim;
use serde_json::Value;

fn reference() -> Value {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../tests/reference/motion_maps.json"
    );
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn rows<'a>(of: &'a Value, name: &str) -> impl Iterator<Item = &'a Value> {
    let rows = of[name].as_array().unwrap();
    assert!(rows.len() >= 3);
    rows.iter()
}

fn whole(row: &Value, name: &str) -> usize {
    row[name].as_u64().unwrap() as usize
}

/// The generator of the script: a linear congruential one with Knuth's MMIX constants, upper 24 bits.
fn numbers(seed: u64, count: usize) -> Vec<f64> {
    let mut state = seed;
    (0..count)
        .map(|_| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f64 / f64::from(1 << 24)
        })
        .collect()
}

/// Outside reference: dtw-python 1.9 (`symmetric2`; Giorgino 2009).
#[test]
fn warping_costs_what_dtw_python_says() {
    for row in rows(&reference(), "warping") {
        let (r, c) = (whole(row, "rows"), whole(row, "columns"));
        let (cost, path) = warp(&numbers(row["seed"].as_u64().unwrap(), r * c), r, c).unwrap();
        assert!(
            (cost - row["cost"].as_f64().unwrap()).abs() < 1e-9,
            "{row} {cost}"
        );
        assert_eq!((path[0], path[path.len() - 1]), ((0, 0), (r - 1, c - 1)));
    }
}

/// Outside reference: scikit-image 0.26 `structural_similarity` with its defaults (Wang et al. 2004).
#[test]
fn structural_similarity_is_scikit_images() {
    for row in rows(&reference(), "ssim") {
        let (w, h) = (whole(row, "width"), whole(row, "height"));
        let (seed, noise) = (
            row["seed"].as_u64().unwrap(),
            row["noise"].as_f64().unwrap(),
        );
        let a: Vec<f64> = numbers(seed, w * h)
            .iter()
            .map(|v| (255.0 * v).floor())
            .collect();
        let b = numbers(seed + 100, w * h);
        let b: Vec<f32> = a
            .iter()
            .zip(b)
            .map(|(a, n)| (a + (255.0 * noise * (n - 0.5)).floor()).clamp(0.0, 255.0) as f32)
            .collect();
        let a = a.iter().map(|&v| v as f32).collect();
        let (a, b) = (
            Plane::from_vec(w, h, a).unwrap(),
            Plane::from_vec(w, h, b).unwrap(),
        );
        let found = ssim(&a, &b, 255.0).unwrap();
        assert!(
            (found - row["ssim"].as_f64().unwrap()).abs() < 1e-6,
            "{row} {found}"
        );
    }
}

fn blobs(shift: (f64, f64)) -> Plane {
    let places = numbers(11, 40);
    Plane::from_fn(128, 64, |x, y| {
        let (x, y) = (x as f64 - shift.0, y as f64 - shift.1);
        let mut sum = 0.0;
        for (k, v) in places.chunks_exact(2).enumerate() {
            let (dx, dy) = (x - 14.0 - 100.0 * v[0], y - 8.0 - 48.0 * v[1]);
            let size = 1.5 + (k % 4) as f64;
            sum += (1 + k % 3) as f64 * (-(dx * dx + dy * dy) / (2.0 * size * size)).exp();
        }
        sum as f32
    })
}

/// Outside reference: OpenCV 5.0 `phaseCorrelate` under a Hann window (Kuglin & Hines 1975).
#[test]
fn phase_correlation_finds_what_opencv_finds() {
    for row in rows(&reference(), "phase") {
        let value = |name: &str| row[name].as_f64().unwrap();
        let ((x, y), clear) = phase_shift(&blobs((0.0, 0.0)), &blobs((value("x"), value("y"))));
        let (dx, dy) = (
            f64::from(x) - value("found_x"),
            f64::from(y) - value("found_y"),
        );
        assert!(dx.hypot(dy) < 0.05, "{row} {x} {y}");
        assert!(clear > 0.1);
    }
}
