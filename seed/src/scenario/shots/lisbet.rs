//! Lisbet: a crate that weighs nothing at first; a turn in which everything goes at once.

use super::prelude::*;

/// No sinking before the heave.
const NO_DIP: Fault = fault(FaultKind::WeakAnticipation, Hip, 43.0, 57.0, 0.0);
/// The near foot creeps while he pulls.
const SKATE: Fault = fault(FaultKind::FootSlide, AnkleRight, 54.0, 68.0, 180.0);
/// The head is a hand too high for a frame.
const HEAD: Fault = fault(FaultKind::Pop, Head, 64.0, 64.0, 90.0);
/// Hips, chest, head and arms drop into the take together.
const BLOCK: Fault = fault(FaultKind::OneBlock, Hip, 53.0, 66.0, 0.0);
/// The left hand is somewhere else for a frame on the way up.
const HAND: Fault = fault(FaultKind::Pop, WristLeft, 72.0, 72.0, 120.0);

pub fn heavier() -> ShotPlan {
    shot_of("heavier", "Heavier than it looks", "lisbet", "weight", "heavy", 1001, scene(Action::Lift, Character::Barrel, Place::Store, 1.0, 22.0, false))
        .revision(at(268, 15, 10), Blocking, "On twos. The box is full of door handles, he does not know yet.",
            take(Clay, Studio).twos().with(NO_DIP, 0.85),
            critique(at(257, 10, 5), at(257, 11, 15), "Door handles! Then let me see them in his back before I see them in the box.")
                .say(note("no-dip", Fix, Must, &[Anticipation, Weight], &[part("hips")], (43.0, 57.0), "After the failed try he ought to sink, gather himself and only then go. Yours simply continues upwards at {47}. A deeper seat there is worth ten kilos.")
                    .of(NO_DIP).mark(Mark::Action(49.0)).answer(WillDo, "Sinking it.", at(256, 19, 30)))
                .say(note("first-try", Keep, Should, &[Weight, Acting], &[part("body")], (32.0, 43.0), "The first tug that lifts only one edge: comedy and physics in eleven frames.").answer(Done, "That one came from moving house.", at(256, 19, 33)))
                .say(note("grip-order", Question, IfTime, &[Contact], &[sided("hand", Both)], (22.0, 31.0), "Does he know where the handholds are, or does he find them? One hand a moment before the other would answer it.").answer(Done, "Finds them. Right first.", at(256, 19, 37))))
        .revision(at(231, 20, 45), Spline, "Splined, sunk, and he slides a bit but I thought the floor is dusty?",
            take(Lit, Studio).with(SKATE, 0.055).with(HEAD, 0.05),
            critique(at(220, 9, 15), at(220, 10, 40), "He sinks beautifully now. Dusty floors are a story; tell it with dust, or plant the foot.")
                .judge("no-dip", Cleared).judge("first-try", Still).judge("grip-order", Cleared)
                .say(note("skating", Fix, Must, &[Contact, Weight], &[sided("foot", Right)], (53.0, 69.0), "All that load comes through the near boot, and from {54} to {68} the boot wanders backwards under it. Either a slip with a reaction, or nothing at all.")
                    .of(SKATE).mark(Mark::Ring(AnkleRight, 61.0)).answer(WillDo, "Nothing at all, then.", at(219, 18, 20)))
                .say(note("head-hop", Fix, Should, &[Spacing], &[part("head")], (61.0, 67.0), "Stop on {64}. His hat is a hand's breadth above where the frames on both sides want it. One stray drawing, easily found, please find it.")
                    .of(HEAD).mark(Mark::Ring(Head, 64.0)).answer(WillDo, "Found it.", at(219, 18, 22))))
        .revision(at(176, 17, 55), Polish, "Planted. Hat stays on. Two frames more in the strain.",
            take(Lit, Overcast).retimed(54.0, 8.0, 2.0).nudged(-0.05, 0.0, 1.03),
            critique(at(166, 13, 0), at(166, 13, 35), "I believe every handle. On to something with two people in it.")
                .judge("skating", Cleared).judge("head-hop", Cleared).judge("no-dip", Cleared)
                .say(note("counterweight", Keep, Should, &[Weight, Posing], &[part("spine"), part("hips")], (68.0, 90.0), "Leaning away from the load and finding the floor with the back foot afterwards, in that order: write down how you did it, you will want it again.")))
        .done()
}

pub fn who() -> ShotPlan {
    shot_of("who-is-there", "Who is there", "lisbet", "acting", "turn", 1, scene(Action::Take, Character::Sprout, Place::Room, 1.0, 14.0, false))
        .revision(at(92, 18, 30), Blocking, "Held. Something falls over in the kitchen. She lives alone.",
            take(Clay, Studio).poses(&[0.0, 12.0, 22.0, 30.0, 44.0, 56.0, 65.0, 72.0, 82.0, 98.0]),
            critique(at(84, 15, 45), at(84, 16, 40), "Strong idea in clean poses. Before you spline, tell me where the fear sits: stomach, throat or feet.")
                .say(note("eyes-first", Keep, Must, &[Acting, Facial], &[part("eyes"), part("head")], (9.0, 30.0), "Eyes on {12}, lids on {22}, head on {28}. I would not move any of these by a frame.").answer(Done, "Not moving them.", at(83, 20, 0)))
                .say(note("fear-seat", Question, Should, &[Acting], &[part("spine")], (55.0, 72.0), "What does she protect when she shrinks? Arms in front of the belly say one thing, arms by the ears another.").answer(Done, "The belly.", at(83, 20, 6))))
        .revision(at(49, 19, 0), Spline, "First spline. The take feels like a box being dropped. I cannot find why.",
            take(Lit, Studio).with(BLOCK, 1.0).with(HAND, 0.055),
            critique(at(41, 9, 30), at(41, 11, 0), "A box is exactly the word: you found the trouble yourself, only not its address.")
                .judge("eyes-first", Still).judge("fear-seat", Cleared)
                .say(note("one-lump", Fix, Must, &[Overlap, Timing], &[part("body"), sided("arm", Both)], (53.0, 66.0), "Here is the address. On {55} hips, ribs, skull and both sleeves set off together; nothing inside her waits for anything else. Start the seat, let the chest follow two later, the head two after that, and the hands when they hear of it.")
                    .of(BLOCK).ask(Offset, 2.0).answer(WillDo, "When they hear of it. Writing that on the wall.", at(40, 18, 30)))
                .say(note("left-hand", Fix, Must, &[Spacing], &[sided("wrist", Left)], (69.0, 75.0), "One frame of nonsense at {72}: the left hand sits half a face off its path, and neither neighbour has heard of it.")
                    .of(HAND).mark(Mark::Ring(WristLeft, 72.0)).mark(Mark::Dots(WristLeft, 66.0, 78.0)).answer(WillDo, "Gimbal. Fixed.", at(40, 18, 34))))
        .revision(at(7, 21, 20), Spline, "Offset everything. Hand is fixed. The head may now be too late?",
            take(Lit, Dusk).retimed(52.0, 6.0, 4.0).with(HAND, 0.025),
            drafting(at(2, 10, 0), "The lump has come apart and there is a person in it.")
                .judge("one-lump", Cleared).judge("left-hand", Eased)
                .say(note("left-hand", Fix, Should, &[Spacing], &[sided("wrist", Left)], (69.0, 75.0), "Look once more at {72}, with the room light off: there is a remainder of that flicker, about half as far.").of(HAND).mark(Mark::Ring(WristLeft, 72.0)))
                .say(note("head-late", Consider, Should, &[Timing, Overlap], &[part("head")], (56.0, 66.0), "Too late? No. But it could")))
        .done()
}
