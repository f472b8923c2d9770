//! The figure: tapered limbs over the joints, dressed by character.

use crate::math::{V3, v3};
use crate::motion::build::{Build, Character};
use crate::motion::perform::Pose;
use crate::motion::skeleton::{ARMS, Joint, LEGS};

use super::camera::Camera;
use super::canvas::{Canvas, Limb, Material};
use super::head;
use super::light::{Rgb, hex, mix};

/// Colours of a character.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Palette {
    /// Face and hands.
    pub skin: Material,
    /// Hair or cap.
    pub hair: Material,
    /// Chest.
    pub top: Material,
    /// Hips and legs.
    pub trousers: Material,
    /// Shoes.
    pub shoes: Material,
    /// Scarf, straps, ribbon.
    pub accent: Material,
    /// Iris, linear.
    pub iris: Rgb,
}

/// How finished a revision looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finish {
    /// All grey clay.
    Clay,
    /// The figure coloured, the set clay.
    Tinted,
    /// Everything coloured.
    Full,
}

impl Palette {
    /// The colours of a character at a finish.
    #[must_use]
    pub fn of(who: Character, finish: Finish) -> Self {
        let [skin, hair, top, trousers, shoes, accent, iris] = match who {
            Character::Heron => [
                0xe3_b48f, 0x3a_2b25, 0x2f_7a7c, 0x45_4560, 0x93_5636, 0xe0_9038, 0x3a_6a52,
            ],
            Character::Barrel => [
                0xcf_9670, 0xc8_9a3c, 0x74_4258, 0x4b_4f46, 0x35_3a36, 0xd9_c9a6, 0x4a_3524,
            ],
            Character::Sprout => [
                0x9a_6644, 0x2a_2226, 0xdf_6f5c, 0x55_5890, 0xe8_e0d0, 0xf0_c04e, 0x3a_2416,
            ],
            Character::Courier => [
                0xea_c4a6, 0xa3_5026, 0x64_7a44, 0x3a_3c44, 0x6a_4430, 0xc2_4f3d, 0x3f_5f86,
            ],
        };
        let grey = match finish {
            Finish::Clay => 1.0,
            Finish::Tinted => 0.45,
            Finish::Full => 0.0,
        };
        let m = |c: u32, clay: f32, sheen: f32| Material {
            albedo: mix(hex(c), [clay; 3], grey),
            sheen,
        };
        Self {
            skin: m(skin, 0.50, 1.4),
            hair: m(hair, 0.38, 1.8),
            top: m(top, 0.46, 0.7),
            trousers: m(trousers, 0.42, 0.8),
            shoes: m(shoes, 0.36, 1.2),
            accent: m(accent, 0.42, 1.5),
            iris: mix(hex(iris), [0.04; 3], grey),
        }
    }
}

/// Collects limbs in the stage and hands them over back to front.
pub struct Sculptor<'a> {
    camera: &'a Camera,
    limbs: Vec<Limb>,
}

impl Sculptor<'_> {
    /// Adds a limb; ends and radii in metres.
    pub fn add(&mut self, a: V3, b: V3, ra: f32, rb: f32, material: Material, occludes: bool) {
        let (sa, sb) = (self.camera.spot(a), self.camera.spot(b));
        self.limbs.push(Limb {
            a: sa,
            b: sb,
            ra: ra * sa.scale,
            rb: rb * sb.scale,
            at: a.lerp(b, 0.5),
            material,
            occludes,
        });
    }

    fn draw(mut self, canvas: &mut Canvas<'_>) {
        self.limbs
            .sort_by(|p, q| (p.a.z + p.b.z).total_cmp(&(q.a.z + q.b.z)));
        for l in &self.limbs {
            canvas.limb(l);
        }
    }
}

/// Draws the figure of a pose.
pub fn draw(
    canvas: &mut Canvas<'_>,
    camera: &Camera,
    pose: &Pose,
    b: &Build,
    who: Character,
    p: &Palette,
) {
    let mut s = Sculptor {
        camera,
        limbs: Vec::with_capacity(64),
    };
    torso(&mut s, pose, b, who, p);
    for side in 0..2 {
        leg(&mut s, pose, b, who, p, side);
        arm(&mut s, pose, b, p, side);
    }
    extras(&mut s, pose, b, who, p);
    head::volumes(&mut s, pose, b, who, p);
    s.draw(canvas);
    head::face(canvas, camera, pose, b, who, p);
}

/// Half width of an oval body part as the camera sees it.
fn seen(right: V3, forward: V3, breadth: f32, depth: f32) -> f32 {
    (breadth * right.x)
        .hypot(depth * forward.x)
        .max(depth.min(breadth) * 0.9)
}

fn torso(s: &mut Sculptor<'_>, pose: &Pose, b: &Build, who: Character, p: &Palette) {
    let t = &pose.trunk;
    let [hip, waist, ribs, neck, skull] = t.line;
    let (pr, pf, cr, cf) = (
        t.pelvis.right,
        t.pelvis.forward,
        t.chest.right,
        t.chest.forward,
    );
    let rh = seen(pr, pf, b.breadth[0], b.depth[0]);
    let rw = seen(
        pr,
        pf,
        b.breadth[0] * if who == Character::Barrel { 1.12 } else { 0.86 },
        b.depth[1],
    );
    let rc = seen(cr, cf, b.breadth[1], b.depth[2]);
    let low = if who == Character::Courier {
        p.top
    } else {
        p.trousers
    };
    let seat = hip - t.pelvis.up * (b.spine * 0.05);
    let hem = hip.lerp(waist, 0.42) + pf * 0.003;
    let rm = rh + (rw - rh) * 0.42;
    s.add(seat, hem, rh, rm, low, true);
    s.add(hem, waist, rm * 1.02, rw, p.top, false);
    s.add(waist, ribs, rw, rc * 0.98, p.top, false);
    s.add(
        ribs,
        neck - t.chest.up * (rc * 0.55),
        rc,
        rc * 0.78,
        p.top,
        true,
    );
    let yoke = b.depth[2] * 0.62;
    s.add(
        t.shoulders[0] - cr * 0.03,
        t.shoulders[1] + cr * 0.03,
        yoke * 0.9,
        yoke * 0.9,
        p.top,
        true,
    );
    s.add(
        neck - t.chest.up * 0.02,
        neck.lerp(skull, 0.55),
        0.052 * b.girth,
        0.045 * b.girth,
        p.skin,
        false,
    );
    if who != Character::Heron {
        s.add(
            neck - t.chest.up * 0.01 + cf * 0.01,
            neck + t.chest.up * 0.018,
            0.066 * b.girth,
            0.058 * b.girth,
            if who == Character::Courier {
                p.top
            } else {
                p.accent
            },
            false,
        );
    }
}

fn leg(s: &mut Sculptor<'_>, pose: &Pose, b: &Build, who: Character, p: &Palette, side: usize) {
    let [thigh, knee, ankle, toe] = LEGS[side].map(|j| pose.joint(j));
    let g = b.girth;
    s.add(thigh, knee, 0.088 * g, 0.062 * g, p.trousers, true);
    s.add(knee, ankle, 0.060 * g, 0.046 * g, p.trousers, true);
    if who == Character::Courier {
        s.add(
            thigh + V3::UP * 0.03,
            thigh.lerp(knee, 0.72),
            0.115 * g,
            0.118 * g,
            p.top,
            true,
        );
    }
    let along = (toe - ankle).unit();
    let sole = v3(along.x, 0.0, along.z).unit();
    let pitch = V3::UP * (along.y + 0.24);
    let heel = ankle - V3::UP * (b.ankle * 0.52) - sole * 0.028 - pitch * 0.03;
    s.add(
        ankle + (knee - ankle).unit() * 0.02,
        heel,
        0.046 * g.min(1.15),
        0.042,
        p.shoes,
        true,
    );
    s.add(
        heel,
        toe - sole * 0.01,
        0.043,
        0.036 * g.min(1.2),
        p.shoes,
        true,
    );
    s.add(
        toe - sole * 0.035 + V3::UP * 0.004,
        toe + sole * 0.012,
        0.037,
        0.034 * g.min(1.15),
        p.shoes,
        false,
    );
}

fn arm(s: &mut Sculptor<'_>, pose: &Pose, b: &Build, p: &Palette, side: usize) {
    let [shoulder, elbow, wrist, hand] = ARMS[side].map(|j| pose.joint(j));
    let g = b.girth;
    s.add(shoulder, elbow, 0.058 * g, 0.045 * g, p.top, true);
    s.add(elbow, wrist, 0.045 * g, 0.035 * g, p.top, true);
    let along = hand - wrist;
    let cuff = wrist - along * 0.06;
    s.add(
        cuff,
        wrist + along * 0.02,
        0.040 * g,
        0.039 * g,
        p.accent,
        false,
    );
    let knuckles = wrist + along * 0.48;
    let hg = (0.7 + 0.3 * g) * b.hand / 0.165;
    s.add(
        wrist + along * 0.08,
        knuckles,
        0.033 * hg,
        0.042 * hg,
        p.skin,
        true,
    );
    let out = if side == 0 { 1.0 } else { -1.0 };
    let palm = along.unit().cross(pose.trunk.chest.right * out).unit();
    let across = palm.cross(along.unit());
    for k in [-1.0, 0.0, 1.0] {
        let root = knuckles + across * (k * 0.022 * hg);
        let tip = hand + across * (k * 0.03 * hg) + palm * (0.012 * k * k);
        s.add(root, tip, 0.019 * hg, 0.014 * hg, p.skin, false);
    }
    let thumb = wrist + along * 0.25 + palm * (0.022 * hg);
    s.add(
        thumb,
        thumb + (palm * 0.9 + along.unit()).unit() * (0.056 * hg),
        0.019 * hg,
        0.014 * hg,
        p.skin,
        false,
    );
}

fn extras(s: &mut Sculptor<'_>, pose: &Pose, b: &Build, who: Character, p: &Palette) {
    let t = &pose.trunk;
    let neck = pose.joint(Joint::Neck);
    match who {
        Character::Heron => {
            for k in 0..8 {
                let a = std::f32::consts::TAU * k as f32 / 8.0;
                let b2 = std::f32::consts::TAU * (k + 1) as f32 / 8.0;
                let at = |a: f32| {
                    t.chest.place(
                        neck,
                        0.062 * a.cos(),
                        0.022 + 0.012 * a.cos(),
                        0.070 * a.sin(),
                    )
                };
                s.add(at(a), at(b2), 0.030, 0.030, p.accent, false);
            }
            for (i, w) in pose.cloth.windows(2).enumerate() {
                let r = 0.034 - 0.002 * i as f32;
                s.add(w[0], w[1], r, r - 0.002, p.accent, true);
            }
        }
        Character::Barrel => {
            let hat = t
                .head
                .place(pose.joint(Joint::Head), -0.22 * b.head, 1.52 * b.head, 0.0);
            s.add(hat, hat, 0.24 * b.head, 0.24 * b.head, p.accent, true);
        }
        Character::Courier => {
            let hip = pose.joint(Joint::Waist);
            let r = b.breadth[0] * 0.98;
            let strap = |f: f32, u: f32, k: f32| t.chest.place(pose.joint(Joint::Chest), f, u, k);
            s.add(
                strap(0.09, -0.14, -0.09),
                strap(0.10, 0.02, 0.0),
                0.018,
                0.018,
                p.accent,
                false,
            );
            s.add(
                strap(0.10, 0.02, 0.0),
                strap(0.06, 0.13, 0.08),
                0.018,
                0.018,
                p.accent,
                false,
            );
            let bag = t.pelvis.place(hip, -0.05, -0.06, -(r + 0.03));
            s.add(bag, bag - t.pelvis.up * 0.12, 0.075, 0.085, p.accent, true);
        }
        Character::Sprout => {}
    }
    let links = if who == Character::Barrel {
        &[][..]
    } else {
        &pose.hair[..]
    };
    if matches!(who, Character::Sprout | Character::Courier) {
        for (i, w) in links.windows(2).enumerate() {
            let (r0, r1) = if who == Character::Sprout {
                (
                    [0.050, 0.058, 0.036][i.min(2)],
                    [0.058, 0.036, 0.012][i.min(2)],
                )
            } else {
                ([0.044, 0.05, 0.04][i.min(2)], [0.05, 0.04, 0.016][i.min(2)])
            };
            s.add(w[0], w[1], r0, r1, p.hair, true);
        }
        if let Some(&root) = links.first() {
            s.add(root, root, 0.05, 0.05, p.accent, false);
        }
    }
}

/// The limbs that throw a shadow: ends and radius, metres.
#[must_use]
pub fn shadow_limbs(pose: &Pose, b: &Build) -> Vec<(V3, V3, f32)> {
    let j = |j: Joint| pose.joint(j);
    let mut out = vec![
        (j(Joint::Hip), j(Joint::Chest), b.breadth[1]),
        (j(Joint::Chest), j(Joint::Neck), b.breadth[1] * 0.9),
        (j(Joint::Neck), j(Joint::Head), b.head * 0.6),
        (j(Joint::Head), j(Joint::Head), b.head),
    ];
    for side in 0..2 {
        let [t, k, a, e] = LEGS[side].map(j);
        out.extend([
            (t, k, 0.08 * b.girth),
            (k, a, 0.055 * b.girth),
            (a, e, 0.04),
        ]);
        let [s, l, w, h] = ARMS[side].map(j);
        out.extend([
            (s, l, 0.05 * b.girth),
            (l, w, 0.04 * b.girth),
            (w, h, 0.035),
        ]);
    }
    out
}
