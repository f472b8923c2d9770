//! Tobi: a ball over the fence. An arm that forgets it was thrown.

use super::prelude::*;

/// The throwing arm stops at once after the release.
const STUCK: Fault = fault(FaultKind::DeadStop, WristRight, 40.0, 58.0, 0.0);
/// The stepping foot lands in one frame.
const SLAP: Fault = fault(FaultKind::Stomp, AnkleLeft, 35.0, 35.0, 0.0);

pub fn shot() -> ShotPlan {
    shot_of("over-the-fence", "Over the fence", "tobi", "timing", "throw", 101, scene(Action::Throw, Character::Sprout, Place::Meadow, 1.0, 16.0, false))
        .revision(at(128, 20, 5), Spline, "My little cousin throws like this. The ball goes where the neighbour lives.",
            take(Lit, Morning).with(STUCK, 0.95).with(SLAP, 0.05),
            critique(at(120, 11, 20), at(120, 12, 30), "Your cousin is wonderfully observed up to the release. After it she becomes a statue with one arm.")
                .say(note("arm-stuck", Fix, Must, &[Spacing, Overlap], &[sided("arm", Right)], (42.0, 56.0), "The throwing hand is flying and then, without a single drawing to slow it, parked. Think of a door without a closer. It should swing past the knee and come home by itself.")
                    .of(STUCK).ask(AddFrames, 5.0).mark(Mark::Path(WristRight, 41.0, 50.0, 0.18)).answer(WillDo, "I ran out of frames and cut it there. Making the shot longer.", at(119, 17, 45)))
                .say(note("front-foot", Fix, Should, &[Contact, Weight], &[sided("foot", Left)], (29.0, 38.0), "Front foot: still well off the grass on {34}, planted on {35}. Give its fall a middle.")
                    .of(SLAP).ask(AddFrames, 2.0).answer(WillDo, "Yes.", at(119, 17, 46)))
                .say(note("wind-up", Keep, Should, &[Anticipation, Weight], &[part("hips"), part("chest")], (12.0, 30.0), "Hips go back, chest goes back later, ball goes back last. Nobody could teach you that chain better than you have it.")))
        .revision(at(66, 16, 40), Polish, "Longer, and the arm comes home. Foot has a middle.",
            take(Lit, Morning).retimed(70.0, 10.0, 6.0).nudged(0.0, 0.0, 1.02),
            critique(at(58, 10, 0), at(58, 10, 25), "Cleared, both. Half a day of work and it looks like a summer.")
                .judge("arm-stuck", Cleared).judge("front-foot", Cleared).judge("wind-up", Still)
                .say(note("eyes-after", Consider, IfTime, &[Facial, Acting], &[part("eyes")], (66.0, 90.0), "When the ball is gone, might she check the house before she grins? A glance, no more: guilt first, joy second.")
                    .answer(Leaving, "She has no guilt. I asked her.", at(57, 18, 0))))
        .done()
}
