//! The picture being drawn: bytes, and how near to the camera each pixel is.

use crate::math::{V3, v3};

use super::camera::{HEIGHT, Spot, WIDTH};
use super::light::{Around, Film, Light, Rgb};

/// A colour that answers light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Linear colour.
    pub albedo: Rgb,
    /// How strongly the rim light catches it.
    pub sheen: f32,
}

/// Bytes and depth of a picture.
pub struct Canvas<'a> {
    /// Three bytes a pixel.
    pub rgb: &'a mut [u8],
    /// Metres towards the camera.
    pub depth: &'a mut [f32],
    /// Linear light to bytes.
    pub film: &'a Film,
    /// What lights the figure.
    pub light: &'a Light,
}

/// A tapered limb in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limb {
    /// One end.
    pub a: Spot,
    /// The other end.
    pub b: Spot,
    /// Radius at `a`, pixels.
    pub ra: f32,
    /// Radius at `b`, pixels.
    pub rb: f32,
    /// Its middle in the stage, for lamps.
    pub at: V3,
    /// What it is made of.
    pub material: Material,
    /// Does it darken what lies close behind it?
    pub occludes: bool,
}

impl Limb {
    /// Visits every pixel within `margin` pixels of the limb and perhaps a few more: its index, its place along the limb
    /// 0..1, its way off the middle line, and the square of that.
    fn cover(&self, margin: f32, mut visit: impl FnMut(usize, f32, [f32; 2], f32)) {
        let r = self.ra.max(self.rb) + margin;
        let (a, b) = (self.a, self.b);
        let (xs, ys) = clipped(
            a.x.min(b.x) - r,
            a.x.max(b.x) + r,
            a.y.min(b.y) - r,
            a.y.max(b.y) + r,
        );
        let (bx, by) = (b.x - a.x, b.y - a.y);
        let len2 = (bx * bx + by * by).max(1e-6);
        let reach = r * len2.sqrt();
        for y in ys {
            let py = y as f32 + 0.5 - a.y;
            let (from, to) = if by.abs() < 1.0 {
                (xs.start, xs.end)
            } else {
                let (p, q) = ((py * bx - reach) / by, (py * bx + reach) / by);
                let left = (p.min(q) + a.x - 1.0).max(0.0) as usize;
                let right = (p.max(q) + a.x + 1.0).max(0.0) as usize;
                (xs.start.max(left), xs.end.min(right))
            };
            for x in from..to {
                let px = x as f32 + 0.5 - a.x;
                let t = ((px * bx + py * by) / len2).clamp(0.0, 1.0);
                let (dx, dy) = (px - bx * t, py - by * t);
                visit(y * WIDTH + x, t, [dx, dy], dx * dx + dy * dy);
            }
        }
    }
}

/// Pixels a limb darkens around itself.
const HALO: f32 = 7.0;

/// The pixel box around a circle or limb, clipped to the picture.
fn clipped(x0: f32, x1: f32, y0: f32, y1: f32) -> (std::ops::Range<usize>, std::ops::Range<usize>) {
    let c = |v: f32, top: usize| (v.max(0.0) as usize).min(top);
    (
        c(x0.floor(), WIDTH)..c(x1.ceil() + 1.0, WIDTH),
        c(y0.floor(), HEIGHT)..c(y1.ceil() + 1.0, HEIGHT),
    )
}

impl Canvas<'_> {
    /// Blends a lit colour over a pixel.
    pub(super) fn put(&mut self, i: usize, color: Rgb, cover: f32) {
        for (k, &c) in color.iter().enumerate() {
            let new = f32::from(self.film.byte(c));
            let p = &mut self.rgb[i * 3 + k];
            *p = (f32::from(*p) + (new - f32::from(*p)) * cover + 0.5) as u8;
        }
    }

    /// Draws a limb with the shading of its round surface.
    pub fn limb(&mut self, l: &Limb) {
        if l.occludes {
            self.occlude(l);
        }
        let around = self.light.near(l.at);
        let metre = 1.0 / l.a.scale;
        l.cover(0.5, |i, t, [dx, dy], d2| {
            let radius = l.ra + (l.rb - l.ra) * t;
            if d2 > (radius + 0.5) * (radius + 0.5) {
                return;
            }
            let d = d2.sqrt();
            let cover = (radius - d + 0.5).min(1.0);
            let q = (d / radius).min(1.0);
            let nz = (1.0 - q * q).sqrt();
            let z = l.a.z + (l.b.z - l.a.z) * t + nz * radius * metre;
            let front = ((z - self.depth[i]) / (2.4 * metre) + 0.5).min(1.0);
            if front <= 0.0 {
                return;
            }
            let cover = cover * front;
            let n = v3(dx / radius, -dy / radius, nz);
            let color = self.shade(&l.material, &around, n);
            self.put(i, color, cover);
            if cover > 0.5 {
                self.depth[i] = z;
            }
        });
    }

    /// The colour of a material facing `n`.
    fn shade(&self, m: &Material, around: &Around, n: V3) -> Rgb {
        let mut c = around.on(n, 1.0);
        let edge = 1.0 - n.z;
        let rim = edge * edge * m.sheen * (0.4 - n.dot(self.light.towards)).clamp(0.0, 1.0);
        let fall = 0.80 + 0.20 * n.z;
        for (k, c) in c.iter_mut().enumerate() {
            *c = *c * m.albedo[k] * fall + self.light.rim[k] * rim;
        }
        c
    }

    /// Darkens what lies a little behind a limb, so that near parts stand off from far ones.
    fn occlude(&mut self, l: &Limb) {
        l.cover(HALO, |i, t, _, d2| {
            let over = l.ra + (l.rb - l.ra) * t + HALO;
            let behind = l.a.z + (l.b.z - l.a.z) * t - self.depth[i];
            if d2 >= over * over || !(0.02..0.7).contains(&behind) {
                return;
            }
            let near = ((over - d2.sqrt()) / HALO).min(1.0);
            let weight = ((behind - 0.02) / 0.06).min(1.0) * (1.0 - behind / 0.7);
            let keep = 1.0 - 0.34 * near * weight;
            for p in &mut self.rgb[i * 3..i * 3 + 3] {
                *p = (f32::from(*p) * keep) as u8;
            }
        });
    }

    /// A flat ellipse spanned by two half axes (pixels), coloured by `paint(u, v)` with |(u, v)| <= 1; none leaves the pixel.
    pub fn decal(
        &mut self,
        at: Spot,
        u: [f32; 2],
        v: [f32; 2],
        paint: impl Fn(f32, f32) -> Option<Rgb>,
    ) {
        let det = u[0] * v[1] - u[1] * v[0];
        if det.abs() < 1e-3 {
            return;
        }
        let (ex, ey) = (
            (u[0].powi(2) + v[0].powi(2)).sqrt() + 1.0,
            (u[1].powi(2) + v[1].powi(2)).sqrt() + 1.0,
        );
        let (xs, ys) = clipped(at.x - ex, at.x + ex, at.y - ey, at.y + ey);
        let size = det
            .abs()
            .sqrt()
            .min((u[0].hypot(u[1])).min(v[0].hypot(v[1])));
        for y in ys {
            for x in xs.clone() {
                let (px, py) = (x as f32 + 0.5 - at.x, y as f32 + 0.5 - at.y);
                let (a, b) = ((px * v[1] - py * v[0]) / det, (py * u[0] - px * u[1]) / det);
                let r = a.hypot(b);
                let cover = ((1.0 - r) * size + 0.5).clamp(0.0, 1.0);
                let i = y * WIDTH + x;
                if cover <= 0.0 || at.z < self.depth[i] - 0.03 {
                    continue;
                }
                if let Some(c) = paint(a, b) {
                    self.put(i, c, cover);
                }
            }
        }
    }
}
