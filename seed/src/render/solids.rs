//! Bodies a set is built of, and where a ray meets them.

use crate::math::{V3, v3};

use super::light::Rgb;
use super::texture::Pattern;

/// The skin of a body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Skin {
    /// Linear colour.
    pub albedo: Rgb,
    /// Its pattern.
    pub pattern: Pattern,
    /// Light it gives by itself, as a share of the lamp's colour.
    pub glow: f32,
}

/// A body of the set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// Axis-aligned, from the least to the greatest corner.
    Block(V3, V3),
    /// A round upright post: foot, height, radius.
    Post(V3, f32, f32),
    /// A ball.
    Ball(V3, f32),
}

/// A form with its skin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solid {
    /// Shape and place.
    pub form: Form,
    /// Look.
    pub skin: Skin,
}

/// Where a ray meets something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    /// Distance in lengths of the ray's direction.
    pub t: f32,
    /// Outward normal.
    pub n: V3,
}

impl Form {
    /// The nearest meeting of the ray `from + t * dir` with t > `min`.
    pub fn meet(&self, from: V3, dir: V3, min: f32) -> Option<Hit> {
        match *self {
            Self::Block(lo, hi) => block(lo, hi, from, dir, min),
            Self::Post(foot, height, r) => post(foot, height, r, from, dir, min),
            Self::Ball(c, r) => ball(c, r, from, dir, min),
        }
    }
}

fn block(lo: V3, hi: V3, from: V3, dir: V3, min: f32) -> Option<Hit> {
    let (mut near, mut far, mut n) = (f32::MIN, f32::MAX, V3::default());
    for (o, d, a, b, axis) in [
        (from.x, dir.x, lo.x, hi.x, v3(1.0, 0.0, 0.0)),
        (from.y, dir.y, lo.y, hi.y, v3(0.0, 1.0, 0.0)),
        (from.z, dir.z, lo.z, hi.z, v3(0.0, 0.0, 1.0)),
    ] {
        if d.abs() < 1e-9 {
            if o < a || o > b {
                return None;
            }
            continue;
        }
        let (t0, t1) = ((a - o) / d, (b - o) / d);
        let (t0, t1) = if t0 < t1 { (t0, t1) } else { (t1, t0) };
        if t0 > near {
            near = t0;
            n = axis * -d.signum();
        }
        far = far.min(t1);
    }
    (near <= far && near > min).then_some(Hit { t: near, n })
}

fn post(foot: V3, height: f32, r: f32, from: V3, dir: V3, min: f32) -> Option<Hit> {
    let (ox, oz) = (from.x - foot.x, from.z - foot.z);
    let a = dir.x * dir.x + dir.z * dir.z;
    let b = ox * dir.x + oz * dir.z;
    let disc = b * b - a * (ox * ox + oz * oz - r * r);
    if disc < 0.0 || a < 1e-9 {
        return None;
    }
    let t = (-b - disc.sqrt()) / a;
    let p = from + dir * t;
    (t > min && (foot.y..=foot.y + height).contains(&p.y)).then(|| Hit {
        t,
        n: v3((p.x - foot.x) / r, 0.0, (p.z - foot.z) / r),
    })
}

fn ball(c: V3, r: f32, from: V3, dir: V3, min: f32) -> Option<Hit> {
    let o = from - c;
    let a = dir.dot(dir);
    let b = o.dot(dir);
    let disc = b * b - a * (o.dot(o) - r * r);
    if disc < 0.0 {
        return None;
    }
    let t = (-b - disc.sqrt()) / a;
    (t > min).then(|| Hit {
        t,
        n: (from + dir * t - c) * (1.0 / r),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ray_meets_the_near_face() {
        let b = Form::Block(v3(-1.0, 0.0, -1.0), v3(1.0, 2.0, 1.0));
        let h = b
            .meet(v3(0.0, 1.0, 5.0), v3(0.0, 0.0, -1.0), 0.0)
            .expect("in the way");
        assert!((h.t - 4.0).abs() < 1e-5 && h.n.z > 0.9);
        assert!(b.meet(v3(3.0, 1.0, 5.0), v3(0.0, 0.0, -1.0), 0.0).is_none());
        assert!(
            Form::Ball(v3(0.0, 0.0, 0.0), 1.0)
                .meet(v3(0.0, 0.0, 3.0), v3(0.0, 0.0, -1.0), 0.0)
                .is_some_and(|h| (h.t - 2.0).abs() < 1e-5)
        );
    }
}
