//! A wave to somebody far off, then waiting: weight from one leg to the other, a look at the wrist.

use crate::math::v3;
use crate::motion::act::{Act, Ch::*, Step};
use crate::motion::build::Build;

use super::Variation;

pub fn act(b: &Build, v: &Variation) -> Act {
    let k = v.vigour;
    let mut a = Act::standing(134, 0.0, 0.0, 48.0 + v.open, 0.0);
    a.arm_delay = [1.0, 4.0];
    a.stand(0, -0.10, 0.09, 62.0 + v.open)
        .stand(1, 0.11, -0.04, 34.0 + v.open);
    a.key(0.0, &[(HeadYaw, -10.0), (Lean, 2.0)]);
    raise(&mut a, k);
    wave(&mut a, k);
    lower(&mut a);
    wait(&mut a, b, k, v);
    a
}

fn raise(a: &mut Act, k: f32) {
    a.key(
        6.0,
        &[
            (SwingR, 4.0),
            (OutR, 12.0),
            (ReachR, 0.96),
            (HipX, 0.0),
            (HipY, 0.0),
            (Lean, 2.0),
            (Side, 0.0),
            (HeadPitch, 0.0),
        ],
    )
    .key(
        11.0,
        &[
            (SwingR, -12.0),
            (OutR, 15.0),
            (HipY, -0.035),
            (HipX, 0.015),
            (Lean, 7.0),
            (HeadPitch, 7.0),
            (SwingL, 2.0),
        ],
    )
    .key(
        22.0,
        &[
            (SwingR, 128.0 * k),
            (OutR, 34.0),
            (ReachR, 0.86),
            (FlareR, 14.0),
            (HandR, 18.0),
            (HipY, 0.008),
            (HipX, -0.03),
            (HipRoll, 4.0),
            (Side, -6.0),
            (Lean, -4.0),
            (HeadPitch, -9.0),
            (HeadTilt, 5.0),
            (Brow, 0.8),
            (Mouth, 0.8),
            (SwingL, -8.0),
        ],
    );
}

fn wave(a: &mut Act, k: f32) {
    for n in 0..3 {
        let t = 27.0 + 10.0 * n as f32;
        let fade = 1.0 - 0.14 * n as f32;
        a.key(
            t,
            &[
                (OutR, 34.0 - 26.0 * k * fade),
                (SwingR, 132.0 * k),
                (HandR, -26.0),
                (Side, -3.5),
                (HeadTilt, 2.0),
                (SwingL, -3.0),
            ],
        )
        .key(
            t + 5.0,
            &[
                (OutR, 34.0 + 22.0 * k * fade),
                (SwingR, 123.0 * k),
                (HandR, 32.0),
                (Side, -7.0),
                (HeadTilt, 6.0),
                (SwingL, -9.0),
            ],
        );
    }
    a.key(
        52.0,
        &[
            (Brow, 0.8),
            (Mouth, 0.8),
            (HipX, -0.035),
            (HipRoll, 4.0),
            (Lean, -3.0),
            (HeadPitch, -8.0),
            (HipY, 0.004),
        ],
    );
}

fn lower(a: &mut Act) {
    a.key(56.0, &[(SwingR, 124.0), (OutR, 30.0), (ReachR, 0.86)])
        .key(
            68.0,
            &[
                (SwingR, -10.0),
                (OutR, 12.0),
                (ReachR, 0.965),
                (FlareR, 0.0),
                (HandR, -16.0),
                (Side, 0.0),
                (HipRoll, 2.0),
                (HipX, -0.02),
                (HipY, -0.014),
                (Lean, 5.0),
                (HeadPitch, 2.0),
                (HeadTilt, 0.0),
                (SwingL, 6.0),
                (Mouth, 0.3),
                (Brow, 0.2),
            ],
        )
        .key(
            76.0,
            &[
                (SwingR, 4.0),
                (HandR, 0.0),
                (HipY, -0.002),
                (Lean, 2.0),
                (SwingL, 3.0),
                (HipX, -0.02),
                (LookYaw, 0.0),
                (HeadYaw, -10.0),
            ],
        );
}

fn wait(a: &mut Act, b: &Build, k: f32, v: &Variation) {
    a.key(
        79.0,
        &[
            (HipX, -0.02),
            (HipRoll, 2.0),
            (HeadYaw, -10.0),
            (LookYaw, -16.0),
            (Lid, 0.5),
        ],
    )
    .key(
        88.0,
        &[
            (HipX, 0.065),
            (HipY, -0.012),
            (HipRoll, -7.0 * k),
            (Side, 5.0 * k),
            (HeadYaw, -24.0),
            (HeadTilt, -4.0),
            (Lid, 1.0),
            (Mouth, -0.2),
        ],
    )
    .key(
        90.0,
        &[
            (SwingL, 3.0),
            (ReachL, 0.96),
            (OutL, 12.0),
            (LookPitch, 0.0),
            (LookYaw, -8.0),
        ],
    )
    .key(
        102.0,
        &[
            (SwingL, 56.0),
            (OutL, -14.0),
            (ReachL, 0.60),
            (FlareL, 34.0),
            (HandL, 0.0),
            (HeadPitch, 22.0),
            (HeadYaw, 4.0),
            (HeadTilt, -2.0),
            (LookPitch, -14.0),
            (LookYaw, -4.0),
            (Brow, -0.4),
            (Lean, 5.0),
            (HipX, 0.06),
        ],
    )
    .key(
        112.0,
        &[
            (SwingL, 54.0),
            (OutL, -13.0),
            (ReachL, 0.61),
            (HeadPitch, 20.0),
            (Lean, 4.6),
            (HipX, 0.062),
        ],
    );
    a.step(
        0,
        Step {
            t0: 84.0,
            t1: 94.0,
            to: v3(-0.12, 0.0, 0.13),
            yaw: 70.0 + v.open,
            lift: 0.035 * b.leg(),
            roll: 22.0,
            thrown: false,
        },
    );
}
