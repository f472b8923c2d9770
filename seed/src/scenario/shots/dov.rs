//! Dov: the wrong window, with arms that stop dead; a long throw on a sliding foot.

use super::prelude::*;

/// The near arm is flung out and stops (mirrored: the left one).
const FLUNG: Fault = fault(FaultKind::DeadStop, WristLeft, 66.0, 80.0, 0.0);
/// No shrinking before the jump up.
const FLAT: Fault = fault(FaultKind::WeakAnticipation, Hip, 55.0, 72.0, 0.0);
/// The front foot slides under the throw.
const SLIDE: Fault = fault(FaultKind::FootSlide, AnkleLeft, 37.0, 52.0, 0.0);
/// The free hand is off for a frame in the wind-up.
const FREE: Fault = fault(FaultKind::Pop, WristLeft, 32.0, 32.0, 90.0);

pub fn window() -> ShotPlan {
    shot_of("wrong-window", "Wrong window", "dov", "acting", "turn", 101, scene(Action::Take, Character::Heron, Place::Lane, 0.95, 12.0, true))
        .revision(at(172, 19, 0), Blocking, "Serenade. A light goes on, in the other house. Held poses.",
            take(Clay, Studio).poses(&[0.0, 12.0, 28.0, 44.0, 55.0, 66.0, 72.0, 84.0, 98.0]).with(FLAT, 0.85),
            critique(at(160, 15, 20), at(160, 16, 10), "I laughed at the title, then at the drawings: the face before he knows is perfect.")
                .say(note("flat-take", Fix, Must, &[Anticipation, Timing], &[part("body")], (55.0, 72.0), "A shock that goes straight up has nowhere to come from. Fold him first, chin to chest around {64}, then open.")
                    .of(FLAT).mark(Mark::Action(65.0)).answer(WillDo, "Fold, then open.", at(159, 20, 15)))
                .say(note("before-face", Keep, Should, &[Facial, Acting], &[part("face")], (0.0, 22.0), "Contentment this complete is rare; protect it from improvement.")))
        .revision(at(108, 20, 40), Spline, "Folded and opened. He opens very hard.",
            take(Lit, Night).with(FLUNG, 0.95),
            critique(at(98, 10, 50), at(98, 11, 30), "Now there is a joke. He does open hard, and then the near arm hits glass that is not there.")
                .judge("flat-take", Cleared).judge("before-face", Still)
                .say(note("arm-glass", Fix, Must, &[Spacing, Overlap], &[sided("arm", Left)], (68.0, 80.0), "Full speed on one drawing, dead on the next. Let it shoot past the pose by a palm's width and drift back while the chest settles.")
                    .of(FLUNG).ask(AddFrames, 4.0).mark(Mark::Path(WristLeft, 67.0, 74.0, 0.15)).answer(WillDo, "Past it and back.", at(97, 18, 40)))
                .say(note("lamp-key", Consider, IfTime, &[Staging], &[part("camera"), part("face")], (66.0, 110.0), "Had you thought of lighting him from the side where the wrong window is? At present the lamp behind him gets the best close-up.")
                    .answer(WillDo, "Moving the lamp.", at(97, 18, 44))))
        .revision(at(33, 21, 5), Polish, "Arm overshoots, lamp moved a bit, evening version as well because night was too dark on my phone.",
            take(Lit, Dusk).retimed(50.0, 6.0, 3.0).nudged(-0.04, 0.02, 1.04),
            critique(at(24, 14, 30), at(24, 15, 0), "That is a finished piece of comedy. Thank you for not explaining it.")
                .judge("arm-glass", Cleared).judge("lamp-key", Cleared).judge("before-face", Still)
                .say(note("settle-blink", Keep, IfTime, &[Facial, Timing], &[part("eyes")], (90.0, 108.0), "One blink, late, alone. Lovely.")))
        .done()
}

pub fn throw() -> ShotPlan {
    shot_of("long-throw", "Long throw", "dov", "timing", "throw", 1, scene(Action::Throw, Character::Heron, Place::Meadow, 1.05, 14.0, false))
        .revision(at(83, 17, 25), Spline, "As far as he can. Limbs everywhere, sorry.",
            take(Lit, Overcast).with(SLIDE, 0.055).with(FREE, 0.06),
            critique(at(75, 9, 0), at(75, 10, 0), "Limbs everywhere is right for a heron like him. Two of them are somewhere they cannot be.")
                .say(note("front-slide", Fix, Must, &[Contact, Weight], &[sided("foot", Left)], (37.0, 52.0), "The throw happens against the front foot. Yours gives way under it, half a shoe's length between {37} and {52}, and takes the power along.")
                    .of(SLIDE).mark(Mark::Ring(AnkleLeft, 45.0)).answer(WillDo, "Planting it.", at(74, 19, 0)))
                .say(note("free-hand", Fix, Should, &[Spacing], &[sided("wrist", Left)], (29.0, 35.0), "Somebody tugged the balancing hand upward on {32} and let go again. You will see it best with the picture mirrored.")
                    .of(FREE).mark(Mark::Dots(WristLeft, 27.0, 37.0)).answer(WillDo, "Saw it mirrored, wow.", at(74, 19, 5))))
        .revision(at(29, 18, 55), Spline, "Planted, untugged.",
            take(Lit, Morning).retimed(29.0, 8.0, 3.0),
            critique(at(21, 11, 0), at(21, 11, 35), "Yes to both. It throws now.")
                .judge("front-slide", Cleared).judge("free-hand", Cleared)
                .say(note("hip-lead", Keep, Should, &[Weight, Overlap], &[part("hips"), part("chest")], (30.0, 42.0), "With the ground holding, one finally sees your hips pulling the chest round and the chest pulling the arm. It had been there all along."))
                .say(note("reach-back", Consider, IfTime, &[Posing], &[sided("arm", Right)], (22.0, 32.0), "For the polish: a straighter elbow at the far end of the wind-up would lengthen the line from ball to toe.").ask(Scale, 1.2)))
        .done()
}
