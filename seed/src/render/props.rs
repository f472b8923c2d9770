//! Things the figure handles: a crate and a ball.

use crate::math::{V3, v3};

use super::camera::{Camera, HEIGHT, Spot, WIDTH};
use super::canvas::{Canvas, Limb, Material};
use super::light::{Rgb, hex, times};
use super::texture::{self, Pattern};

/// What the act hands the figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Prop {
    /// A cube of this half size, metres.
    Crate(f32),
    /// A ball of this radius, metres.
    Ball(f32),
}

/// Draws a prop with its middle at `at`, turned in the picture plane.
pub fn draw(
    canvas: &mut Canvas<'_>,
    camera: &Camera,
    prop: Prop,
    at: V3,
    turn_deg: f32,
    clay: bool,
) {
    match prop {
        Prop::Ball(r) => {
            let s = camera.spot(at);
            let albedo = if clay { [0.4; 3] } else { hex(0xd8_4a34) };
            let limb = |z: f32, r: f32, albedo: Rgb| Limb {
                a: Spot { z: s.z + z, ..s },
                b: Spot { z: s.z + z, ..s },
                ra: r * s.scale,
                rb: r * s.scale,
                at,
                material: Material { albedo, sheen: 1.0 },
                occludes: z == 0.0,
            };
            canvas.limb(&limb(0.0, r, albedo));
            let spot = camera.spot(at + v3(-0.3 * r, 0.35 * r, 0.9 * r));
            canvas.limb(&Limb {
                a: spot,
                b: spot,
                ra: 0.3 * r * s.scale,
                rb: 0.3 * r * s.scale,
                at,
                material: Material {
                    albedo: albedo.map(|v| v * 1.7 + 0.05),
                    sheen: 0.0,
                },
                occludes: false,
            });
        }
        Prop::Crate(half) => cube(canvas, camera, at, half, turn_deg, clay),
    }
}

fn cube(canvas: &mut Canvas<'_>, camera: &Camera, at: V3, half: f32, turn_deg: f32, clay: bool) {
    let (s, c) = turn_deg.to_radians().sin_cos();
    let (x, y, z) = (v3(c, s, 0.0), v3(-s, c, 0.0), v3(0.0, 0.0, 1.0));
    let wood = hex(0xa0_7440);
    for (n, u, v) in [(z, x, y), (y, x, z), (-y, x, z), (x, z, y), (-x, z, y)] {
        let mid = at + n * half;
        if n.dot(camera.eye() - mid) <= 0.0 {
            continue;
        }
        let light = canvas.light.on(mid, n, 1.0);
        let corner = |a: f32, b: f32| camera.spot(mid + u * (a * half) + v * (b * half));
        let quad = [
            corner(-1.0, -1.0),
            corner(1.0, -1.0),
            corner(1.0, 1.0),
            corner(-1.0, 1.0),
        ];
        canvas.quad(&quad, |a, b| {
            let place = v3(half * (a * 2.0), half * (b * 2.0), 0.0);
            let base = if clay {
                [0.36; 3]
            } else {
                texture::color(Pattern::Crate(half), wood, place, v3(0.0, 0.0, 1.0))
            };
            times(base, light)
        });
    }
}

impl Canvas<'_> {
    /// Fills a convex quad; `paint` gets the place along its first and second edge, 0..1.
    fn quad(&mut self, q: &[Spot; 4], paint: impl Fn(f32, f32) -> Rgb) {
        let (ux, uy, vx, vy) = (
            q[1].x - q[0].x,
            q[1].y - q[0].y,
            q[3].x - q[0].x,
            q[3].y - q[0].y,
        );
        let det = ux * vy - uy * vx;
        if det.abs() < 1.0 {
            return;
        }
        let turn = det.signum();
        let clip = |v: f32, top: usize| (v.max(0.0) as usize).min(top);
        let least = |f: fn(&Spot) -> f32| q.iter().map(f).fold(f32::MAX, f32::min);
        let most = |f: fn(&Spot) -> f32| q.iter().map(f).fold(f32::MIN, f32::max);
        for y in clip(least(|s| s.y) - 1.0, HEIGHT)..clip(most(|s| s.y) + 2.0, HEIGHT) {
            for x in clip(least(|s| s.x) - 1.0, WIDTH)..clip(most(|s| s.x) + 2.0, WIDTH) {
                let (px, py) = (x as f32 + 0.5, y as f32 + 0.5);
                let cover = (0..4)
                    .map(|i| {
                        let (a, b) = (q[i], q[(i + 1) % 4]);
                        let (ex, ey) = (b.x - a.x, b.y - a.y);
                        turn * (ex * (py - a.y) - ey * (px - a.x)) / ex.hypot(ey).max(1e-3) + 0.5
                    })
                    .fold(1.0, f32::min);
                if cover <= 0.0 {
                    continue;
                }
                let (dx, dy) = (px - q[0].x, py - q[0].y);
                let (a, b) = ((dx * vy - dy * vx) / det, (dy * ux - dx * uy) / det);
                let z = q[0].z + (q[1].z - q[0].z) * a + (q[3].z - q[0].z) * b;
                let i = y * WIDTH + x;
                if z < self.depth[i] {
                    continue;
                }
                self.put(i, paint(a, b), cover);
                if cover > 0.5 {
                    self.depth[i] = z;
                }
            }
        }
    }
}
