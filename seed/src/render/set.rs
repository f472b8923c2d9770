//! The sets: invented places with depth, built of blocks, posts and balls.

use serde::Serialize;

use crate::math::{V3, v3};

use super::light::{Rgb, hex};
use super::places;
use super::solids::{Form, Skin, Solid};
use super::texture::Pattern;

/// Where a shot plays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// A brick lane with a door and a lamp.
    Lane,
    /// A store with shelves and crates.
    Store,
    /// A panelled corridor.
    Corridor,
    /// Grass, a fence, hills.
    Meadow,
    /// A roof over the town.
    Roof,
    /// A room with a window.
    Room,
}

/// Something the act needs in the set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Need {
    /// A ledge that ends at `edge` and lies to the left of it, or to the right.
    Ledge {
        /// Where it ends.
        edge: f32,
        /// Its height, metres.
        height: f32,
        /// Does it lie to the left of its edge?
        left: bool,
    },
    /// A lantern hanging here.
    Lantern(V3),
    /// A crate to sit on, its top's middle.
    Seat(V3),
}

/// A place made ready to draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// Bodies.
    pub solids: Vec<Solid>,
    /// The floor at y = 0.
    pub floor: Skin,
    /// The wall and its z, unless the place is open.
    pub wall: Option<(Skin, f32)>,
    /// Where its lamp hangs.
    pub lamp: Option<V3>,
    /// Hills or roofs against the sky.
    pub skyline: Option<Rgb>,
}

pub(super) fn skin(rgb: u32, pattern: Pattern) -> Skin {
    Skin {
        albedo: hex(rgb),
        pattern,
        glow: 0.0,
    }
}

pub(super) fn block(lo: V3, hi: V3, skin: Skin) -> Solid {
    Solid {
        form: Form::Block(lo, hi),
        skin,
    }
}

fn lantern(at: V3, solids: &mut Vec<Solid>) {
    let iron = skin(0x3a_3d42, Pattern::Plain);
    let glass = Skin {
        albedo: hex(0xf2_d9a0),
        pattern: Pattern::Plain,
        glow: 0.85,
    };
    let hook = 0.42;
    solids.push(Solid {
        form: Form::Post(v3(at.x + hook, 0.0, at.z - 0.06), at.y + 0.36, 0.035),
        skin: iron,
    });
    solids.push(block(
        v3(at.x + hook - 0.10, 0.0, at.z - 0.16),
        v3(at.x + hook + 0.10, 0.10, at.z + 0.04),
        iron,
    ));
    solids.push(block(
        v3(at.x - 0.02, at.y + 0.33, at.z - 0.08),
        v3(at.x + hook + 0.02, at.y + 0.36, at.z - 0.04),
        iron,
    ));
    solids.push(Solid {
        form: Form::Post(v3(at.x, at.y + 0.12, at.z - 0.06), 0.22, 0.008),
        skin: iron,
    });
    solids.push(Solid {
        form: Form::Ball(v3(at.x, at.y, at.z - 0.06), 0.105),
        skin: glass,
    });
    solids.push(block(
        v3(at.x - 0.06, at.y + 0.09, at.z - 0.12),
        v3(at.x + 0.06, at.y + 0.12, at.z),
        iron,
    ));
    solids.push(block(
        v3(at.x - 0.05, at.y - 0.125, at.z - 0.11),
        v3(at.x + 0.05, at.y - 0.095, at.z - 0.01),
        iron,
    ));
}

impl Set {
    /// Builds a place with what its act needs; `flip` lays the furniture out from the other side.
    #[must_use]
    pub fn build(place: Place, needs: &[Need], flip: bool) -> Self {
        let mut set = match place {
            Place::Lane => places::lane(),
            Place::Store => places::store(),
            Place::Corridor => places::corridor(),
            Place::Meadow => places::meadow(),
            Place::Roof => places::roof(),
            Place::Room => places::room(),
        };
        if flip {
            set.flip();
        }
        for need in needs {
            set.add(need);
        }
        set
    }

    fn flip(&mut self) {
        for s in &mut self.solids {
            match &mut s.form {
                Form::Block(lo, hi) => (lo.x, hi.x) = (-hi.x, -lo.x),
                Form::Post(p, ..) | Form::Ball(p, _) => p.x = -p.x,
            }
            if let Pattern::Door(mid, _) = &mut s.skin.pattern {
                *mid = -*mid;
            }
        }
        if let Some(l) = &mut self.lamp {
            l.x = -l.x;
        }
    }

    fn add(&mut self, need: &Need) {
        match *need {
            Need::Ledge { edge, height, left } => {
                let (a, b) = if left {
                    (edge - 3.6, edge)
                } else {
                    (edge, edge + 3.6)
                };
                let rim = if left {
                    (b - 0.09, b + 0.03)
                } else {
                    (a - 0.03, a + 0.09)
                };
                self.solids.push(block(
                    v3(a, 0.0, -1.1),
                    v3(b, height - 0.07, 0.62),
                    skin(0x8d_7f72, Pattern::Bricks),
                ));
                self.solids.push(block(
                    v3(a, height - 0.07, -1.14),
                    v3(rim.0.max(b), height, 0.66),
                    skin(0xa9_a39a, Pattern::Slabs),
                ));
                self.solids.push(block(
                    v3(rim.0, height - 0.09, -1.16),
                    v3(rim.1, height, 0.68),
                    skin(0xb4_aea4, Pattern::Plaster),
                ));
            }
            Need::Lantern(at) => {
                lantern(at, &mut self.solids);
                self.lamp = Some(v3(at.x, at.y, at.z + 0.1));
            }
            Need::Seat(top) => {
                let half = 0.30;
                self.solids.push(block(
                    v3(top.x - half, 0.0, top.z - half),
                    v3(top.x + half, top.y, top.z + half),
                    skin(0x8a_6238, Pattern::Crate(0.21)),
                ));
            }
        }
    }
}
