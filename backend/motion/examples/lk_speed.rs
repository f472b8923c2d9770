//! The time to follow points from one picture to the next, for `ops/bench/motion_track`.
//! usage: lk_speed WIDTH HEIGHT WINDOW REPEATS < two grey pictures and points (f32 pairs, little endian)
//! Writes microseconds a point (best of the repeats), then the points found, one a line.

use std::io::{self, Read, Write};
use std::time::Instant;

use motion::plane::Plane;
use motion::track::Pyramid;
use motion::track::lk::{LkOptions, follow};

fn main() -> io::Result<()> {
    let numbers: Vec<usize> = std::env::args()
        .skip(1)
        .filter_map(|a| a.parse().ok())
        .collect();
    let [width, height, window_px, repeats] = numbers[..] else {
        return Err(io::Error::other(
            "usage: lk_speed WIDTH HEIGHT WINDOW REPEATS",
        ));
    };
    let mut bytes = Vec::new();
    io::stdin().read_to_end(&mut bytes)?;
    let (first, rest) = bytes.split_at(width * height);
    let (second, points) = rest.split_at(width * height);
    let plane = |from: &[u8]| Plane::from_fn(width, height, |x, y| f32::from(from[y * width + x]));
    let planes = [plane(first), plane(second)];
    let points: Vec<[f32; 2]> = points
        .chunks_exact(8)
        .map(|c| {
            [
                f32::from_le_bytes([c[0], c[1], c[2], c[3]]),
                f32::from_le_bytes([c[4], c[5], c[6], c[7]]),
            ]
        })
        .collect();
    let options = LkOptions {
        window_px,
        ..LkOptions::default()
    };
    let mut best = f64::INFINITY;
    let mut found = Vec::new();
    for _ in 0..repeats.max(1) {
        let start = Instant::now();
        let [a, b] = [0, 1].map(|i| Pyramid::new(&planes[i], options.levels));
        found = points
            .iter()
            .map(|&p| follow(&a, &b, p, p, &options))
            .collect();
        best = best.min(start.elapsed().as_secs_f64());
    }
    let mut out = io::stdout().lock();
    writeln!(out, "{}", best * 1e6 / points.len().max(1) as f64)?;
    for f in found {
        writeln!(out, "{} {} {}", f.x, f.y, u8::from(f.found))?;
    }
    Ok(())
}
