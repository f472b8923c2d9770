//! Patterns of the set, computed from the place on the surface.

use crate::math::{V3, smooth};

use super::light::{Rgb, mix};

/// What a surface of the set is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pattern {
    /// One colour.
    Plain,
    /// Blotchy plaster.
    Plaster,
    /// Courses of brick.
    Bricks,
    /// Boards that run into the picture.
    Boards,
    /// Boards on the side of a crate, with a frame; half size in metres.
    Crate(f32),
    /// Square slabs.
    Slabs,
    /// Mown grass.
    Grass,
    /// Panels of a door, by its middle and half width.
    Door(f32, f32),
    /// Panes of a window.
    Panes,
}

/// A repeatable value in 0..1 for a lattice point.
fn hash(x: i32, y: i32) -> f32 {
    let mut h = (x.wrapping_mul(374_761_393)).wrapping_add(y.wrapping_mul(668_265_263)) as u32;
    h = (h ^ (h >> 13)).wrapping_mul(1_274_126_177);
    ((h ^ (h >> 16)) & 0xffff) as f32 / 65535.0
}

/// Smooth noise in 0..1.
pub fn noise(x: f32, y: f32) -> f32 {
    let (xi, yi) = (x.floor(), y.floor());
    let (u, v) = (smooth(x - xi), smooth(y - yi));
    let (i, j) = (xi as i32, yi as i32);
    let top = hash(i, j) + (hash(i + 1, j) - hash(i, j)) * u;
    let foot = hash(i, j + 1) + (hash(i + 1, j + 1) - hash(i, j + 1)) * u;
    top + (foot - top) * v
}

/// Dither of -0.5..0.5 for a pixel.
pub fn grain(x: usize, y: usize) -> f32 {
    hash(x as i32 * 3 + 11, y as i32 * 7 + 5) - 0.5
}

/// 1 on a joint of width `w` around whole multiples of `step`, softened.
fn joint(x: f32, step: f32, w: f32) -> f32 {
    let d = ((x / step + 0.5).rem_euclid(1.0) - 0.5).abs() * step;
    1.0 - smooth((d - w * 0.5) / (w * 0.8))
}

/// The colour of a pattern at a place.
pub fn color(p: Pattern, base: Rgb, at: V3, n: V3) -> Rgb {
    let dark = |c: Rgb, k: f32| [c[0] * k, c[1] * k, c[2] * k];
    let (u, v) = if n.y.abs() > 0.7 {
        (at.x, at.z)
    } else if n.z.abs() > 0.7 {
        (at.x, at.y)
    } else {
        (at.z, at.y)
    };
    match p {
        Pattern::Plain => base,
        Pattern::Plaster => dark(
            base,
            0.90 + 0.10 * noise(u * 2.1, v * 2.1) + 0.07 * noise(u * 9.0, v * 7.0),
        ),
        Pattern::Bricks => {
            let row = (v / 0.11).floor();
            let shift = if row.rem_euclid(2.0) < 1.0 { 0.0 } else { 0.15 };
            let j = joint(v, 0.11, 0.014).max(joint(u + shift, 0.30, 0.014));
            let tint = hash(((u + shift) / 0.30).floor() as i32 + 900, row as i32);
            let c = dark(base, 0.82 + 0.30 * tint + 0.12 * noise(u * 14.0, v * 14.0));
            mix(
                c,
                [
                    base[0] * 0.7 + 0.06,
                    base[1] * 0.7 + 0.06,
                    base[2] * 0.7 + 0.06,
                ],
                j * 0.75,
            )
        }
        Pattern::Boards => {
            let board = (u / 0.24).floor() as i32;
            let c = dark(
                base,
                0.80 + 0.26 * hash(board, 3) + 0.14 * noise(u * 24.0, v * 2.0 + board as f32 * 7.0),
            );
            dark(c, 1.0 - 0.55 * joint(u, 0.24, 0.012))
        }
        Pattern::Crate(half) => {
            let (cu, cv) = (
                (u / (2.0 * half)).rem_euclid(1.0) - 0.5,
                (v / (2.0 * half)).rem_euclid(1.0) - 0.5,
            );
            let frame = cu.abs().max(cv.abs()) > 0.40;
            let k = if frame { 1.08 } else { 0.86 } + 0.14 * noise(u * 4.0, v * 40.0);
            let gap = if frame {
                0.0
            } else {
                joint(cv, 0.2, 0.03) * 0.5
            };
            dark(
                base,
                k * (1.0 - gap)
                    * if (cu.abs().max(cv.abs()) - 0.40).abs() < 0.015 {
                        0.7
                    } else {
                        1.0
                    },
            )
        }
        Pattern::Slabs => {
            let s = 0.62;
            let c = dark(
                base,
                0.86 + 0.18 * hash((u / s).floor() as i32, (v / s).floor() as i32 + 77)
                    + 0.12 * noise(u * 11.0, v * 11.0),
            );
            dark(c, 1.0 - 0.42 * joint(u, s, 0.016).max(joint(v, s, 0.016)))
        }
        Pattern::Grass => dark(
            base,
            0.72 + 0.3 * noise(u * 1.3, v * 1.3) + 0.26 * noise(u * 26.0, v * 60.0),
        ),
        Pattern::Door(mid, half) => {
            let cu = (at.x - mid) / half;
            let panel = cu.abs() > 0.18 && cu.abs() < 0.80 && (0.12..0.92).contains(&(at.y % 0.95));
            let knob = (cu - 0.82).hypot((at.y - 0.98) / half) < 0.09;
            if knob {
                [0.55, 0.42, 0.16]
            } else {
                dark(
                    base,
                    if panel { 0.78 } else { 1.0 } * (0.94 + 0.1 * noise(at.x * 30.0, at.y * 3.0)),
                )
            }
        }
        Pattern::Panes => {
            let bar = joint(u, 0.42, 0.05).max(joint(v, 0.42, 0.05));
            mix(base, [0.03, 0.03, 0.035], bar)
        }
    }
}
