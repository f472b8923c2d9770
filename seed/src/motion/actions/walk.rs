//! In from the side, a stop with the weight going over the front foot, a look round.

use crate::math::v3;
use crate::motion::act::{Act, Ch::*, Step};
use crate::motion::build::Build;

use super::Variation;

/// Frames from one contact to the next.
const BEAT: f32 = 12.0;
/// Contacts before the closing step.
const CONTACTS: usize = 5;

pub fn act(b: &Build, v: &Variation) -> Act {
    let step = 0.70 * b.leg() * (0.6 + 0.4 * v.vigour);
    let last = 0.28;
    let x0 = last - step * (CONTACTS - 1) as f32;
    let mut a = Act::standing(108, x0 - step * 0.5, 0.0, v.open, 0.0);
    a.arm_delay = [0.8, 3.8];
    let yaw = v.open;
    a.stand(0, x0 - step, 0.075, yaw + 6.0)
        .stand(1, x0 - step * 2.0, -0.075, yaw - 6.0);
    a.key(0.0, &[(HeadYaw, -v.open * 0.5), (Lean, 5.0)]);
    for k in 0..CONTACTS {
        contact(&mut a, b, v, k, x0 + step * k as f32);
    }
    stop(&mut a, b, v, last);
    a
}

fn contact(a: &mut Act, b: &Build, v: &Variation, k: usize, x: f32) {
    let t = 5.0 + BEAT * k as f32;
    let side = (k + 1) % 2;
    let s = if side == 0 { 1.0 } else { -1.0 };
    let step = 0.70 * b.leg() * (0.6 + 0.4 * v.vigour);
    let turn = if side == 0 { 6.0 } else { -6.0 };
    a.step(
        side,
        Step {
            t0: t - 10.0,
            t1: t,
            to: v3(x, 0.0, 0.075 * s),
            yaw: v.open + turn,
            lift: 0.085 * b.leg(),
            roll: 30.0,
            thrown: false,
        },
    );
    a.key_moving(t, HipX, x - step * 0.5, step / BEAT);
    a.key(
        t,
        &[
            (HipY, -0.035),
            (HipRoll, -3.0 * s),
            (Twist, 9.0 * s * v.vigour),
            (Side, 2.0 * s),
            (HeadTilt, -1.5 * s),
        ],
    )
    .key(t + 3.0, &[(HipY, -0.062), (Lean, 7.0)])
    .key(t + 7.5, &[(HipY, -0.008), (Lean, 4.5), (HeadPitch, 1.5)]);
    let wide = 28.0 * v.vigour;
    a.key(
        t + 0.5,
        &[
            (SwingR, if side == 0 { -wide } else { wide }),
            (SwingL, if side == 0 { wide * 0.9 } else { -wide * 1.05 }),
        ],
    );
    a.key(
        t + 0.5,
        &[
            (ReachR, if side == 0 { 0.97 } else { 0.9 }),
            (ReachL, if side == 0 { 0.9 } else { 0.97 }),
        ],
    );
}

fn stop(a: &mut Act, b: &Build, v: &Variation, x: f32) {
    let t = 5.0 + BEAT * (CONTACTS - 1) as f32;
    let side = CONTACTS % 2;
    let s = if side == 0 { -1.0 } else { 1.0 };
    a.step(
        1 - side,
        Step {
            t0: t + 3.0,
            t1: t + 15.0,
            to: v3(x - 0.16 * b.leg(), 0.0, 0.085 * s),
            yaw: v.open + 8.0 * s,
            lift: 0.05 * b.leg(),
            roll: 22.0,
            thrown: false,
        },
    );
    a.key(
        t + 12.0,
        &[
            (HipX, x + 0.02),
            (HipY, -0.012),
            (HipRoll, 0.0),
            (Twist, 0.0),
            (Side, 0.0),
            (Lean, 9.0),
            (HeadTilt, 0.0),
            (HeadPitch, 6.0),
        ],
    )
    .key(
        t + 20.0,
        &[
            (HipX, x - 0.10 * b.leg()),
            (HipY, -0.014),
            (Lean, -1.0),
            (HeadPitch, -2.0),
        ],
    )
    .key(
        t + 28.0,
        &[
            (HipX, x - 0.075 * b.leg()),
            (HipY, -0.004),
            (Lean, 2.5),
            (HeadPitch, 1.0),
        ],
    );
    a.key(
        t + 12.5,
        &[
            (SwingR, 24.0 * v.vigour),
            (SwingL, 12.0 * v.vigour),
            (ReachR, 0.93),
            (ReachL, 0.95),
        ],
    )
    .key(
        t + 21.0,
        &[
            (SwingR, -7.0),
            (SwingL, -2.0),
            (ReachR, 0.965),
            (ReachL, 0.965),
        ],
    )
    .key(t + 28.0, &[(SwingR, 4.0), (SwingL, 3.0)]);
    look_round(a, t + 28.0, v);
}

fn look_round(a: &mut Act, t: f32, v: &Variation) {
    let front = -v.open * 0.5;
    a.key(t, &[(HeadYaw, front), (LookYaw, 0.0), (Lid, 1.0)])
        .key(t + 3.0, &[(LookYaw, 24.0), (Lid, 0.35)])
        .key(t + 6.0, &[(Lid, 1.0)])
        .key(
            t + 13.0,
            &[
                (HeadYaw, front + 46.0),
                (HeadPitch, 3.0),
                (HeadTilt, 5.0),
                (LookYaw, 14.0),
                (Twist, -5.0),
                (Brow, 0.4),
            ],
        )
        .key(t + 20.0, &[(HeadYaw, front + 46.0), (LookYaw, 6.0)])
        .key(t + 23.0, &[(LookYaw, -20.0), (Lid, 0.4)])
        .key(t + 26.0, &[(Lid, 1.0)]);
}
