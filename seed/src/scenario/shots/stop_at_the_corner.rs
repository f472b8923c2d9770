//! Tobi: in from the left and a stop. A foot that slams, a settle that will not end.

use super::prelude::*;

/// The planting foot drops in its last frame.
const SLAM: Fault = fault(FaultKind::Stomp, AnkleRight, 41.0, 41.0, 0.0);
/// The near arm creeps after the stop.
const CREEP: Fault = fault(FaultKind::SlowSettle, WristRight, 64.0, 102.0, 0.0);

pub fn shot() -> ShotPlan {
    shot_of("corner-stop", "Stop at the corner", "tobi", "timing", "stop", 101, scene(Action::Walk, Character::Courier, Place::Lane, 1.0, 14.0, false))
        .revision(at(204, 17, 30), Blocking, "Poses only, held. Five contacts and the stop. I count twelve frames a step.",
            take(Clay, Studio).poses(&[0.0, 5.0, 11.0, 17.0, 23.0, 29.0, 35.0, 41.0, 47.0, 53.0, 65.0, 73.0, 81.0, 94.0]),
            critique(at(197, 10, 10), at(197, 10, 48), "Clear poses, honest rhythm. Decide now who she expects at that corner; the splines will not decide it for you.")
                .say(note("step-length", Keep, Should, &[Posing, Weight], &[sided("leg", Both)], (5.0, 53.0), "Contacts all sit on one ground line and the stride suits her legs. Good bones, do not re-plan them.")
                    .answer(Done, "Great, moving on then.", at(196, 18, 20)))
                .say(note("who-is-there", Question, Should, &[Acting], &[part("head"), part("eyes")], (81.0, 107.0), "Who does she hope to find when she looks round at {94}? Write me one line about that person when you send the next.")
                    .answer(Done, "Her brother. He is always late.", at(196, 18, 24)))
                .say(note("stop-reach", Consider, Should, &[Weight, Posing], &[part("hips"), part("chest")], (60.0, 74.0), "I would let the chest go a hand's width further over the front foot at {65} and pay it back later.")
                    .answer(WillDo, "Pushing it.", at(196, 18, 29))))
        .revision(at(181, 21, 2), Spline, "Splined. Something bangs at the fourth step and I cannot hear what, if you see what I mean.",
            take(Lit, Overcast).with(SLAM, 0.05).with(CREEP, 22.0),
            critique(at(174, 15, 5), at(174, 16, 0), "You heard right. And at the far end the arm has decided to stay for dinner.")
                .judge("step-length", Still).judge("who-is-there", Cleared).judge("stop-reach", Cleared)
                .say(note("foot-slam", Fix, Must, &[Contact, Spacing], &[sided("foot", Right)], (35.0, 44.0), "There is your bang: up to {40} the right shoe is well off the pavement, on {41} it is flat. Four drawings of coming down, please, heel first.").of(SLAM)
                    .ask(AddFrames, 2.0).mark(Mark::Dots(AnkleRight, 34.0, 43.0)).answer(WillDo, "So that was the noise.", at(173, 19, 0)))
                .say(note("arm-creep", Fix, Should, &[Timing, Spacing], &[sided("arm", Right)], (66.0, 98.0), "She has stopped; somebody tell the near hand. It is still oozing towards the hip most of a second later, too slow to be an action and too long to be a stop. Take a dozen frames off that tail.").of(CREEP)
                    .ask(RemoveFrames, 12.0).answer(WillDo, "I thought that was a moving hold. Shortening it.", at(173, 19, 6))))
        .waits(at(4, 20, 15), Polish, "Heel first now, and the arm lands when she does. Please look hard at the foot, I no longer see anything.",
            take(Lit, Morning).retimed(58.0, 10.0, 3.0))
        .done()
}
