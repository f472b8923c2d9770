//! A heavy crate: bend, grip, a try that fails, the heave, a step to carry it.

use crate::math::v3;
use crate::motion::act::{Act, Ch::*, Step};
use crate::motion::build::Build;

use super::{CRATE_HALF, Variation};

pub fn act(b: &Build, v: &Variation) -> Act {
    let k = v.vigour;
    let x = -0.42;
    let front = x + 0.28 + CRATE_HALF + b.leg() * 0.12;
    let mut a = Act::standing(116, x, 0.0, v.open, 0.20);
    a.arm_delay = [0.6, 3.4];
    a.stand(0, x + 0.12, 0.17, v.open + 18.0)
        .stand(1, x - 0.10, -0.17, v.open - 16.0);
    a.handles = [
        v3(-0.02, -0.04, CRATE_HALF + 0.02),
        v3(-0.02, -0.04, -CRATE_HALF - 0.02),
    ];
    a.key(
        0.0,
        &[
            (PropX, front),
            (PropY, CRATE_HALF),
            (PropZ, 0.03),
            (HeadPitch, 22.0),
            (HeadYaw, 10.0),
            (LookPitch, -14.0),
            (Lean, 4.0),
        ],
    );
    bend_down(&mut a, b, x);
    try_once(&mut a, x, front);
    heave(&mut a, b, x, front, k);
    carry(&mut a, b, x, v);
    a
}

fn low(b: &Build) -> f32 {
    -0.33 - 0.10 * (b.leg() - 0.65)
}

fn bend_down(a: &mut Act, b: &Build, x: f32) {
    a.key(
        8.0,
        &[
            (HipY, 0.0),
            (HipX, x),
            (Lean, 2.0),
            (HipPitch, 0.0),
            (HeadPitch, 20.0),
            (GripR, 0.0),
            (GripL, 0.0),
        ],
    )
    .key(
        11.0,
        &[(Lean, -3.0), (HipY, 0.01), (SwingR, -8.0), (SwingL, -6.0)],
    )
    .key(
        26.0,
        &[
            (HipY, low(b)),
            (HipX, x - 0.10),
            (HipPitch, 26.0),
            (Lean, 54.0),
            (HeadPitch, -22.0),
            (SwingR, 44.0),
            (SwingL, 44.0),
            (OutR, 16.0),
            (OutL, 16.0),
            (ReachR, 0.95),
            (ReachL, 0.95),
        ],
    )
    .key(22.0, &[(GripR, 0.0)])
    .key(25.0, &[(GripL, 0.0)])
    .key(27.0, &[(GripR, 1.0)])
    .key(31.0, &[(GripL, 1.0)]);
}

fn try_once(a: &mut Act, x: f32, front: f32) {
    a.key(
        33.0,
        &[
            (HipY, -0.34),
            (HipX, x - 0.10),
            (Lean, 54.0),
            (PropY, CRATE_HALF),
            (PropTurn, 0.0),
            (PropX, front),
            (Brow, -0.6),
            (HeadPitch, -22.0),
        ],
    )
    .key(
        38.0,
        &[
            (HipY, -0.29),
            (HipX, x - 0.14),
            (Lean, 50.0),
            (HeadPitch, -30.0),
            (Lid, 0.35),
            (Mouth, -0.6),
            (PropY, CRATE_HALF + 0.035),
            (PropTurn, -5.0),
        ],
    )
    .key(
        43.0,
        &[
            (HipY, -0.33),
            (HipX, x - 0.09),
            (Lean, 55.0),
            (PropY, CRATE_HALF),
            (PropTurn, 0.0),
            (Lid, 0.9),
            (HeadPitch, -14.0),
        ],
    )
    .key(
        49.0,
        &[
            (HipY, -0.37),
            (HipX, x - 0.08),
            (Lean, 58.0),
            (HeadPitch, -10.0),
            (Mouth, 0.1),
            (PropY, CRATE_HALF),
        ],
    );
}

fn heave(a: &mut Act, b: &Build, x: f32, front: f32, k: f32) {
    let up = b.ankle + b.leg() * 0.95 + 0.10;
    a.key(
        51.0,
        &[
            (PropY, CRATE_HALF),
            (PropX, front),
            (Lean, 58.0),
            (Lid, 0.3),
        ],
    )
    .key(
        57.0,
        &[
            (HipY, -0.22),
            (HipX, x - 0.02),
            (Lean, 50.0),
            (HipPitch, 20.0),
            (PropY, CRATE_HALF + 0.12),
            (PropX, front - 0.03),
            (Mouth, -0.8),
            (Brow, -0.9),
        ],
    )
    .key(
        67.0,
        &[
            (HipY, -0.075),
            (HipX, x + 0.03),
            (HipPitch, 0.0),
            (Lean, 6.0),
            (HeadPitch, -8.0),
            (PropY, up * 0.97),
            (PropX, front - 0.13),
            (SwingR, 40.0),
            (SwingL, 40.0),
            (ReachR, 0.8),
            (ReachL, 0.8),
        ],
    )
    .key(
        72.0,
        &[
            (HipY, -0.06),
            (HipX, x - 0.03),
            (Lean, -12.0 * k),
            (HeadPitch, 4.0),
            (PropY, up + 0.03),
            (PropX, front - 0.19),
            (Lid, 0.8),
        ],
    );
}

fn carry(a: &mut Act, b: &Build, x: f32, v: &Variation) {
    let up = b.ankle + b.leg() * 0.95 + 0.10;
    let prop = a.value(PropX, 72.0);
    a.step(
        1,
        Step {
            t0: 71.0,
            t1: 80.0,
            to: v3(x - 0.30, 0.0, -0.17),
            yaw: v.open - 16.0,
            lift: 0.06,
            roll: 16.0,
            thrown: false,
        },
    );
    a.step(
        0,
        Step {
            t0: 86.0,
            t1: 96.0,
            to: v3(x - 0.02, 0.0, 0.17),
            yaw: v.open + 16.0,
            lift: 0.05,
            roll: 16.0,
            thrown: false,
        },
    );
    a.key(
        80.0,
        &[
            (HipX, x - 0.17),
            (HipY, -0.12),
            (Lean, -8.0),
            (PropY, up - 0.05),
            (PropX, prop - 0.155),
            (PropTurn, -4.0),
            (HipRoll, 2.0),
            (Side, -3.0),
        ],
    )
    .key(
        87.0,
        &[
            (HipX, x - 0.20),
            (HipY, -0.07),
            (Lean, -11.0),
            (PropY, up - 0.01),
            (PropX, prop - 0.165),
            (PropTurn, 1.0),
            (HipRoll, -2.0),
            (Side, 0.0),
            (Mouth, -0.3),
        ],
    )
    .key(
        98.0,
        &[
            (HipX, x - 0.16),
            (HipY, -0.09),
            (Lean, -9.0),
            (PropY, up - 0.035),
            (PropX, prop - 0.12),
            (PropTurn, -1.0),
            (HipRoll, 0.0),
            (HeadPitch, 0.0),
            (Brow, -0.3),
        ],
    )
    .key(
        108.0,
        &[
            (HipX, x - 0.165),
            (HipY, -0.08),
            (Lean, -9.5),
            (PropY, up - 0.03),
            (PropX, prop - 0.125),
            (PropTurn, 0.0),
            (HeadYaw, 26.0),
            (Lid, 0.8),
        ],
    );
}
