//! Down off a ledge; squash, rise, and a hand to the lantern.

use crate::math::v3;
use crate::motion::act::{Act, Ch::*, Step};
use crate::motion::build::Build;

use super::{LEDGE, Variation, lantern, lantern_handle};

/// Frames the body is in the air.
const FLIGHT: f32 = 14.0;
/// 9.81 m/s2 in metres a frame a frame at 24 frames a second.
const FALL: f32 = 9.81 / 576.0;

pub fn act(b: &Build, v: &Variation) -> Act {
    let k = v.vigour;
    let mut a = Act::standing(124, -1.27, LEDGE, v.open, 0.16);
    a.arm_delay = [0.8, 4.6];
    let at = lantern(b);
    a.handles[1] = v3(-lantern_handle(b), -0.02, 0.0);
    a.key(
        0.0,
        &[
            (PropX, at.x),
            (PropY, at.y),
            (PropZ, at.z),
            (HeadPitch, 4.0),
            (HeadYaw, 18.0),
            (Lean, 3.0),
            (LookPitch, 0.0),
        ],
    );
    look_down(&mut a);
    crouch(&mut a, k);
    fly(&mut a, b, k);
    land(&mut a, b, k);
    reach(&mut a);
    a
}

fn look_down(a: &mut Act) {
    a.key(
        5.0,
        &[
            (HeadPitch, 4.0),
            (LookPitch, 0.0),
            (Lean, 3.0),
            (HipX, -1.27),
        ],
    )
    .key(8.0, &[(LookPitch, -22.0), (Lid, 1.0)])
    .key(
        13.0,
        &[
            (HeadPitch, 26.0),
            (HeadYaw, 8.0),
            (Lean, 10.0),
            (LookPitch, -18.0),
            (SwingR, 8.0),
            (SwingL, -3.0),
        ],
    )
    .key(16.0, &[(HipY, 0.0), (HipX, -1.25)]);
}

fn crouch(a: &mut Act, k: f32) {
    a.key(
        25.0,
        &[
            (HipY, -0.30 * k),
            (HipX, -1.30),
            (HipPitch, 14.0 * k),
            (Lean, 40.0 * k),
            (HeadPitch, -8.0),
            (SwingR, -62.0 * k),
            (SwingL, -54.0 * k),
            (OutR, 18.0),
            (OutL, 20.0),
            (ReachR, 0.93),
            (ReachL, 0.95),
            (HandR, -20.0),
            (Brow, -0.5),
        ],
    )
    .key(27.0, &[(HipY, -0.31 * k), (HipX, -1.29)])
    .key(
        31.0,
        &[
            (HipY, 0.035),
            (HipX, -1.02),
            (HipPitch, 6.0),
            (Lean, 16.0),
            (HeadPitch, -6.0),
            (SwingR, 40.0),
            (SwingL, 46.0),
            (HandR, 12.0),
        ],
    );
}

fn fly(a: &mut Act, b: &Build, k: f32) {
    let rise = (0.5 * FALL * FLIGHT * FLIGHT - LEDGE) / FLIGHT;
    a.key(29.0, &[(Lift, LEDGE)]);
    a.key_moving(31.0, Lift, LEDGE, rise).key_moving(
        31.0 + FLIGHT,
        Lift,
        0.0,
        rise - FALL * FLIGHT,
    );
    a.key_moving(31.0, HipX, -1.02, 0.062)
        .key_moving(45.0, HipX, -0.15, 0.05);
    a.key(
        37.0,
        &[
            (HipY, -0.05),
            (Lean, 6.0),
            (SwingR, 88.0 * k),
            (SwingL, 70.0 * k),
            (OutR, 34.0),
            (OutL, 40.0),
            (ReachR, 0.86),
            (ReachL, 0.9),
            (Mouth, 0.5),
        ],
    )
    .key(
        43.0,
        &[
            (HipY, -0.03),
            (Lean, 12.0),
            (HipPitch, 0.0),
            (HeadPitch, 12.0),
            (SwingR, 70.0 * k),
            (SwingL, 62.0 * k),
            (OutR, 52.0 * k),
            (OutL, 56.0 * k),
        ],
    );
    for (side, x, z, t0, t1, lift) in [
        (0, -0.05, 0.10, 31.0, 44.5, 0.30),
        (1, -0.22, -0.10, 31.5, 46.0, 0.28),
    ] {
        a.step(
            side,
            Step {
                t0,
                t1,
                to: v3(x, 0.0, z),
                yaw: a.value(HipYaw, 0.0) + if side == 0 { 10.0 } else { -8.0 },
                lift: lift * b.leg() / 0.84,
                roll: 24.0,
                thrown: true,
            },
        );
    }
}

fn land(a: &mut Act, b: &Build, k: f32) {
    let squash = -0.36 * b.leg() * k;
    a.key_moving(50.0, Lift, squash, 0.0)
        .key(53.0, &[(Lift, squash * 1.02)])
        .key(66.0, &[(Lift, 0.012)])
        .key(73.0, &[(Lift, 0.0)]);
    a.key(
        50.0,
        &[
            (HipX, -0.13),
            (HipPitch, 16.0 * k),
            (Lean, 44.0 * k),
            (HeadPitch, 4.0),
            (SwingR, 46.0),
            (SwingL, 44.0),
            (OutR, 40.0),
            (OutL, 42.0),
            (ReachR, 0.9),
            (ReachL, 0.92),
            (Lid, 0.2),
            (Mouth, 0.1),
            (HandR, 10.0),
        ],
    )
    .key(
        56.0,
        &[
            (HipX, -0.12),
            (Lean, 42.0),
            (SwingR, 2.0),
            (SwingL, 6.0),
            (OutR, 22.0),
            (OutL, 22.0),
            (Lid, 0.9),
        ],
    )
    .key(
        66.0,
        &[
            (HipX, -0.135),
            (HipPitch, 0.0),
            (Lean, -1.0),
            (HeadPitch, -4.0),
            (SwingR, -14.0),
            (SwingL, -8.0),
            (OutR, 14.0),
            (OutL, 14.0),
            (ReachR, 0.96),
            (ReachL, 0.96),
            (HandR, 0.0),
            (HeadYaw, 6.0),
            (Brow, 0.0),
        ],
    )
    .key(
        73.0,
        &[
            (Lean, 3.0),
            (SwingR, 5.0),
            (SwingL, 4.0),
            (HeadPitch, 0.0),
            (LookPitch, 6.0),
            (HeadYaw, 6.0),
            (HipX, -0.13),
            (GripL, 0.0),
        ],
    );
}

fn reach(a: &mut Act) {
    a.key(
        75.0,
        &[(Side, 0.0), (HipRoll, 0.0), (LookPitch, 14.0), (GripL, 0.0)],
    )
    .key(
        83.0,
        &[
            (HipX, -0.03),
            (Lean, 8.0),
            (HipRoll, -3.0),
            (Side, 4.0),
            (HeadPitch, -12.0),
            (SwingL, 96.0),
            (OutL, 4.0),
            (ReachL, 0.95),
            (HandL, 14.0),
            (Brow, 0.5),
            (Mouth, 0.45),
        ],
    )
    .key(92.0, &[(GripL, 1.0), (LookPitch, 12.0)])
    .key(
        93.0,
        &[
            (HipX, -0.02),
            (Lean, 8.5),
            (SwingL, 96.0),
            (OutL, 4.0),
            (ReachL, 0.95),
            (GripL, 1.0),
            (HandL, 10.0),
            (HeadPitch, -13.0),
            (SwingR, -6.0),
        ],
    )
    .key(102.0, &[(GripL, 0.0), (LookPitch, 8.0)])
    .key(
        105.0,
        &[
            (HipX, -0.135),
            (HipRoll, 0.0),
            (Side, 0.0),
            (Lean, 1.0),
            (SwingL, -6.0),
            (OutL, 12.0),
            (ReachL, 0.965),
            (HandL, -12.0),
            (SwingR, 6.0),
            (HeadPitch, -4.0),
        ],
    )
    .key(
        113.0,
        &[
            (Lean, 3.0),
            (SwingL, 4.0),
            (HandL, 0.0),
            (SwingR, 4.0),
            (HipX, -0.13),
            (HeadYaw, 16.0),
            (LookPitch, 0.0),
            (Mouth, 0.5),
        ],
    );
}
