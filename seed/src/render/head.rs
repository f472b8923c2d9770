//! The head: skull, hair, and a face that looks somewhere.

use crate::math::{Axes, V3};
use crate::motion::act::Ch;
use crate::motion::build::{Build, Character};
use crate::motion::perform::Pose;
use crate::motion::skeleton::Joint;

use super::camera::Camera;
use super::canvas::{Canvas, Limb, Material};
use super::figure::{Palette, Sculptor};
use super::light::times;

/// Round parts of the head.
pub fn volumes(s: &mut Sculptor<'_>, pose: &Pose, b: &Build, who: Character, p: &Palette) {
    let (h, r) = (pose.trunk.head, b.head);
    let c = pose.joint(Joint::Head);
    let at = |f: f32, u: f32, k: f32| h.place(c, f * r, u * r, k * r);
    s.add(
        at(-0.02, 0.08, 0.0),
        at(0.13, -0.34, 0.0),
        0.97 * r,
        0.70 * r,
        p.skin,
        true,
    );
    let nose = if who == Character::Barrel { 0.24 } else { 0.15 };
    s.add(
        at(0.86, 0.02, 0.0),
        at(1.02, -0.14, 0.0),
        nose * 0.7 * r,
        nose * r,
        p.skin,
        false,
    );
    for k in [-1.0, 1.0] {
        s.add(
            at(-0.08, 0.02, 0.96 * k),
            at(-0.04, -0.14, 0.93 * k),
            0.19 * r,
            0.13 * r,
            p.skin,
            false,
        );
    }
    match who {
        Character::Barrel => {
            s.add(
                at(-0.12, 0.42, 0.0),
                at(-0.18, 0.72, 0.0),
                0.96 * r,
                0.72 * r,
                p.hair,
                true,
            );
            for k in [-1.0, 1.0] {
                s.add(
                    at(0.62, 0.44, 0.56 * k),
                    at(0.84, 0.46, 0.0),
                    0.20 * r,
                    0.20 * r,
                    p.accent,
                    false,
                );
                s.add(
                    at(-0.05, 0.44, 0.86 * k),
                    at(0.62, 0.44, 0.56 * k),
                    0.20 * r,
                    0.20 * r,
                    p.accent,
                    false,
                );
                s.add(
                    at(0.06, -0.18, 0.80 * k),
                    at(0.50, -0.66, 0.34 * k),
                    0.22 * r,
                    0.30 * r,
                    beard(),
                    false,
                );
            }
            s.add(
                at(0.66, -0.70, -0.24),
                at(0.66, -0.70, 0.24),
                0.32 * r,
                0.32 * r,
                beard(),
                false,
            );
        }
        Character::Sprout => {
            s.add(
                at(-0.24, 0.20, 0.0),
                at(-0.30, -0.10, 0.0),
                1.02 * r,
                0.92 * r,
                p.hair,
                true,
            );
            s.add(
                at(0.30, 0.80, -0.3),
                at(0.34, 0.80, 0.36),
                0.34 * r,
                0.30 * r,
                p.hair,
                false,
            );
        }
        Character::Heron => {
            s.add(
                at(-0.24, 0.24, 0.0),
                at(-0.34, -0.14, 0.0),
                1.0 * r,
                0.84 * r,
                p.hair,
                true,
            );
            s.add(
                at(0.34, 0.84, -0.28),
                at(0.52, 0.76, 0.42),
                0.34 * r,
                0.20 * r,
                p.hair,
                false,
            );
            s.add(
                at(0.1, 0.92, 0.0),
                at(-0.5, 0.95, 0.1),
                0.30 * r,
                0.16 * r,
                p.hair,
                false,
            );
        }
        Character::Courier => {
            s.add(
                at(-0.22, 0.22, 0.0),
                at(-0.36, -0.02, 0.0),
                1.02 * r,
                0.92 * r,
                p.hair,
                true,
            );
            for k in [-1.0, 1.0] {
                s.add(
                    at(0.42, 0.76, 0.10 * k),
                    at(0.30, 0.10, 0.86 * k),
                    0.30 * r,
                    0.15 * r,
                    p.hair,
                    false,
                );
            }
        }
    }
}

/// Grey whiskers, whatever the finish.
fn beard() -> Material {
    Material {
        albedo: [0.42, 0.41, 0.39],
        sheen: 0.6,
    }
}

/// Eyes, brows and mouth.
pub fn face(
    canvas: &mut Canvas<'_>,
    camera: &Camera,
    pose: &Pose,
    b: &Build,
    who: Character,
    p: &Palette,
) {
    let c = pose.joint(Joint::Head);
    for k in [-1.0, 1.0] {
        eye(canvas, camera, pose, b, who, p, c, k);
        brow(canvas, camera, pose, b, who, p, c, k);
    }
    mouth(canvas, camera, pose, b, c);
}

#[expect(clippy::too_many_arguments, reason = "one eye of one frame")]
fn eye(
    canvas: &mut Canvas<'_>,
    camera: &Camera,
    pose: &Pose,
    b: &Build,
    who: Character,
    p: &Palette,
    c: V3,
    k: f32,
) {
    let (h, r) = (pose.trunk.head, b.head);
    let big = if who == Character::Sprout { 1.18 } else { 1.0 };
    let n = (h.forward * 0.88 + h.up * 0.12 + h.right * (0.40 * k)).unit();
    if n.z < 0.02 {
        return;
    }
    let at = c + n * (0.97 * r);
    let along = (h.up.cross(n)).unit();
    let along = if along.dot(h.right) < 0.0 {
        -along
    } else {
        along
    };
    let up = n.cross(along);
    let up = if up.dot(h.up) < 0.0 { -up } else { up };
    let spot = camera.spot(at);
    let (ex, ey) = (0.215 * r * big * spot.scale, 0.285 * r * big * spot.scale);
    let (u, v) = ([along.x * ex, -along.y * ex], [up.x * ey, -up.y * ey]);
    let light = canvas.light.on(at, n, 0.9);
    let lit = |c: [f32; 3]| times(c, light);
    let (white, iris, black) = (lit([0.86, 0.86, 0.84]), lit(p.iris), [0.008; 3]);
    let skin = lit(p.skin.albedo.map(|v| v * 0.82));
    let line = lit(p.skin.albedo.map(|v| v * 0.25));
    let lid = -1.0 + 1.72 * pose.channels[Ch::Lid].clamp(0.0, 1.4);
    let low = -0.92 + 0.25 * (pose.channels[Ch::Mouth] - 0.3).clamp(0.0, 0.6);
    let (lx, ly) = (
        pose.channels[Ch::LookYaw] / 42.0 - 0.08 * k,
        pose.channels[Ch::LookPitch] / 42.0,
    );
    canvas.decal(spot, u, v, |x, y| {
        let curve = 0.22 * x * x;
        if y > lid - curve {
            return Some(if y < lid - curve + 0.22 { line } else { skin });
        }
        if y < low + curve * 0.6 {
            return Some(skin);
        }
        let (dx, dy) = ((x - lx) * ex / ey, y - ly);
        let d = dx.hypot(dy);
        let glint = (dx + 0.14).hypot(dy - 0.20) < 0.15;
        Some(if glint {
            [1.2; 3]
        } else if d < 0.30 {
            black
        } else if d < 0.50 {
            iris
        } else {
            white
        })
    });
}

fn skin_line(
    canvas: &mut Canvas<'_>,
    camera: &Camera,
    points: [V3; 2],
    radius: f32,
    albedo: [f32; 3],
) {
    let [a, b] = points.map(|q| camera.spot(q));
    let material = Material { albedo, sheen: 0.0 };
    canvas.limb(&Limb {
        a,
        b,
        ra: radius * a.scale,
        rb: radius * b.scale,
        at: points[0],
        material,
        occludes: false,
    });
}

/// A point on the front of the skull.
fn on_face(h: &Axes, c: V3, r: f32, up: f32, right: f32) -> V3 {
    let f = (1.0 - up * up - right * right).max(0.05).sqrt();
    h.place(c, f * r, up * r, right * r)
}

#[expect(clippy::too_many_arguments, reason = "one brow of one frame")]
fn brow(
    canvas: &mut Canvas<'_>,
    camera: &Camera,
    pose: &Pose,
    b: &Build,
    who: Character,
    p: &Palette,
    c: V3,
    k: f32,
) {
    let (h, r) = (pose.trunk.head, b.head);
    let lift = pose.channels[Ch::Brow];
    let (inner, outer) = (
        0.47 + 0.12 * lift.max(0.0) + 0.13 * lift.min(0.0),
        0.50 + 0.10 * lift.max(0.0),
    );
    let a = on_face(&h, c, 0.99 * r, inner, 0.17 * k);
    let e = on_face(&h, c, 0.99 * r, outer, 0.56 * k);
    if (a - c).lerp(e - c, 0.5).z < 0.1 * r {
        return;
    }
    let hair = if who == Character::Barrel {
        beard().albedo
    } else {
        p.hair.albedo
    };
    let thick = if who == Character::Barrel {
        0.085
    } else {
        0.055
    };
    skin_line(canvas, camera, [a, e], thick * r, hair.map(|v| v * 0.8));
}

fn mouth(canvas: &mut Canvas<'_>, camera: &Camera, pose: &Pose, b: &Build, c: V3) {
    let (h, r) = (pose.trunk.head, b.head);
    let m = pose.channels[Ch::Mouth];
    let c = c + h.up * (-0.02 * r) + h.forward * (0.02 * r);
    let dark = [0.05, 0.018, 0.016];
    let mid = on_face(&h, c, 0.96 * r, -0.46 - 0.05 * m.max(0.0), 0.0);
    let corner = |k: f32| on_face(&h, c, 0.96 * r, -0.45 + 0.10 * m, (0.24 + 0.05 * m) * k);
    if (mid - c).z < -0.25 * r {
        return;
    }
    if m > 0.75 {
        let spot = camera.spot(mid - h.up * (0.03 * r));
        let (ex, ey) = (0.15 * r * spot.scale, 0.17 * r * (m - 0.3) * spot.scale);
        let u = [h.right.x * ex, -h.right.y * ex];
        let wide = if u[0].hypot(u[1]) < 0.35 * ex {
            [0.35 * ex, 0.0]
        } else {
            u
        };
        canvas.decal(spot, wide, [h.up.x * ey, -h.up.y * ey], |_, y| {
            Some(if y < -0.45 { [0.20, 0.05, 0.05] } else { dark })
        });
        return;
    }
    for k in [-1.0, 1.0] {
        skin_line(canvas, camera, [mid, corner(k)], 0.036 * r, dark);
    }
}
