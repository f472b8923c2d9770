//! Hanne: waiting, with a hand on a ruler and an arm that bumps; a first sit with a nodding head.

use super::prelude::*;

/// The hand comes down along a ruler.
const RULER: Fault = fault(FaultKind::StraightPath, WristRight, 58.0, 68.0, 0.0);
/// The other arm stops dead at reading height.
const BUMP: Fault = fault(FaultKind::DeadStop, WristLeft, 88.0, 106.0, 0.0);
/// The head is off for a frame on the way down.
const NOD: Fault = fault(FaultKind::Pop, Head, 40.0, 40.0, 45.0);
/// The near hand hits the thigh and stops.
const SLAP: Fault = fault(FaultKind::DeadStop, WristRight, 48.0, 64.0, 0.0);

pub fn waiting() -> ShotPlan {
    shot_of("waiting", "Waiting for nobody", "hanne", "acting", "wait", 1001, scene(Action::Wave, Character::Heron, Place::Lane, 0.95, 14.0, false))
        .revision(at(160, 20, 0), BlockingPlus, "He waves because the bus driver might be the nice one. Grey set, ones.",
            take(Tinted, Studio).with(RULER, 1.0).with(BUMP, 0.95),
            critique(at(149, 10, 15), at(149, 11, 5), "He is somebody. Let us get two straight lines out of him.")
                .say(note("ruler-down", Fix, Must, &[Arcs], &[sided("hand", Right)], (57.0, 69.0), "An arm hung from a shoulder comes down on a curve. This one slides from ear to pocket as if along the edge of a table, {58} to {68}.")
                    .of(RULER).mark(Mark::Path(WristRight, 58.0, 68.0, 0.22)).answer(WillDo, "I had two keys and nothing in between. Adding a breakdown.", at(148, 17, 0)))
                .say(note("watch-bump", Fix, Should, &[Spacing, Timing], &[sided("arm", Left)], (90.0, 107.0), "The watch arrives like a drawer being shut. Ease the last third; three drawings would do it.")
                    .of(BUMP).ask(AddFrames, 3.0).answer(WillDo, "Easing.", at(148, 17, 3)))
                .say(note("hope", Keep, Should, &[Acting], &[part("head"), part("spine")], (10.0, 54.0), "Standing taller while he waves and not one frame longer: hope has a posture and you found it.")))
        .revision(at(101, 19, 19), Spline, "Breakdown in. Forgot the watch, will do next time.",
            take(Lit, Morning).with(BUMP, 0.95).retimed(76.0, 8.0, 4.0),
            critique(at(90, 9, 20), at(90, 9, 45), "Lovely curve. The drawer is still being shut, as you say.")
                .judge("ruler-down", Cleared).judge("watch-bump", Still).judge("hope", Still)
                .say(note("pause-length", Consider, Should, &[Timing], &[part("body")], (74.0, 84.0), "Between giving up and shifting weight there could be a stillness that makes me uneasy. Twelve frames? Find out where it hurts.").ask(Hold, 12.0)
                    .answer(WillDo, "Ten hurt already.", at(89, 20, 0))))
        .revision(at(46, 22, 0), Polish, "Ten frames of hurting, watch eased, night bus now.",
            take(Lit, Night).retimed(76.0, 8.0, 12.0).nudged(0.03, 0.0, 1.03),
            critique(at(36, 16, 0), at(36, 16, 20), "Nobody is coming and I would wait with him. Finished.")
                .judge("watch-bump", Cleared).judge("pause-length", Cleared).judge("hope", Still)
                .say(note("night-read", Question, IfTime, &[Staging], &[part("camera")], (0.0, 20.0), "Did you mean the lamp to leave his far shoulder in the dark? It works for me; be sure it is yours and not the preset's.")
                    .answer(Done, "Mine. I moved it twice.", at(35, 19, 0))))
        .done()
}

pub fn first_sit() -> ShotPlan {
    shot_of("first-sit", "First sit", "hanne", "weight", "seat", 1, scene(Action::Sit, Character::Barrel, Place::Store, 1.0, 26.0, false))
        .revision(at(50, 17, 30), Spline, "He has sat on this crate for forty years. My first shot about weight.",
            take(Lit, Studio).with(NOD, 0.05).with(SLAP, 0.95),
            critique(at(39, 13, 0), at(39, 14, 0), "Forty years show in the hips, who know the way without looking. Head and hand are newer to the job.")
                .say(note("nod", Fix, Must, &[Spacing], &[part("head")], (37.0, 43.0), "A twitch at {40}: his face is a nose-length ahead of his neck and back before I can blink. Delete that drawing, the neighbours agree with each other.")
                    .of(NOD).mark(Mark::Ring(Head, 40.0)).answer(WillDo, "Deleted.", at(38, 18, 0)))
                .say(note("hand-slap", Fix, Should, &[Spacing, Contact], &[sided("hand", Right)], (50.0, 64.0), "Palms have meat on them. The near one meets the thigh at full speed and is furniture the frame after; allow it some squash and a slower end.")
                    .of(SLAP).ask(AddFrames, 3.0).answer(WillDo, "Meat. Ok.", at(38, 18, 2)))
                .say(note("know-the-way", Keep, Must, &[Weight, Acting], &[part("hips")], (26.0, 56.0), "Those hips again. Do not let anybody, me included, talk you into a bigger look back.")))
        .waits(at(3, 18, 18), Polish, "Deleted and squashed. He also looks older in this light.",
            take(Lit, Dusk).retimed(60.0, 8.0, 4.0))
        .done()
}
