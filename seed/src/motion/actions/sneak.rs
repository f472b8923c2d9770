//! Past a door on tiptoe: long careful steps, hands held like paws, a look behind.

use crate::math::v3;
use crate::motion::act::{Act, Ch::*, Step};
use crate::motion::build::Build;

use super::Variation;

/// Frames from one contact to the next.
const BEAT: f32 = 23.0;

pub fn act(b: &Build, v: &Variation) -> Act {
    let k = v.vigour;
    let step = 0.62 * b.leg() * k.sqrt();
    let x0 = -1.35 * b.leg();
    let mut a = Act::standing(118, x0, 0.0, v.open, 0.0);
    a.arm_delay = [1.5, 6.0];
    a.stand(0, x0 + step * 0.5, 0.07, v.open + 8.0)
        .stand(1, x0 - step * 0.5, -0.07, v.open - 6.0);
    a.key(
        0.0,
        &[
            (HipY, -0.15 * k),
            (HipX, x0),
            (Lean, 26.0 * k),
            (HipPitch, 8.0),
            (HeadPitch, -14.0),
            (HeadYaw, 20.0),
            (SwingR, 52.0),
            (SwingL, 38.0),
            (ReachR, 0.60),
            (ReachL, 0.56),
            (OutR, 8.0),
            (OutL, 10.0),
            (HandR, -50.0),
            (HandL, -46.0),
            (FlareR, -6.0),
        ],
    );
    for n in 0..4 {
        pace(&mut a, b, v, n, x0 + step * (n as f32 + 1.0), step);
    }
    glance(&mut a, k);
    a
}

fn pace(a: &mut Act, b: &Build, v: &Variation, n: usize, hip: f32, step: f32) {
    let t = 4.0 + BEAT * n as f32;
    let side = (n + 1) % 2;
    let s = if side == 0 { 1.0 } else { -1.0 };
    let k = v.vigour;
    a.step(
        side,
        Step {
            t0: t,
            t1: t + 17.0,
            to: v3(hip + step * 0.5, 0.0, 0.07 * s),
            yaw: v.open + 7.0 * s,
            lift: 0.20 * b.leg() * k,
            roll: 34.0,
            thrown: false,
        },
    );
    a.key(
        t + 1.0,
        &[
            (HipX, hip - step * 0.97),
            (HipY, -0.17 * k),
            (HipRoll, 2.0 * s),
        ],
    )
    .key(
        t + 9.0,
        &[
            (HipX, hip - step * 0.55),
            (HipY, -0.075),
            (HipRoll, -4.0 * s),
            (Lean, 17.0 * k),
            (Side, 4.0 * s),
            (HeadPitch, -8.0),
        ],
    )
    .key(
        t + 18.0,
        &[
            (HipX, hip - step * 0.16),
            (HipY, -0.16 * k),
            (HipRoll, 0.0),
            (Lean, 28.0 * k),
            (Side, 0.0),
            (HeadPitch, -17.0),
        ],
    )
    .key(t + 22.0, &[(HipX, hip - step * 0.02), (HipY, -0.185 * k)]);
    a.key(
        t + 9.0,
        &[
            (SwingR, 62.0 + 8.0 * s),
            (SwingL, 50.0 - 9.0 * s),
            (ReachR, 0.52),
            (ReachL, 0.66 + 0.05 * s),
            (HandR, -70.0),
            (HandL, -30.0),
        ],
    )
    .key(
        t + 19.0,
        &[
            (SwingR, 44.0 - 8.0 * s),
            (SwingL, 34.0 + 9.0 * s),
            (ReachR, 0.66),
            (ReachL, 0.56),
            (HandR, -38.0),
            (HandL, -60.0),
        ],
    );
}

fn glance(a: &mut Act, k: f32) {
    a.key(40.0, &[(HeadYaw, 20.0), (LookYaw, 0.0), (Lid, 1.0)])
        .key(43.0, &[(LookYaw, 24.0), (Lid, 0.3)])
        .key(46.0, &[(Lid, 1.15)])
        .key(
            52.0,
            &[
                (HeadYaw, 76.0),
                (HeadTilt, 6.0),
                (LookYaw, 18.0),
                (Brow, 0.7),
            ],
        )
        .key(66.0, &[(HeadYaw, 76.0), (HeadTilt, 5.0), (LookYaw, 14.0)])
        .key(69.0, &[(LookYaw, -10.0), (Lid, 0.4)])
        .key(72.0, &[(Lid, 1.0)])
        .key(
            77.0,
            &[
                (HeadYaw, 12.0),
                (HeadTilt, 0.0),
                (LookYaw, 0.0),
                (Brow, 0.2),
            ],
        )
        .key(106.0, &[(HipY, -0.15 * k), (HeadYaw, 12.0)]);
}
