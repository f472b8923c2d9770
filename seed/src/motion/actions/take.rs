//! A sound behind: eyes, head, hips, feet; down into the take and up out of it.

use crate::math::v3;
use crate::motion::act::{Act, Ch::*, Step};
use crate::motion::build::Build;

use super::Variation;

pub fn act(b: &Build, v: &Variation) -> Act {
    let k = v.vigour;
    let (from, to) = (158.0 - v.open, 34.0 + v.open * 0.5);
    let mut a = Act::standing(112, -0.05, 0.0, from, 0.0);
    a.arm_delay = [1.0, 4.5];
    a.stand(0, -0.10, -0.10, from + 10.0)
        .stand(1, -0.02, 0.10, from - 10.0);
    a.key(
        0.0,
        &[
            (HeadPitch, 12.0),
            (Lean, 6.0),
            (SwingR, 12.0),
            (SwingL, 26.0),
            (ReachL, 0.72),
            (ReachR, 0.9),
            (HandL, 20.0),
            (LookPitch, -10.0),
        ],
    );
    hear(&mut a);
    turn(&mut a, b, from, to);
    take(&mut a, b, k);
    settle(&mut a);
    a
}

fn hear(a: &mut Act) {
    a.key(
        9.0,
        &[
            (LookYaw, 0.0),
            (LookPitch, -10.0),
            (HeadYaw, 0.0),
            (HeadPitch, 12.0),
            (Lid, 1.0),
            (HipX, -0.05),
            (HipY, 0.0),
        ],
    )
    .key(
        12.0,
        &[
            (LookYaw, -16.0),
            (LookPitch, 2.0),
            (Lid, 1.15),
            (Brow, 0.4),
            (HeadPitch, 2.0),
        ],
    )
    .key(18.0, &[(HeadYaw, -6.0), (HeadPitch, -3.0), (Lid, 1.1)])
    .key(
        22.0,
        &[
            (Lid, 0.15),
            (HeadPitch, 6.0),
            (HeadYaw, -14.0),
            (HipX, -0.06),
            (HipY, -0.02),
        ],
    )
    .key(
        28.0,
        &[
            (HeadYaw, -58.0),
            (HeadPitch, 2.0),
            (HeadTilt, -6.0),
            (Lid, 1.0),
            (LookYaw, -20.0),
        ],
    );
}

fn turn(a: &mut Act, b: &Build, from: f32, to: f32) {
    a.key(
        22.0,
        &[
            (HipYaw, from),
            (HipY, -0.01),
            (HipX, -0.05),
            (Twist, 0.0),
            (SwingR, 10.0),
            (SwingL, 24.0),
        ],
    )
    .key(
        30.0,
        &[
            (HipYaw, from - 30.0),
            (HipX, -0.075),
            (HipY, -0.05),
            (Twist, 12.0),
            (SwingL, 32.0),
        ],
    )
    .key(
        44.0,
        &[
            (HipYaw, to),
            (HipX, 0.0),
            (HipY, -0.02),
            (Twist, -4.0),
            (Lean, 4.0),
            (HeadYaw, -12.0),
            (HeadTilt, 0.0),
            (HeadPitch, 0.0),
            (LookYaw, -4.0),
            (Lid, 1.0),
            (SwingR, -12.0),
            (SwingL, 16.0),
            (OutR, 24.0),
            (ReachL, 0.9),
            (HandL, 0.0),
        ],
    );
    a.key(
        50.0,
        &[
            (SwingR, -12.0),
            (SwingL, 16.0),
            (OutR, 24.0),
            (ReachR, 0.9),
            (ReachL, 0.9),
            (HeadYaw, -12.0),
            (HeadPitch, 0.0),
            (Lean, 4.0),
            (HipX, 0.0),
            (HipY, -0.02),
        ],
    );
    a.step(
        1,
        Step {
            t0: 27.0,
            t1: 38.0,
            to: v3(0.16, 0.0, -0.09),
            yaw: to - 10.0,
            lift: 0.07 * b.leg(),
            roll: 16.0,
            thrown: false,
        },
    );
    a.step(
        0,
        Step {
            t0: 35.0,
            t1: 47.0,
            to: v3(-0.10, 0.0, 0.11),
            yaw: to + 14.0,
            lift: 0.06 * b.leg(),
            roll: 20.0,
            thrown: false,
        },
    );
}

fn take(a: &mut Act, b: &Build, k: f32) {
    a.key(
        55.0,
        &[
            (HipY, -0.02),
            (Twist, -4.0),
            (Lean, 4.0),
            (SwingR, -12.0),
            (SwingL, 16.0),
            (OutR, 24.0),
            (OutL, 12.0),
            (ReachR, 0.9),
            (ReachL, 0.9),
            (HeadYaw, -12.0),
            (HeadPitch, 0.0),
            (LookYaw, 0.0),
            (Brow, 0.3),
            (Mouth, 0.0),
            (HipX, 0.0),
            (Lift, 0.0),
            (Lid, 1.0),
        ],
    )
    .key(
        64.0,
        &[
            (HipY, -0.20 * k),
            (Twist, 0.0),
            (HeadYaw, -8.0),
            (HipX, -0.02),
            (HipPitch, 10.0 * k),
            (Lean, 24.0 * k),
            (HeadPitch, 18.0 * k),
            (SwingR, 34.0),
            (SwingL, 40.0),
            (OutR, 20.0),
            (OutL, 18.0),
            (ReachR, 0.62),
            (ReachL, 0.66),
            (Lid, 0.02),
            (Brow, -0.8),
            (Mouth, -0.4),
        ],
    )
    .key(
        66.0,
        &[
            (HipY, -0.205 * k),
            (Lean, 25.0 * k),
            (HeadPitch, 19.0 * k),
            (Lid, 0.02),
        ],
    )
    .key(
        72.0,
        &[
            (HipY, 0.02),
            (HipX, -0.06),
            (Lift, 0.03 * b.leg()),
            (HipPitch, -4.0),
            (Lean, -13.0 * k),
            (HeadPitch, -16.0 * k),
            (SwingR, 30.0),
            (SwingL, 22.0),
            (OutR, 66.0 * k),
            (OutL, 58.0 * k),
            (ReachR, 0.94),
            (ReachL, 0.92),
            (HandR, 34.0),
            (HandL, 30.0),
            (Lid, 1.35),
            (Brow, 1.0),
            (Mouth, 1.0),
        ],
    );
}

fn settle(a: &mut Act) {
    a.key(
        82.0,
        &[
            (HipY, -0.03),
            (HipX, -0.05),
            (Lift, 0.0),
            (HipPitch, 0.0),
            (Lean, -5.0),
            (HeadPitch, -4.0),
            (SwingR, 20.0),
            (SwingL, 14.0),
            (OutR, 36.0),
            (OutL, 31.0),
            (ReachR, 0.9),
            (ReachL, 0.88),
            (HandR, 14.0),
            (HandL, 10.0),
            (Lid, 1.2),
            (Mouth, 0.6),
            (Brow, 0.8),
        ],
    )
    .key(
        94.0,
        &[
            (HipY, -0.025),
            (HipX, -0.048),
            (Lean, -4.0),
            (HeadPitch, -3.0),
            (SwingR, 21.0),
            (SwingL, 14.6),
            (OutR, 37.0),
            (OutL, 32.0),
            (Lid, 1.15),
        ],
    )
    .key(98.0, &[(Lid, 0.1)])
    .key(101.0, &[(Lid, 1.1), (LookYaw, 6.0)]);
}
