//! Wind up, step, throw, follow through; the ball leaves the picture.

use crate::math::v3;
use crate::motion::act::{Act, Ch::*, Step};
use crate::motion::build::Build;

use super::Variation;

pub fn act(b: &Build, v: &Variation) -> Act {
    let k = v.vigour;
    let x = -0.75;
    let mut a = Act::standing(96, x, 0.0, v.open, 0.16);
    a.arm_delay = [0.8, 2.4];
    a.stand(0, x - 0.05, 0.11, v.open + 16.0)
        .stand(1, x + 0.08, -0.10, v.open - 4.0);
    a.key(
        0.0,
        &[
            (Held, 1.0),
            (HeadYaw, 6.0),
            (SwingR, 24.0),
            (ReachR, 0.72),
            (HandR, 24.0),
            (LookPitch, -4.0),
            (Lean, 3.0),
            (SwingL, 30.0),
            (ReachL, 0.72),
            (OutL, 4.0),
            (OutR, 4.0),
        ],
    );
    wind_up(&mut a, x, k, v);
    throw(&mut a, b, x, k, v);
    follow(&mut a, b, x, v);
    ball(&mut a, b);
    a
}

fn wind_up(a: &mut Act, x: f32, k: f32, v: &Variation) {
    a.key(
        7.0,
        &[
            (HipX, x),
            (HipY, 0.0),
            (HipYaw, v.open),
            (Twist, 0.0),
            (Lean, 3.0),
            (SwingR, 24.0),
            (SwingL, 30.0),
            (HeadPitch, 0.0),
        ],
    )
    .key(
        12.0,
        &[
            (HipX, x + 0.035),
            (HipY, -0.03),
            (Lean, 9.0),
            (SwingR, 32.0),
            (ReachR, 0.66),
            (HeadPitch, 5.0),
        ],
    )
    .key(
        27.0,
        &[
            (HipX, x - 0.13 * k),
            (HipY, -0.09),
            (HipYaw, v.open + 26.0),
            (HipRoll, 6.0),
            (Twist, -28.0 * k),
            (Lean, -12.0 * k),
            (Side, 6.0),
            (HeadYaw, -36.0 * k),
            (HeadPitch, 4.0),
            (SwingR, -112.0 * k),
            (OutR, 34.0),
            (ReachR, 0.74),
            (HandR, -30.0),
            (SwingL, 72.0 * k),
            (OutL, 22.0),
            (ReachL, 0.94),
            (Brow, -0.6),
        ],
    )
    .key(29.0, &[(HipX, x - 0.13 * k), (HipY, -0.095)]);
    a.step(
        1,
        Step {
            t0: 20.0,
            t1: 35.0,
            to: v3(x + 0.42, 0.0, -0.08),
            yaw: v.open,
            lift: 0.13,
            roll: 18.0,
            thrown: false,
        },
    );
}

fn throw(a: &mut Act, b: &Build, x: f32, k: f32, v: &Variation) {
    a.key(
        36.0,
        &[
            (HipX, x + 0.14),
            (HipY, -0.10),
            (HipYaw, v.open - 4.0),
            (HipRoll, -4.0),
            (Twist, -30.0 * k),
            (Lean, -2.0),
            (SwingR, -152.0),
            (ReachR, 0.62),
            (SwingL, 62.0),
            (Mouth, -0.5),
        ],
    )
    .key(
        40.0,
        &[
            (Twist, 8.0),
            (Lean, 16.0 * k),
            (Side, -5.0),
            (HeadYaw, 4.0),
            (HeadPitch, -6.0),
            (SwingR, -246.0),
            (OutR, 16.0),
            (ReachR, 0.985),
            (HandR, 20.0),
            (SwingL, 10.0),
            (ReachL, 0.8),
        ],
    )
    .key(
        46.0,
        &[
            (HipX, x + 0.34),
            (HipY, -0.12),
            (HipYaw, v.open - 18.0),
            (Twist, 26.0 * k),
            (Lean, 36.0 * k),
            (HeadYaw, 14.0),
            (HeadPitch, -20.0),
            (SwingR, -348.0),
            (OutR, -4.0),
            (ReachR, 0.9),
            (SwingL, -48.0),
            (OutL, 30.0),
            (Mouth, 0.2),
            (HandR, -30.0),
        ],
    );
    a.step(
        0,
        Step {
            t0: 39.0,
            t1: 53.0,
            to: v3(x + 0.62, 0.0, 0.10),
            yaw: v.open + 4.0,
            lift: 0.14 * b.leg(),
            roll: 34.0,
            thrown: false,
        },
    );
}

fn follow(a: &mut Act, b: &Build, x: f32, v: &Variation) {
    a.key(
        55.0,
        &[
            (HipX, x + 0.46),
            (HipY, -0.10),
            (HipYaw, v.open - 10.0),
            (HipRoll, 0.0),
            (Twist, 16.0),
            (Lean, 24.0),
            (Side, 0.0),
            (HeadPitch, -14.0),
            (SwingR, -372.0),
            (SwingL, -34.0),
            (OutL, 18.0),
            (HandR, -10.0),
        ],
    )
    .key(
        68.0,
        &[
            (HipX, x + 0.52),
            (HipY, -0.015),
            (HipYaw, v.open),
            (Twist, 0.0),
            (Lean, 2.0),
            (HeadYaw, 4.0),
            (HeadPitch, -6.0),
            (SwingR, -352.0),
            (OutR, 12.0),
            (ReachR, 0.95),
            (HandR, 0.0),
            (SwingL, 8.0),
            (OutL, 12.0),
            (ReachL, 0.95),
            (Brow, 0.4),
        ],
    )
    .key(
        78.0,
        &[
            (HipX, x + 0.515),
            (HipY, -0.005),
            (Lean, 3.5),
            (SwingR, -357.0),
            (SwingL, 3.0),
            (HeadPitch, -2.0),
            (Mouth, 0.6),
            (Lid, 1.0),
        ],
    )
    .key(82.0, &[(Lid, 0.1)])
    .key(85.0, &[(Lid, 1.0)]);
    a.step(
        1,
        Step {
            t0: 56.0,
            t1: 66.0,
            to: v3(x + 0.44 + 0.02 * b.leg(), 0.0, -0.10),
            yaw: v.open - 6.0,
            lift: 0.06,
            roll: 18.0,
            thrown: false,
        },
    );
}

fn ball(a: &mut Act, b: &Build) {
    let y = b.ankle + b.leg() + b.spine + 0.12;
    a.key(40.0, &[(Held, 1.0)]).key(42.0, &[(Held, 0.0)]);
    a.key_moving(40.0, PropX, -0.14, 0.17)
        .key_moving(76.0, PropX, 6.0, 0.17);
    a.key_moving(40.0, PropY, y, 0.035)
        .key_moving(60.0, PropY, y - 0.8, -0.115);
}
