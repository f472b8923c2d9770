//! Amara: sitting down at last, on a foot that slides and arms that agree too well; late for a tram.

use super::prelude::*;

/// The far foot creeps while she lowers herself.
const SLIP: Fault = fault(FaultKind::FootSlide, AnkleLeft, 28.0, 48.0, 0.0);
/// Both arms lower her in step.
const TWINS: Fault = fault(FaultKind::InStep, WristLeft, 26.0, 60.0, 0.0);
/// The walk ticks.
const TICK: Fault = fault(FaultKind::UnevenSpacing, Hip, 20.0, 36.0, 0.0);
/// A foot that lands in one frame (mirrored: the left one).
const CLAP: Fault = fault(FaultKind::Stomp, AnkleLeft, 41.0, 41.0, 0.0);

pub fn sit() -> ShotPlan {
    shot_of("sit-finally", "Sit, finally", "amara", "weight", "seat", 1, scene(Action::Sit, Character::Courier, Place::Room, 1.0, 30.0, false))
        .revision(at(192, 12, 30), Blocking, "On twos. Eleven hours of deliveries. Then this crate.",
            take(Clay, Studio).twos(),
            critique(at(181, 16, 0), at(181, 16, 30), "Tired people sit in two stages. You have both; keep them apart when you go to ones.")
                .say(note("two-stages", Keep, Must, &[Weight, Timing], &[part("hips"), part("spine")], (30.0, 60.0), "Lowering, then falling the last inch: there is the whole working day in that inch.").answer(Done, "It will stay.", at(180, 18, 0)))
                .say(note("look-why", Question, IfTime, &[Acting], &[part("head")], (6.0, 24.0), "Is the look behind her a check, or a greeting to the crate? Ask her; I got two answers from the same drawings.").answer(Done, "A check. She fell once.", at(180, 18, 3))))
        .revision(at(128, 21, 40), Spline, "Ones. The look is a check now. I left the feet alone since she is so tired.",
            take(Lit, Morning).with(SLIP, 0.055).with(TWINS, 1.0),
            critique(at(117, 10, 0), at(117, 11, 25), "Good weight in the trunk. At both ends of her, feet and hands, things have been left alone a bit too much.")
                .judge("two-stages", Still).judge("look-why", Cleared)
                .say(note("far-foot", Fix, Must, &[Contact], &[sided("foot", Left)], (28.0, 48.0), "Watch the far shoe against the crack in the boards from {28}: it leaves the crack behind. She is sitting down, so that foot is the one thing in the world she trusts.")
                    .of(SLIP).mark(Mark::Ring(AnkleLeft, 40.0)).answer(WillDo, "Nailing it down.", at(116, 19, 0)))
                .say(note("twin-arms", Fix, Should, &[Overlap], &[sided("arm", Both)], (26.0, 60.0), "Two sleeves, one curve. While she goes down, left copies right to the frame; a tired person would send one hand ahead to look for the edge.")
                    .of(TWINS).ask(Offset, 4.0).answer(WillDo, "Right one goes ahead then.", at(116, 19, 4))))
        .revision(at(76, 20, 20), Spline, "Foot nailed. Arms are a little apart, I think.",
            take(Lit, Morning).with(TWINS, 0.97).retimed(24.0, 8.0, 3.0),
            critique(at(64, 9, 40), at(64, 10, 0), "The shoe is honest now. A little apart turns out to be a quarter of a frame; I measured with a pencil.")
                .judge("far-foot", Cleared).judge("twin-arms", Still).judge("two-stages", Still)
                .say(note("twin-arms", Fix, Must, &[Overlap, Timing], &[sided("arm", Both)], (26.0, 60.0), "Be generous. Slide the left sleeve's keys five drawings down the sheet and look at it from across the room before you judge.")
                    .of(TWINS).ask(Offset, 5.0).answer(WillDo, "Five, from across the room.", at(63, 20, 30))))
        .waits(at(16, 22, 15), Polish, "Five. You were right, from across the room it is another person.",
            take(Lit, Dusk).retimed(24.0, 8.0, 3.0).retimed(62.0, 8.0, 4.0).nudged(0.0, -0.02, 1.04))
        .done()
}

pub fn tram() -> ShotPlan {
    shot_of("late-tram", "Late for the tram", "amara", "timing", "stop", 1, scene(Action::Walk, Character::Heron, Place::Lane, 1.08, 12.0, true))
        .revision(at(60, 18, 0), Spline, "He sees the tram leave. Walk, stop, nothing. Feels bumpy and I do not know which bump to chase.",
            take(Lit, Overcast).with(TICK, 0.9).with(CLAP, 0.05),
            critique(at(53, 13, 45), at(53, 14, 40), "Two bumps. Chase the one in the body first, the other will then be easier to hear.")
                .say(note("bumpy-walk", Fix, Must, &[Spacing], &[part("body")], (20.0, 36.0), "Everything from hat to knee goes in pairs, far and near and far and near, between {20} and {36}. A pavement does not do that to people, a misplaced tangent does.")
                    .of(TICK).mark(Mark::Dots(Hip, 19.0, 37.0)).answer(WillDo, "Tangents flattened by the exporter. Found.", at(52, 19, 50)))
                .say(note("sole-clap", Fix, Should, &[Contact, Spacing], &[sided("foot", Left)], (35.0, 44.0), "On {41} a sole claps the stones without having come from anywhere; the drawing before, it was at ankle height.")
                    .of(CLAP).ask(AddFrames, 2.0).answer(WillDo, "Ok!", at(52, 19, 52)))
                .say(note("nothing-end", Keep, Should, &[Acting, Timing], &[part("body")], (78.0, 107.0), "How bravely you do nothing at the end.")))
        .revision(at(18, 21, 11), Polish, "Smooth now, sole has a way down.",
            take(Lit, Dusk).retimed(84.0, 10.0, 8.0),
            critique(at(12, 10, 10), at(12, 10, 45), "Both bumps gone. Eight more frames of nothing, too, and they pay.")
                .judge("bumpy-walk", Cleared).judge("sole-clap", Cleared).judge("nothing-end", Still)
                .say(note("shoulders-after", Consider, IfTime, &[Posing, Acting], &[sided("shoulder", Both)], (84.0, 107.0), "A sigh would fit in there, shoulders only, no deeper than a coin is thick.")))
        .waits(at(5, 8, 50), Polish, "With a sigh. Wait, I sent the file from Tuesday.",
            take(Lit, Dusk).retimed(84.0, 10.0, 8.0).nudged(0.02, 0.0, 1.0))
        .withdrawn(at(5, 9, 12))
        .done()
}
