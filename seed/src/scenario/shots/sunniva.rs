//! Sunniva: off the parapet, where the crouch was missing; past the study, where a foot came down like a hammer.

use super::prelude::*;

/// No crouch before the leap.
const NO_CROUCH: Fault = fault(FaultKind::WeakAnticipation, Hip, 15.0, 31.0, 0.0);
/// The right knee straightens for two frames under the squash.
const KNEE: Fault = fault(FaultKind::Snap, KneeRight, 57.0, 58.0, 0.0);
/// The left foot drops in its last frame.
const HAMMER: Fault = fault(FaultKind::Stomp, AnkleLeft, 67.0, 67.0, 0.0);
/// The second step ticks instead of gliding.
const TICKING: Fault = fault(FaultKind::UnevenSpacing, Hip, 30.0, 46.0, 0.0);

pub fn parapet() -> ShotPlan {
    shot_of("parapet", "Off the parapet", "sunniva", "weight", "drop", 1, scene(Action::Jump, Character::Sprout, Place::Roof, 0.96, 20.0, false))
        .revision(at(290, 18, 20), Blocking, "Held poses. She does not want to but the washing line does not hold.",
            take(Clay, Studio).poses(&[0.0, 12.0, 26.0, 31.0, 38.0, 46.0, 52.0, 66.0, 74.0, 86.0, 104.0]).with(NO_CROUCH, 0.85),
            critique(at(281, 9, 0), at(281, 9, 50), "A funny premise told in eleven drawings. One of them is missing.")
                .say(note("crouch", Fix, Must, &[Anticipation, Weight], &[part("hips"), sided("knee", Both)], (14.0, 31.0), "Between {13} and {31} nobody bends. She goes from upright to airborne, so some crane must have her by the collar. Draw me the lowest she gets before the feet leave.")
                    .of(NO_CROUCH).mark(Mark::Action(26.0)).answer(WillDo, "I thought reluctant people do not crouch. They do, I tried it on the stairs.", at(280, 20, 2)))
                .say(note("flight-shape", Keep, Should, &[Posing, Staging], &[part("body")], (36.0, 44.0), "That open star in mid-air reads at the size of a stamp.").answer(Done, "Thank you!", at(280, 20, 3)))
                .say(note("reluctance", Question, Should, &[Acting], &[part("head")], (0.0, 16.0), "Which thought finally tips her over: pride, or the cold? Either is fine, both is mush.").answer(Done, "Pride.", at(280, 20, 9))))
        .revision(at(262, 21, 33), Spline, "With a crouch, and on ones. Half of it maybe. Coloured her so I could see her.",
            take(Lit, Overcast).retimed(26.0, 8.0, 3.0).with(NO_CROUCH, 0.40).with(KNEE, 0.85),
            critique(at(250, 16, 0), at(250, 16, 44), "Better: there is effort now. Spend the other half too, then look under the landing with me.")
                .judge("crouch", Eased).judge("reluctance", Cleared).judge("flight-shape", Still)
                .say(note("knee-lock", Fix, Must, &[Posing, Spacing], &[sided("knee", Right)], (54.0, 61.0), "At the very bottom of the squash, {57} and {58}, the near leg turns into a broomstick and is a leg again straight after. Solver slip, I suppose; pull the pole away from the body and it will behave.")
                    .of(KNEE).mark(Mark::Ring(KneeRight, 57.0)).answer(WillDo, "Yes, the pole target was inside her.", at(249, 8, 51))))
        .revision(at(204, 19, 15), Polish, "Full crouch, no broomstick, evening sun because she has stood there that long by now.",
            take(Lit, Dusk).retimed(26.0, 8.0, 6.0).nudged(0.05, 0.0, 1.02),
            critique(at(195, 10, 30), at(195, 11, 0), "Done, and I mean it. Put it on the reel and do not touch it.")
                .judge("crouch", Cleared).judge("knee-lock", Cleared).judge("flight-shape", Still)
                .say(note("tuft", Keep, IfTime, &[Overlap], &[part("hair")], (44.0, 62.0), "My favourite actor here is the tuft of hair, always one idea behind its owner.")))
        .done()
}

pub fn study() -> ShotPlan {
    shot_of("study-door", "Past the study", "sunniva", "timing", "creep", 1, scene(Action::Sneak, Character::Courier, Place::Corridor, 0.96, 22.0, false))
        .revision(at(97, 17, 0), BlockingPlus, "Ones already, because the steps made no sense held. Grey walls are on purpose, the door is the only colour later.",
            take(Tinted, Studio).with(HAMMER, 0.055).with(TICKING, 0.9),
            critique(at(90, 14, 15), at(90, 15, 10), "You have four steps and three of them are careful. Also, somewhere a clockwork got into her.")
                .say(note("third-step", Fix, Must, &[Contact, Timing], &[sided("foot", Left)], (61.0, 70.0), "Whoever sleeps behind that door is awake now: on {66} the far shoe hovers a hand above the boards, on {67} it is down. Spread the last of the fall over three or four drawings.")
                    .of(HAMMER).ask(AddFrames, 3.0).mark(Mark::Dots(AnkleLeft, 60.0, 69.0)).answer(WillDo, "I did not hear it because I animate with music on.", at(89, 19, 40)))
                .say(note("ticking", Fix, Should, &[Spacing], &[part("body")], (30.0, 46.0), "Wide gap, narrow gap, wide, narrow, all through the second step. Flick through {30} to {46} and watch the shoulder shiver. I suspect keys on every other frame that were nudged by hand.")
                    .of(TICKING).mark(Mark::Dots(Hip, 29.0, 47.0)).answer(WillDo, "Guilty. Deleting them.", at(89, 19, 43)))
                .say(note("paws", Keep, Should, &[Posing, Acting], &[sided("hand", Both)], (0.0, 60.0), "Those hands, held like a squirrel with a grievance, tell me her age and her conscience.")))
        .revision(at(55, 22, 48), Spline, "Ticking is gone, foot comes down over two frames now, can I have that?",
            take(Lit, Night).with(HAMMER, 0.029).retimed(50.0, 10.0, 4.0),
            critique(at(47, 15, 30), at(47, 16, 5), "Smooth as felt in the middle. About the two frames: nearly.")
                .judge("ticking", Cleared).judge("third-step", Eased).judge("paws", Still)
                .say(note("third-step", Fix, Should, &[Contact], &[sided("foot", Left)], (61.0, 70.0), "A smaller drop is still a drop; I can feel it in my teeth at {67}. Heel, pause for a heartbeat, then sole.")
                    .of(HAMMER).answer(WillDo, "Heel, heartbeat, sole.", at(46, 9, 0)))
                .say(note("hold-at-door", Consider, IfTime, &[Timing, Acting], &[part("head")], (52.0, 66.0), "Suppose she listened half as long again here and the next step was quicker for it. Rhythm needs somebody to be rude to.").ask(Hold, 6.0)))
        .waits(at(13, 20, 10), Polish, "Heel first. Held the look by six. I am a little proud of the lamp.",
            take(Lit, Night).retimed(50.0, 10.0, 4.0).retimed(60.0, 8.0, 6.0).nudged(0.03, 0.02, 1.03))
        .done()
}
