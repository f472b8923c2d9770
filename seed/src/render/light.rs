//! Light: a key, the sky, the ground's answer, a rim, and perhaps a lamp. Linear colours.

use serde::Serialize;

use crate::math::{V3, v3};

/// A linear colour.
pub type Rgb = [f32; 3];

/// How a revision is lit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mood {
    /// Neutral and soft, as a working view.
    Studio,
    /// Sun from the upper left.
    Morning,
    /// High cloud.
    Overcast,
    /// Low and orange from the right.
    Dusk,
    /// Moon and lamps.
    Night,
}

/// The lights of one mood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Light {
    /// Towards the key light.
    pub towards: V3,
    /// Colour of the key.
    pub key: Rgb,
    /// From above.
    pub sky: Rgb,
    /// From below.
    pub ground: Rgb,
    /// Along the far edge.
    pub rim: Rgb,
    /// Colour of lamps.
    pub lamp: Rgb,
    /// Where the lamp is, if the set has one.
    pub lamp_at: Option<V3>,
    /// Top and foot of the sky picture.
    pub heaven: [Rgb; 2],
    /// How dark the figure's shadow falls, 0..1.
    pub shadow: f32,
}

impl Light {
    /// The lights of a mood.
    #[must_use]
    pub fn of(mood: Mood) -> Self {
        let base = Self {
            towards: v3(-0.45, 0.75, 0.5).unit(),
            key: [0.78, 0.76, 0.73],
            sky: [0.36, 0.38, 0.42],
            ground: [0.20, 0.19, 0.18],
            rim: [0.10, 0.10, 0.11],
            lamp: [0.0; 3],
            lamp_at: None,
            heaven: [[0.38, 0.42, 0.48], [0.62, 0.63, 0.63]],
            shadow: 0.42,
        };
        match mood {
            Mood::Studio => base,
            Mood::Morning => Self {
                towards: v3(-0.62, 0.62, 0.48).unit(),
                key: [1.12, 0.98, 0.76],
                sky: [0.26, 0.33, 0.46],
                ground: [0.22, 0.18, 0.14],
                rim: [0.16, 0.15, 0.10],
                lamp: [0.10, 0.07, 0.03],
                heaven: [[0.22, 0.42, 0.68], [0.78, 0.80, 0.72]],
                shadow: 0.55,
                ..base
            },
            Mood::Overcast => Self {
                towards: v3(-0.2, 0.9, 0.4).unit(),
                key: [0.40, 0.42, 0.44],
                sky: [0.44, 0.48, 0.52],
                ground: [0.18, 0.18, 0.18],
                rim: [0.08, 0.09, 0.10],
                lamp: [0.25, 0.17, 0.08],
                heaven: [[0.36, 0.42, 0.48], [0.66, 0.68, 0.68]],
                shadow: 0.30,
                ..base
            },
            Mood::Dusk => Self {
                towards: v3(0.78, 0.42, 0.46).unit(),
                key: [1.05, 0.58, 0.30],
                sky: [0.20, 0.20, 0.36],
                ground: [0.14, 0.09, 0.10],
                rim: [0.07, 0.08, 0.17],
                lamp: [0.80, 0.52, 0.22],
                heaven: [[0.10, 0.12, 0.30], [0.95, 0.46, 0.22]],
                shadow: 0.50,
                ..base
            },
            Mood::Night => Self {
                towards: v3(-0.55, 0.70, 0.45).unit(),
                key: [0.16, 0.22, 0.38],
                sky: [0.07, 0.10, 0.19],
                ground: [0.04, 0.05, 0.08],
                rim: [0.05, 0.08, 0.15],
                lamp: [1.55, 0.98, 0.42],
                heaven: [[0.010, 0.018, 0.055], [0.07, 0.10, 0.20]],
                shadow: 0.34,
                ..base
            },
        }
    }

    /// Light that reaches a surface at `at` facing `n`; `lit` is the share of the key that gets there.
    #[must_use]
    pub fn on(&self, at: V3, n: V3, lit: f32) -> Rgb {
        self.near(at).on(n, lit)
    }

    /// The light around one place.
    #[must_use]
    pub fn near(&self, at: V3) -> Around {
        let (lamp, lamp_towards) = self.lamp_at.map_or(([0.0; 3], V3::UP), |l| {
            let to = l - at;
            (self.lamp.map(|c| c / (0.35 + to.dot(to))), to.unit())
        });
        Around {
            towards: self.towards,
            key: self.key,
            ground: self.ground,
            over: [0, 1, 2].map(|i| self.sky[i] - self.ground[i]),
            lamp,
            lamp_towards,
        }
    }
}

/// The light around one place, ready for many directions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Around {
    towards: V3,
    key: Rgb,
    ground: Rgb,
    over: Rgb,
    lamp: Rgb,
    lamp_towards: V3,
}

impl Around {
    /// Light that reaches a surface facing `n`; `lit` is the share of the key that gets there.
    #[must_use]
    pub fn on(&self, n: V3, lit: f32) -> Rgb {
        let k = ((n.dot(self.towards) + 0.22) / 1.22).max(0.0);
        let k = k * k.sqrt() * lit;
        let h = 0.5 + 0.5 * n.y;
        let l = ((n.dot(self.lamp_towards) + 0.3) / 1.3).max(0.0);
        [0, 1, 2].map(|i| self.key[i] * k + self.ground[i] + self.over[i] * h + self.lamp[i] * l)
    }
}

/// Multiplies two colours.
#[must_use]
pub fn times(a: Rgb, b: Rgb) -> Rgb {
    [a[0] * b[0], a[1] * b[1], a[2] * b[2]]
}

/// The way from `a` to `b`.
#[must_use]
pub fn mix(a: Rgb, b: Rgb, u: f32) -> Rgb {
    [
        a[0] + (b[0] - a[0]) * u,
        a[1] + (b[1] - a[1]) * u,
        a[2] + (b[2] - a[2]) * u,
    ]
}

/// A linear colour from screen values as people name them.
#[must_use]
pub fn hex(rgb: u32) -> Rgb {
    let c = |shift: u32| (((rgb >> shift) & 255) as f32 / 255.0).powf(2.2);
    [c(16), c(8), c(0)]
}

/// Linear light to a screen byte, with a soft shoulder; a table so that it costs a look-up.
#[derive(Debug, Clone)]
pub struct Film {
    table: Vec<u8>,
}

/// Table entries for a linear value of one.
const FILM_STEPS: f32 = 1024.0;

impl Default for Film {
    fn default() -> Self {
        let table = (0..(FILM_STEPS as usize * 3))
            .map(|i| {
                let x = i as f32 / FILM_STEPS;
                let y = (1.0 - (-1.30 * x).exp()) / (1.0 - (-1.30f32 * 1.6).exp());
                let y = y.min(1.0).powf(1.0 / 2.2);
                let punch = y * y * (3.0 - 2.0 * y);
                ((y + (punch - y) * 0.38) * 255.0).round() as u8
            })
            .collect();
        Self { table }
    }
}

impl Film {
    /// The byte for a linear value.
    #[must_use]
    pub fn byte(&self, x: f32) -> u8 {
        let i = ((x * FILM_STEPS) as usize).min(self.table.len() - 1);
        self.table[i]
    }
}
