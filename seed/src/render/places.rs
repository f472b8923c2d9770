//! The six places, furnished.

use crate::math::v3;

use super::light::hex;
use super::set::{Set, block, skin};
use super::solids::{Form, Skin, Solid};
use super::texture::Pattern;

fn crate_at(x: f32, y: f32, z: f32, half: f32, rgb: u32) -> Solid {
    let s = skin(rgb, Pattern::Crate(half));
    let snap = |v: f32| ((v / (2.0 * half)).floor() + 0.5) * 2.0 * half;
    let (x, z) = (snap(x), snap(z));
    block(
        v3(x - half, y, z - half),
        v3(x + half, y + 2.0 * half, z + half),
        s,
    )
}

pub fn lane() -> Set {
    let mut solids = vec![
        block(
            v3(0.62, 0.0, -2.62),
            v3(1.72, 2.15, -2.4),
            skin(0x3d_5a52, Pattern::Door(1.17, 0.47)),
        ),
        block(
            v3(0.50, 0.0, -2.6),
            v3(0.66, 2.30, -2.28),
            skin(0x9a_9184, Pattern::Plaster),
        ),
        block(
            v3(1.68, 0.0, -2.6),
            v3(1.84, 2.30, -2.28),
            skin(0x9a_9184, Pattern::Plaster),
        ),
        block(
            v3(0.46, 2.15, -2.6),
            v3(1.88, 2.36, -2.22),
            skin(0x9a_9184, Pattern::Plaster),
        ),
        block(
            v3(0.40, 0.0, -2.5),
            v3(1.94, 0.10, -1.95),
            skin(0x87_8780, Pattern::Slabs),
        ),
        block(
            v3(-2.5, 1.25, -2.56),
            v3(-1.5, 2.4, -2.42),
            skin(0x2c_3a48, Pattern::Panes),
        ),
        block(
            v3(-2.6, 1.15, -2.5),
            v3(-1.4, 1.25, -2.25),
            skin(0x9a_9184, Pattern::Plaster),
        ),
        crate_at(-0.75, 0.0, -1.9, 0.25, 0x7a_5530),
        crate_at(-1.25, 0.0, -1.9, 0.25, 0x86_6036),
        crate_at(-0.95, 0.5, -1.9, 0.2, 0x8f_6a40),
    ];
    solids.push(Solid {
        form: Form::Post(v3(2.45, 0.0, -1.5), 2.9, 0.055),
        skin: skin(0x2f_3338, Pattern::Plain),
    });
    solids.push(block(
        v3(2.33, 0.0, -1.62),
        v3(2.57, 0.22, -1.38),
        skin(0x2f_3338, Pattern::Plain),
    ));
    Set {
        solids,
        floor: skin(0x6f_6d68, Pattern::Slabs),
        wall: Some((skin(0x86_5a48, Pattern::Bricks), -2.6)),
        lamp: Some(v3(2.3, 2.6, -1.2)),
        skyline: None,
    }
}

pub fn store() -> Set {
    let wood = 0x8a_6a42;
    let mut solids = Vec::new();
    for (x, y, z, half, c) in [
        (-2.3, 0.0, -1.7, 0.34, 0x80_5d34),
        (-1.6, 0.0, -1.9, 0.34, 0x8a_6439),
        (-2.0, 0.68, -1.8, 0.30, 0x93_7040),
        (2.1, 0.0, -1.6, 0.36, 0x7a_5731),
        (2.85, 0.0, -1.5, 0.36, 0x86_6138),
        (2.3, 0.72, -1.6, 0.30, 0x96_7245),
        (1.35, 0.0, -2.1, 0.24, 0x6c_5a48),
    ] {
        solids.push(crate_at(x, y, z, half, c));
    }
    for y in [1.0, 1.75] {
        solids.push(block(
            v3(-0.95, y, -2.9),
            v3(1.15, y + 0.06, -2.4),
            skin(wood, Pattern::Plain),
        ));
    }
    for x in [-0.95, 0.07, 1.09] {
        solids.push(block(
            v3(x, 0.0, -2.86),
            v3(x + 0.06, 2.6, -2.42),
            skin(0x6e_5433, Pattern::Plain),
        ));
    }
    for (i, c) in [
        0x55_6b70, 0x9c_7a4a, 0x70_4f45, 0x5d_6f4f, 0xa3_8f6a, 0x47_5866,
    ]
    .into_iter()
    .enumerate()
    {
        let x = -0.85 + 0.32 * i as f32;
        let y = if i % 2 == 0 { 1.06 } else { 1.81 };
        solids.push(block(
            v3(x, y, -2.75),
            v3(x + 0.24, y + 0.2 + 0.08 * (i % 3) as f32, -2.5),
            skin(c, Pattern::Plaster),
        ));
    }
    Set {
        solids,
        floor: skin(0x77_6a58, Pattern::Boards),
        wall: Some((skin(0x7f_8585, Pattern::Plaster), -2.9)),
        lamp: Some(v3(0.9, 2.75, -0.6)),
        skyline: None,
    }
}

pub fn corridor() -> Set {
    let mut solids = vec![
        block(
            v3(-5.0, 0.0, -1.86),
            v3(5.0, 0.86, -1.78),
            skin(0x5c_4634, Pattern::Door(0.0, 0.5)),
        ),
        block(
            v3(-5.0, 0.86, -1.86),
            v3(5.0, 0.93, -1.74),
            skin(0x75_593f, Pattern::Plain),
        ),
        block(
            v3(0.05, 0.0, -1.84),
            v3(1.05, 2.1, -1.72),
            skin(0x6d_3b33, Pattern::Door(0.55, 0.5)),
        ),
        block(
            v3(-0.07, 0.0, -1.84),
            v3(0.05, 2.22, -1.66),
            skin(0x4a_3629, Pattern::Plain),
        ),
        block(
            v3(1.05, 0.0, -1.84),
            v3(1.17, 2.22, -1.66),
            skin(0x4a_3629, Pattern::Plain),
        ),
        block(
            v3(-0.07, 2.1, -1.84),
            v3(1.17, 2.22, -1.66),
            skin(0x4a_3629, Pattern::Plain),
        ),
    ];
    for (x, w, h, c) in [
        (-1.6, 0.42, 0.56, 0x6f_8d86),
        (-0.75, 0.30, 0.40, 0xa0_7b4c),
        (2.0, 0.46, 0.36, 0x5f_6c86),
    ] {
        solids.push(block(
            v3(x - 0.06, 1.25, -1.85),
            v3(x + w + 0.06, 1.37 + h, -1.76),
            skin(0x8a_6a2c, Pattern::Plain),
        ));
        solids.push(block(
            v3(x, 1.31, -1.85),
            v3(x + w, 1.31 + h, -1.755),
            skin(c, Pattern::Plaster),
        ));
    }
    Set {
        solids,
        floor: skin(0x7d_5b3c, Pattern::Boards),
        wall: Some((skin(0x8a_8f78, Pattern::Plaster), -1.85)),
        lamp: Some(v3(-0.6, 2.35, -1.1)),
        skyline: None,
    }
}

pub fn meadow() -> Set {
    let rail = skin(0xa5_9a86, Pattern::Plaster);
    let mut solids = Vec::new();
    for i in 0..9 {
        let x = -4.4 + 1.1 * i as f32;
        solids.push(block(
            v3(x - 0.05, 0.0, -2.5),
            v3(x + 0.05, 0.98, -2.4),
            rail,
        ));
    }
    for y in [0.42, 0.78] {
        solids.push(block(v3(-5.0, y, -2.48), v3(5.0, y + 0.09, -2.42), rail));
    }
    for (x, z, r) in [
        (-2.6, -4.2, 0.62),
        (-1.9, -4.4, 0.48),
        (2.2, -4.6, 0.8),
        (3.0, -4.3, 0.55),
        (2.7, -3.4, 0.30),
    ] {
        solids.push(Solid {
            form: Form::Ball(v3(x, r * 0.55, z), r),
            skin: skin(0x4a_6a34, Pattern::Grass),
        });
    }
    solids.push(Solid {
        form: Form::Post(v3(-2.2, 0.0, -5.2), 2.0, 0.14),
        skin: skin(0x5a_4633, Pattern::Plain),
    });
    for (x, y, r) in [(-2.2, 2.3, 0.85), (-1.6, 2.0, 0.6), (-2.8, 2.0, 0.62)] {
        solids.push(Solid {
            form: Form::Ball(v3(x, y, -5.2), r),
            skin: skin(0x55_7a3a, Pattern::Grass),
        });
    }
    Set {
        solids,
        floor: skin(0x74_8a4c, Pattern::Grass),
        wall: None,
        lamp: None,
        skyline: Some(hex(0x5d_7a6a)),
    }
}

pub fn roof() -> Set {
    let mut solids = vec![
        block(
            v3(-5.0, 0.0, -2.1),
            v3(5.0, 0.42, -1.85),
            skin(0x8a_6a5a, Pattern::Bricks),
        ),
        block(
            v3(-5.0, 0.42, -2.16),
            v3(5.0, 0.50, -1.79),
            skin(0xa3_998c, Pattern::Plaster),
        ),
        block(
            v3(1.35, 0.0, -1.75),
            v3(2.05, 1.45, -1.2),
            skin(0x7f_5646, Pattern::Bricks),
        ),
        block(
            v3(1.29, 1.45, -1.81),
            v3(2.11, 1.56, -1.14),
            skin(0xa3_998c, Pattern::Plaster),
        ),
    ];
    for x in [1.52, 1.86] {
        solids.push(Solid {
            form: Form::Post(v3(x, 1.56, -1.48), 0.34, 0.1),
            skin: skin(0x9a_5a3e, Pattern::Plain),
        });
    }
    for (x, w, h, c) in [
        (-4.6, 1.5, 1.5, 0x6b_6f80),
        (-2.9, 1.1, 0.9, 0x75_7486),
        (-1.6, 1.7, 1.9, 0x66_6a7c),
        (0.4, 1.2, 1.1, 0x70_7082),
        (2.4, 1.5, 1.7, 0x6a_6d7f),
        (4.2, 1.4, 1.0, 0x74_7688),
    ] {
        solids.push(block(
            v3(x, -2.0, -6.5),
            v3(x + w, h, -5.6),
            skin(c, Pattern::Panes),
        ));
    }
    Set {
        solids,
        floor: skin(0x77_7a7c, Pattern::Slabs),
        wall: None,
        lamp: Some(v3(1.2, 1.9, -1.0)),
        skyline: Some(hex(0x78_7f96)),
    }
}

pub fn room() -> Set {
    let mut solids = vec![
        block(
            v3(-1.9, 0.95, -2.32),
            v3(-0.5, 2.2, -2.26),
            Skin {
                glow: 0.25,
                ..skin(0x9a_b4c4, Pattern::Panes)
            },
        ),
        block(
            v3(-2.0, 0.86, -2.3),
            v3(-0.4, 0.95, -2.05),
            skin(0xd8_d2c4, Pattern::Plain),
        ),
        block(
            v3(1.0, 0.0, -2.3),
            v3(2.1, 0.82, -1.85),
            skin(0x6a_4a34, Pattern::Plain),
        ),
        block(
            v3(0.96, 0.82, -2.3),
            v3(2.14, 0.88, -1.8),
            skin(0x80_5c40, Pattern::Plain),
        ),
        block(
            v3(-5.0, 0.0, -2.3),
            v3(5.0, 0.14, -2.24),
            skin(0xcf_c8ba, Pattern::Plain),
        ),
    ];
    for (i, c) in [0x8d_4a3c, 0x3f_5d6b, 0xa98a4a, 0x5d_6b48, 0x6b_4d63]
        .into_iter()
        .enumerate()
    {
        let x = 1.15 + 0.075 * i as f32;
        solids.push(block(
            v3(x, 0.88, -2.15),
            v3(x + 0.06, 1.12 + 0.04 * (i % 3) as f32, -1.98),
            skin(c, Pattern::Plain),
        ));
    }
    solids.push(Solid {
        form: Form::Post(v3(1.85, 0.88, -2.0), 0.26, 0.02),
        skin: skin(0x3c_3a38, Pattern::Plain),
    });
    solids.push(Solid {
        form: Form::Ball(v3(1.85, 1.24, -2.0), 0.13),
        skin: Skin {
            glow: 0.8,
            ..skin(0xf0_dcae, Pattern::Plain)
        },
    });
    Set {
        solids,
        floor: skin(0x96_6f4a, Pattern::Boards),
        wall: Some((skin(0xb9_a98e, Pattern::Plaster), -2.3)),
        lamp: Some(v3(1.85, 1.3, -1.6)),
        skyline: None,
    }
}
