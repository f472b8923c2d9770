//! Down onto a crate: a look back, hips behind the heels, the seat takes the weight.

use crate::math::v3;
use crate::motion::act::{Act, Ch::*, Step};
use crate::motion::build::Build;

use super::{SEAT_X, Variation, seat};

pub fn act(b: &Build, v: &Variation) -> Act {
    let k = v.vigour;
    let x = SEAT_X + 0.20 + 0.30 * b.leg();
    let mut a = Act::standing(104, x, 0.0, v.open, 0.0);
    a.arm_delay = [1.2, 4.6];
    a.stand(0, x + 0.03, 0.11, v.open + 14.0)
        .stand(1, x - 0.04, -0.10, v.open - 8.0);
    a.key(0.0, &[(HeadPitch, 2.0), (Lean, 3.0)]);
    look_back(&mut a, x);
    lower(&mut a, b, x, k);
    rest(&mut a, k);
    a.step(
        0,
        Step {
            t0: 64.0,
            t1: 74.0,
            to: v3(x + 0.13 * b.leg(), 0.0, 0.13),
            yaw: v.open + 18.0,
            lift: 0.05,
            roll: 14.0,
            thrown: false,
        },
    );
    a
}

fn seated(b: &Build) -> f32 {
    (seat(b) + b.depth[0] * 0.92 - b.ankle) / b.leg() - 0.980
}

fn look_back(a: &mut Act, x: f32) {
    a.key(
        5.0,
        &[(HeadYaw, 0.0), (LookYaw, 0.0), (Twist, 0.0), (Lid, 1.0)],
    )
    .key(8.0, &[(LookYaw, 24.0), (Lid, 0.4)])
    .key(10.0, &[(Lid, 1.0)])
    .key(
        16.0,
        &[
            (HeadYaw, 62.0),
            (HeadPitch, 16.0),
            (Twist, -16.0),
            (LookYaw, 20.0),
            (SwingR, -10.0),
            (SwingL, 8.0),
            (HipX, x),
            (HipY, 0.0),
        ],
    )
    .key(
        22.0,
        &[
            (HeadYaw, 60.0),
            (HeadPitch, 18.0),
            (Twist, -15.0),
            (HipX, x + 0.02),
            (HipY, -0.008),
            (Lean, 2.0),
            (HipPitch, 0.0),
        ],
    );
}

fn lower(a: &mut Act, b: &Build, x: f32, k: f32) {
    let down = seated(b);
    a.key(
        35.0,
        &[
            (HipX, x - 0.16),
            (HipY, down * 0.48),
            (HipPitch, 16.0),
            (Lean, 40.0 * k),
            (HeadYaw, 22.0),
            (HeadPitch, -6.0),
            (LookYaw, 0.0),
            (Twist, -4.0),
            (SwingR, 34.0 * k),
            (SwingL, 40.0 * k),
            (OutR, 14.0),
            (OutL, 14.0),
            (ReachR, 0.9),
            (ReachL, 0.92),
        ],
    )
    .key(
        47.0,
        &[
            (HipX, SEAT_X + 0.04),
            (HipY, down - 0.012),
            (HipPitch, 8.0),
            (Lean, 30.0),
            (HeadYaw, 8.0),
            (HeadPitch, -4.0),
            (Twist, 0.0),
            (Lid, 0.5),
        ],
    )
    .key(
        52.0,
        &[
            (HipX, SEAT_X + 0.02),
            (HipY, down + 0.006),
            (HipPitch, -4.0),
            (Lean, 6.0),
            (SwingR, 16.0),
            (SwingL, 22.0),
            (Lid, 1.0),
        ],
    )
    .key(
        58.0,
        &[
            (HipX, SEAT_X + 0.02),
            (HipY, down),
            (HipPitch, -6.0),
            (Lean, -4.0),
            (HeadPitch, 5.0),
            (SwingR, 27.0),
            (SwingL, 29.0),
            (OutR, 7.0),
            (OutL, 7.0),
            (ReachR, 0.85),
            (ReachL, 0.85),
            (HandR, 10.0),
            (HandL, 10.0),
            (Mouth, -0.2),
        ],
    );
}

fn rest(a: &mut Act, k: f32) {
    a.key(
        68.0,
        &[
            (Lean, 11.0),
            (HipPitch, -6.0),
            (HeadPitch, 8.0),
            (SwingR, 31.0),
            (SwingL, 28.0),
            (ReachR, 0.85),
            (ReachL, 0.85),
            (Lid, 0.9),
            (HeadYaw, 8.0),
            (HeadTilt, 0.0),
        ],
    )
    .key(
        78.0,
        &[
            (Lean, 8.0),
            (HeadPitch, 2.0),
            (HeadYaw, 14.0),
            (SwingR, 29.5),
            (SwingL, 28.5),
        ],
    )
    .key(81.0, &[(Lid, 0.1)])
    .key(84.0, &[(Lid, 1.0), (LookYaw, 0.0)])
    .key(
        92.0,
        &[
            (HeadYaw, 34.0 * k),
            (HeadTilt, 4.0),
            (LookYaw, 10.0),
            (Mouth, 0.5),
            (Brow, 0.4),
            (Lean, 8.5),
        ],
    );
}
