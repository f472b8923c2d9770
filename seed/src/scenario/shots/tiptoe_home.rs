//! Yusra: past the parents' door. A hand nailed to the air, a knee that locks.

use super::prelude::*;

/// The near hand hangs where it was while the body goes on.
const NAILED: Fault = fault(FaultKind::Pinned, WristRight, 74.0, 98.0, 0.0);

pub fn shot() -> ShotPlan {
    shot_of("tiptoe-home", "Tiptoe home", "yusra", "timing", "creep", 1001, scene(Action::Sneak, Character::Heron, Place::Corridor, 1.0, 20.0, false))
        .revision(at(61, 16, 44), Spline, "It is three in the morning and the third board creaks. Straight into spline, I know I should not.",
            take(Lit, Night).with(NAILED, 0.92),
            critique(at(52, 13, 30), at(52, 14, 22), "Skipping the blocking worked this once because the idea is so clear. The rhythm of the steps is lovely; one hand has not been told the body is leaving.")
                .say(note("hand-nailed", Fix, Must, &[Overlap, Acting], &[sided("hand", Right)], (76.0, 97.0), "From {78} until {94} the near paw stays hung on a nail in the wallpaper while the chest walks out from under it. Carry it along, half a beat late.").of(NAILED)
                    .mark(Mark::Ring(WristRight, 86.0)).mark(Mark::Dots(WristRight, 74.0, 98.0)).answer(WillDo, "I pinned it so it would not wobble. Too pinned.", at(51, 9, 15)))
                .say(note("glance", Keep, Should, &[Acting, Facial], &[part("eyes"), part("head")], (40.0, 72.0), "Eyes, lid, head, and only then breath: the look at the door is the best two seconds I have seen from you.")
                    .answer(Done, "Printed this and hung it up.", at(51, 9, 20)))
                .say(note("toe-first", Consider, IfTime, &[Contact], &[sided("foot", Both)], (4.0, 90.0), "Somebody who grew up in that house would test each board with the toes before trusting it. See whether one of the four steps has room for it.")))
        .waits(at(9, 22, 3), Polish, "Hand travels now. Put the toe test into the second step but I am not sure it reads.",
            take(Lit, Night).retimed(30.0, 12.0, 5.0).nudged(-0.04, 0.0, 1.04))
        .done()
}
