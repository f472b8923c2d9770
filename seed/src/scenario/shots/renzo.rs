//! Renzo: a wave that shivers, a wrist watch raised for ever; chalk thrown along a ruler.

use super::prelude::*;

/// The waving hand ticks.
const SHIVER: Fault = fault(FaultKind::UnevenSpacing, WristRight, 28.0, 56.0, 0.0);
/// The other arm creeps up to be looked at.
const CREEP: Fault = fault(FaultKind::SlowSettle, WristLeft, 88.0, 130.0, 0.0);
/// The throwing arm runs along a ruler (mirrored: the left one).
const RULER: Fault = fault(FaultKind::StraightPath, WristLeft, 37.0, 43.0, 0.0);

pub fn roof_wave() -> ShotPlan {
    shot_of("roof-wave", "Wave from the roof", "renzo", "acting", "wait", 1, scene(Action::Wave, Character::Barrel, Place::Roof, 0.95, 10.0, false))
        .revision(at(247, 21, 0), BlockingPlus, "He waves at the ship. The ship does not wave back. Ones, uncoloured set.",
            take(Tinted, Studio).with(SHIVER, 0.9).with(CREEP, 22.0),
            critique(at(238, 11, 11), at(238, 12, 20), "What a good sad idea. Two technical splinters, then we talk about the sadness.")
                .say(note("shiver", Fix, Must, &[Spacing], &[sided("hand", Right)], (28.0, 56.0), "His greeting trembles: long step, short step, long step, on every pair of frames from {28} on. Old age would do it more slowly than that, so it must be the curves.")
                    .of(SHIVER).mark(Mark::Dots(WristRight, 28.0, 48.0)).answer(WillDo, "I baked at the wrong rate. Re-baking.", at(237, 20, 0)))
                .say(note("watch-arm", Fix, Should, &[Timing], &[sided("arm", Left)], (96.0, 118.0), "By the time the wrist has finished floating into reading height the ship is over the horizon. Bring it up, stop it, read.")
                    .of(CREEP).ask(RemoveFrames, 12.0).answer(WillDo, "Cutting the float.", at(237, 20, 4)))
                .say(note("weight-shift", Keep, Should, &[Weight, Acting], &[part("hips")], (78.0, 92.0), "Boredom lives in that hip. Good.")))
        .revision(at(196, 18, 45), Spline, "Re-baked. The float is shorter, I like a bit of it because he does not want to know the time.",
            take(Lit, Morning).with(CREEP, 15.0).retimed(78.0, 8.0, 4.0),
            critique(at(184, 14, 0), at(184, 14, 50), "The greeting is steady and I am touched by it. On the watch we disagree by about six frames.")
                .judge("shiver", Cleared).judge("watch-arm", Eased).judge("weight-shift", Still)
                .say(note("watch-arm", Consider, Should, &[Timing, Acting], &[sided("arm", Left)], (96.0, 118.0), "Not wanting to know is a fine reason; play it in the eyes, which can refuse, and let the arm be quick about its errand.")
                    .of(CREEP).answer(Leaving, "I want the arm to be the part that refuses. The eyes are hidden by the hat from the ship's side.", at(183, 9, 20)))
                .say(note("brow", Consider, IfTime, &[Facial], &[part("brows")], (52.0, 74.0), "Let the brows come down one after the other while the arm sinks; two at once looks like a blind being lowered.")
                    .answer(WillDo, "One after the other, ok.", at(183, 9, 26))))
        .revision(at(131, 19, 30), Polish, "Kept the refusing arm, took your brows. Dusk. I think it is finished?",
            take(Lit, Dusk).with(CREEP, 15.0).retimed(78.0, 8.0, 4.0).nudged(0.04, 0.0, 1.03),
            critique(at(119, 10, 30), at(119, 11, 5), "Finished. You argued for the arm, the light argues for you; I withdraw.")
                .judge("watch-arm", SetAside).judge("brow", Cleared).judge("weight-shift", Still)
                .say(note("last-look", Keep, Must, &[Staging, Acting], &[part("head"), part("camera")], (96.0, 121.0), "Holding on him after there is nothing left to wait for takes nerve. Never trim this.")))
        .done()
}

pub fn chalk() -> ShotPlan {
    shot_of("chalk", "Chalk", "renzo", "timing", "throw", 1, Scene { fps: 25, ..scene(Action::Throw, Character::Courier, Place::Room, 0.95, 18.0, true) })
        .revision(at(71, 16, 16), Spline, "She teaches. Somebody talks in the last row. The ball is a stand-in for chalk.",
            take(Lit, Morning).with(RULER, 1.0),
            critique(at(63, 15, 0), at(63, 15, 45), "I sat up straight. Timing is there; the arm travels on rails.")
                .say(note("ruler-arm", Fix, Must, &[Arcs], &[sided("arm", Left)], (36.0, 44.0), "Connect the dots of the hand from {37} to {43}: you get an edge, and a shoulder is a ball. Lift the middle of it by the length of a head and the whip returns.")
                    .of(RULER).mark(Mark::Path(WristLeft, 37.0, 43.0, 0.3)).mark(Mark::Dots(WristLeft, 36.0, 44.0)).answer(WillDo, "Drew the arc on the screen with a pen. I see it.", at(62, 19, 10)))
                .say(note("follow-step", Keep, Should, &[Weight], &[part("hips"), sided("leg", Both)], (46.0, 68.0), "Stepping through after the release, then pretending it was dignified: yes, yes.")))
        .revision(at(24, 20, 30), Polish, "Arc is back. Warm light since it is the last lesson.",
            take(Lit, Dusk).retimed(27.0, 8.0, 2.0),
            critique(at(16, 9, 0), at(16, 9, 40), "Clean. One wish, and it is only a wish.")
                .judge("ruler-arm", Cleared).judge("follow-step", Still)
                .say(note("row-target", Consider, IfTime, &[Staging, Acting], &[part("eyes")], (8.0, 28.0), "Could her gaze stay on the culprit through the whole wind-up? Right now it drops to the chalk at {20} and the threat leaks out.")
                    .answer(WillDo, "Trying that on the weekend.", at(15, 20, 0))))
        .done()
}
