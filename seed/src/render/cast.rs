//! Casts the rays that draw a set once: colour, depth, and where shadows fall.

use crate::math::{V3, v3};

use super::camera::{Camera, DISTANCE, HEIGHT, WIDTH};
use super::light::{Film, Light, Rgb, mix, times};
use super::set::Set;
use super::solids::{Hit, Skin};
use super::texture;

/// A set as drawn: what every frame starts from.
pub struct Backdrop {
    /// Three bytes a pixel.
    pub rgb: Vec<u8>,
    /// Metres towards the camera.
    pub depth: Vec<f32>,
    /// 255 where the figure's shadow falls on ground, 0 elsewhere.
    pub takes: Vec<u8>,
}

/// Offsets of the four rays of a pixel.
const RAYS: [(f32, f32); 4] = [(0.38, 0.12), (0.88, 0.38), (0.12, 0.62), (0.62, 0.88)];
/// Places of the sun that rays look at in turn, for soft shadows.
const SUN: [(f32, f32); 4] = [
    (-0.016, 0.009),
    (0.013, 0.016),
    (-0.009, -0.016),
    (0.016, -0.009),
];

struct Seen {
    at: V3,
    n: V3,
    skin: Skin,
    ground: bool,
}

/// Draws a set. `clay` leaves forms and drops colours. One ray a pixel; four where neighbours differ.
pub fn backdrop(set: &Set, camera: &Camera, light: &Light, film: &Film, clay: bool) -> Backdrop {
    let n = WIDTH * HEIGHT;
    let stage = Stage { set, light, clay };
    let eye = camera.eye();
    let look = |x: usize, y: usize, ray: usize, sun: usize| {
        let (ox, oy) = RAYS[ray];
        stage.look(
            eye,
            camera.at(x as f32 + ox, y as f32 + oy) - eye,
            sun % SUN.len(),
        )
    };
    let first: Vec<Look> = (0..n)
        .map(|i| look(i % WIDTH, i / WIDTH, i % RAYS.len(), i + i / WIDTH))
        .collect();
    let mut out = Backdrop {
        rgb: vec![0; n * 3],
        depth: first.iter().map(|l| l.z).collect(),
        takes: vec![0; n],
    };
    let edges = edges(&first);
    for (i, own) in first.iter().enumerate() {
        let (x, y) = (i % WIDTH, i / WIDTH);
        let (mut sum, mut takes) = (own.color, f32::from(u8::from(own.ground)) * 255.0);
        if edges[i] {
            (sum, takes) = ([0.0; 3], 0.0);
            for ray in 0..RAYS.len() {
                let l = look(x, y, ray, ray);
                takes += f32::from(u8::from(l.ground)) * 63.75;
                for (a, b) in sum.iter_mut().zip(l.color) {
                    *a += b * 0.25;
                }
            }
        }
        out.takes[i] = takes as u8;
        let (u, v) = (
            x as f32 / WIDTH as f32 - 0.5,
            y as f32 / HEIGHT as f32 - 0.5,
        );
        let corner = 1.0 - 0.42 * (u * u + v * v);
        let noise = texture::grain(x, y) * 1.6;
        for (k, c) in sum.iter().enumerate() {
            out.rgb[i * 3 + k] = (f32::from(film.byte(c * corner)) + noise).clamp(0.0, 255.0) as u8;
        }
    }
    out
}

/// What one ray brings back.
#[derive(Debug, Clone, Copy)]
struct Look {
    color: Rgb,
    z: f32,
    ground: bool,
}

/// Pixels that differ visibly from a neighbour, and those beside them.
fn edges(first: &[Look]) -> Vec<bool> {
    let near = |i: usize| {
        [i.wrapping_sub(1), i + 1, i.wrapping_sub(WIDTH), i + WIDTH]
            .into_iter()
            .filter(|&k| k < first.len())
    };
    let rough: Vec<bool> = (0..first.len())
        .map(|i| near(i).any(|k| differ(&first[i], &first[k])))
        .collect();
    (0..first.len())
        .map(|i| rough[i] || near(i).any(|k| rough[k]))
        .collect()
}

fn differ(a: &Look, b: &Look) -> bool {
    let far = a
        .color
        .iter()
        .zip(b.color)
        .map(|(p, q)| (p - q).abs() / (p + q + 0.05))
        .fold(0.0, f32::max);
    a.ground != b.ground || far > 0.018
}

/// Everything a ray asks.
struct Stage<'a> {
    set: &'a Set,
    light: &'a Light,
    clay: bool,
}

impl Stage<'_> {
    fn look(&self, eye: V3, dir: V3, sun: usize) -> Look {
        match see(self.set, eye, dir) {
            Some(s) => Look {
                color: lit(self.set, self.light, &s, sun, self.clay),
                z: s.at.z,
                ground: s.ground,
            },
            None => Look {
                color: sky(self.set, self.light, dir, self.clay),
                z: -60.0,
                ground: false,
            },
        }
    }
}

fn nearest(set: &Set, from: V3, dir: V3, min: f32) -> Option<(Hit, usize)> {
    let mut best: Option<(Hit, usize)> = None;
    for (k, s) in set.solids.iter().enumerate() {
        if let Some(h) = s.form.meet(from, dir, min)
            && best.is_none_or(|(b, _)| h.t < b.t)
        {
            best = Some((h, k));
        }
    }
    best
}

/// Does anything stand between a place and the light?
fn blocked(set: &Set, from: V3, towards: V3) -> bool {
    set.solids
        .iter()
        .any(|s| s.form.meet(from, towards, 0.002).is_some())
}

fn see(set: &Set, eye: V3, dir: V3) -> Option<Seen> {
    let mut t = f32::MAX;
    let mut seen = None;
    if let Some((h, k)) = nearest(set, eye, dir, 0.0) {
        t = h.t;
        let at = eye + dir * h.t;
        seen = Some(Seen {
            at,
            n: h.n,
            skin: set.solids[k].skin,
            ground: h.n.y > 0.7,
        });
    }
    if let Some((skin, z)) = set.wall {
        let tw = (z - eye.z) / dir.z;
        let at = eye + dir * tw;
        if tw < t && at.y >= 0.0 {
            t = tw;
            seen = Some(Seen {
                at,
                n: v3(0.0, 0.0, 1.0),
                skin,
                ground: false,
            });
        }
    }
    if dir.y < 0.0 {
        let tf = -eye.y / dir.y;
        let at = eye + dir * tf;
        if tf < t && at.z > -30.0 {
            seen = Some(Seen {
                at,
                n: V3::UP,
                skin: set.floor,
                ground: true,
            });
        }
    }
    seen
}

fn lit(set: &Set, light: &Light, s: &Seen, sun: usize, clay: bool) -> Rgb {
    let albedo = if clay {
        [0.30; 3]
    } else {
        texture::color(s.skin.pattern, s.skin.albedo, s.at, s.n)
    };
    let from = s.at + s.n * 0.004;
    let (jx, jz) = SUN[sun];
    let sun = (light.towards + v3(jx, 0.0, jz)).unit();
    let open = s.n.dot(sun) > 0.0 && !blocked(set, from, sun);
    let mut c = times(albedo, light.on(s.at, s.n, if open { 1.0 } else { 0.0 }));
    let near = closeness(set, s);
    for (k, c) in c.iter_mut().enumerate() {
        *c = *c * near + s.skin.glow * (light.lamp[k] * 0.9 + 0.05) * if clay { 0.2 } else { 1.0 };
    }
    if set.wall.is_none() {
        let far = 1.0 - (-(-s.at.z - 2.0).max(0.0) * 0.032).exp();
        c = mix(c, light.heaven[1].map(|v| v * 0.8), far);
    }
    c
}

/// Darkening where surfaces meet: floor by wall, floor around blocks, walls over the floor.
fn closeness(set: &Set, s: &Seen) -> f32 {
    let soft = |d: f32, reach: f32, most: f32| 1.0 - most * (-d.max(0.0) / reach).exp();
    let mut k = 1.0;
    if let Some((_, z)) = set.wall
        && s.n.z < 0.7
    {
        k *= soft(s.at.z - z, 0.35, 0.42);
    }
    if s.n.y.abs() < 0.7 {
        k *= soft(s.at.y, 0.22, 0.30);
    }
    for solid in &set.solids {
        if let super::solids::Form::Block(lo, hi) = solid.form {
            let d = |v: f32, a: f32, b: f32| (a - v).max(v - b).max(0.0);
            let (dx, dy, dz) = (
                d(s.at.x, lo.x, hi.x),
                d(s.at.y, lo.y, hi.y),
                d(s.at.z, lo.z, hi.z),
            );
            let away2 = dx * dx + dy * dy + dz * dz;
            if away2 > 4e-6 && away2 < 0.25 {
                k *= soft(away2.sqrt(), 0.11, 0.34);
            }
        }
    }
    k
}

fn sky(set: &Set, light: &Light, dir: V3, clay: bool) -> Rgb {
    if clay {
        return [0.34; 3];
    }
    let slope = dir.y / DISTANCE;
    let side = dir.x / DISTANCE;
    let u = (slope / 0.34).clamp(0.0, 1.0);
    let mut c = mix(light.heaven[1], light.heaven[0], u.powf(0.75));
    let cloud = (texture::noise(side * 9.0 + 3.0, slope * 34.0) * 0.7
        + texture::noise(side * 24.0, slope * 80.0) * 0.3
        - 0.52)
        .max(0.0);
    c = mix(
        c,
        light.heaven[1].map(|v| v * 1.15 + 0.02),
        (cloud * 2.2).min(0.6),
    );
    if let Some(far) = set.skyline {
        for (n, (height, freq)) in [(0.085, 5.0), (0.045, 9.0)].into_iter().enumerate() {
            let crest =
                height * (0.35 + texture::noise(side * freq + 17.0 * n as f32, 2.0 + n as f32));
            let over = ((crest - slope) / 0.0016).clamp(0.0, 1.0);
            let shade = times(far, light.sky.map(|v| v * 1.6 + 0.05));
            c = mix(c, mix(shade, light.heaven[1], 0.55 - 0.3 * n as f32), over);
        }
    }
    c
}
