//! Kitto's two steps, Pia's wall, Emeka's first crate, Imre's second.

use super::prelude::*;

/// Kitto: both arms swing with the same leg.
const MARCH: Fault = fault(FaultKind::InStep, WristLeft, 20.0, 60.0, 0.0);
/// Pia (mirrored): both arms ride the landing together.
const ARMS: Fault = fault(FaultKind::InStep, WristRight, 48.0, 70.0, 0.0);
/// Pia (mirrored): the near foot creeps.
const FOOT: Fault = fault(FaultKind::FootSlide, AnkleLeft, 47.0, 60.0, 180.0);
/// Pia (mirrored): the knee straightens.
const KNEE: Fault = fault(FaultKind::Snap, KneeLeft, 57.0, 58.0, 0.0);
/// Imre: the hips jump in the heave.
const HIPS: Fault = fault(FaultKind::Pop, Hip, 62.0, 62.0, 90.0);
/// Imre: the far knee locks.
const LOCK: Fault = fault(FaultKind::Snap, KneeLeft, 59.0, 60.0, 0.0);

pub fn two_steps() -> ShotPlan {
    shot_of("two-steps", "Two steps and a stop", "kitto", "timing", "stop", 1, scene(Action::Walk, Character::Barrel, Place::Roof, 0.9, 18.0, false))
        .revision(at(79, 19, 45), Spline, "More than two steps, I know. He goes to look at the weather.",
            take(Lit, Morning).numbered(1).with(MARCH, 1.0),
            critique(at(72, 14, 30), at(72, 15, 0), "Weather-looking is a good errand. The legs know it. The arms are on parade.")
                .say(note("parade-arms", Fix, Must, &[Overlap, Posing], &[sided("arm", Both)], (20.0, 60.0), "Left leg forward, both hands forward; right leg forward, both hands back. Cross them over, and then let the far hand be three drawings late for good manners.")
                    .of(MARCH).ask(Offset, 3.0).answer(WillDo, "I mirrored the wrong group.", at(71, 20, 0)))
                .say(note("belly-lead", Keep, Should, &[Weight], &[part("hips"), part("chest")], (5.0, 60.0), "He is pulled through the world by his belly and never once by his nose. Exactly who he is.")))
        .revision(at(22, 20, 0), Polish, "Crossed over, late for good manners.",
            take(Lit, Overcast).numbered(1).retimed(66.0, 8.0, 3.0),
            critique(at(15, 11, 0), at(15, 11, 20), "Parade dismissed.")
                .judge("parade-arms", Cleared).judge("belly-lead", Still)
                .say(note("stop-cost", Consider, Should, &[Weight, Timing], &[part("chest")], (60.0, 82.0), "Your stop is correct and costs him nothing. With that much of him in motion I would expect the coat buttons to arrive later than the boots.")
                    .answer(WillDo, "Adding belly drag.", at(14, 19, 40)))
                .amend(None, "I forgot to say: the frame counter in the corner comes close to his toes. A little further into the corner, please.", at(14, 8, 30)))
        .done()
}

pub fn wall() -> ShotPlan {
    shot_of("off-the-wall", "Off the wall", "pia", "weight", "drop", 1, scene(Action::Jump, Character::Barrel, Place::Lane, 0.94, 18.0, true))
        .revision(at(118, 16, 0), Spline, "He used to do this every day after school. He is sixty now.",
            take(Lit, Overcast).with(ARMS, 1.0).with(FOOT, 0.055),
            critique(at(106, 10, 0), at(106, 11, 30), "Sixty years in the crouch and twelve in the air. Then the ground, where it goes wrong in two places.")
                .say(note("sleeves", Fix, Should, &[Overlap, Timing], &[sided("arm", Both)], (48.0, 70.0), "Coming up out of the landing his sleeves keep step like recruits. At sixty one shoulder is always the bad one; let it complain late.")
                    .of(ARMS).ask(Offset, 4.0).answer(WillDo, "The left one is the bad one.", at(105, 18, 15)))
                .say(note("boot-drift", Fix, Must, &[Contact, Weight], &[sided("foot", Left)], (46.0, 61.0), "Mark the near boot with a grease pencil on {47}, then play on: by {60} your cross and his boot have parted company.")
                    .of(FOOT).mark(Mark::Ring(AnkleLeft, 52.0)).answer(WillDo, "Used tape. They parted.", at(105, 18, 19)))
                .say(note("decision", Keep, Must, &[Acting, Anticipation], &[part("head"), part("hips")], (8.0, 31.0), "From the look down to the last push there are four decisions and I can name each. Superb.")))
        .revision(at(74, 21, 30), Spline, "Boot stays with the cross. Bad shoulder complains. New: I moved the knees in a bit.",
            take(Lit, Overcast).with(KNEE, 0.85).retimed(54.0, 8.0, 3.0),
            critique(at(62, 15, 10), at(62, 15, 50), "Complaint heard, cross and boot united. Moving the knees in has cost you one.")
                .judge("sleeves", Cleared).judge("boot-drift", Cleared).judge("decision", Still)
                .say(note("knee-stick", Fix, Must, &[Posing, Spacing], &[sided("knee", Left)], (54.0, 61.0), "Near knee, {57} and its neighbour: the bend vanishes at the moment it carries most. I would rather have them where they were.")
                    .of(KNEE).mark(Mark::Ring(KneeLeft, 57.0)).answer(WillDo, "Moving them back out.", at(61, 20, 0))))
        .waits(at(2, 19, 5), Polish, "Knees back where they were. Dusk, for the years.",
            take(Lit, Dusk).retimed(54.0, 8.0, 5.0))
        .done()
}

pub fn crate_two() -> ShotPlan {
    shot_of("crate-two", "Crate, take two", "imre", "weight", "heavy", 1, scene(Action::Lift, Character::Heron, Place::Store, 1.0, 20.0, false))
        .revision(at(58, 20, 10), BlockingPlus, "Somebody this thin should not lift. He does. Ones, coloured figure.",
            take(Tinted, Studio).with(HIPS, 0.035).with(LOCK, 0.85),
            critique(at(48, 9, 0), at(48, 10, 10), "I can hear the spine. Good. Twice I also see through the trick.")
                .say(note("hip-jump", Fix, Must, &[Spacing, Weight], &[part("hips")], (59.0, 65.0), "Mid-heave, on {62}, the whole pelvis is three fingers too high for one drawing, then the weight takes it down again. Loads do not hiccup.")
                    .of(HIPS).mark(Mark::Ring(Hip, 62.0)).mark(Mark::Dots(Hip, 56.0, 68.0)).answer(WillDo, "My one-frame jumps again. I will check all parts this time.", at(47, 19, 0)))
                .say(note("far-knee", Fix, Must, &[Posing], &[sided("knee", Left)], (56.0, 63.0), "Far leg: bent, bent, straight, straight, bent. Those two middles at {59} are the solver talking, you have not drawn them.")
                    .of(LOCK).answer(WillDo, "Pole vector, yes.", at(47, 19, 2)))
                .say(note("chin", Keep, Should, &[Acting, Facial], &[part("head"), part("face")], (33.0, 50.0), "Chin up before the pull, chin down when it fails: nobody asked for that and it makes the shot.")))
        .revision(at(26, 21, 50), Spline, "All parts checked, with your dots on every one of them. Only the pelvis had it.",
            take(Lit, Morning).retimed(50.0, 8.0, 4.0),
            critique(at(19, 14, 0), at(19, 14, 30), "Checked is the right word. Clean as a whistle through the heave.")
                .judge("hip-jump", Cleared).judge("far-knee", Cleared).judge("chin", Still)
                .say(note("set-foot", Consider, Should, &[Weight, Contact], &[sided("foot", Left)], (70.0, 82.0), "When the back foot searches for floor at {74} it knows too well where the floor is. A small miss, then the find?").ask(AddFrames, 2.0)
                    .answer(WillDo, "A small miss. I like that.", at(18, 20, 0))))
        .revision(at(6, 22, 40), Polish, "Missed and found. And dusk.",
            take(Lit, Dusk).retimed(50.0, 8.0, 4.0).retimed(76.0, 6.0, 2.0).nudged(0.05, 0.0, 1.03),
            drafting(at(1, 9, 30), "")
                .judge("set-foot", Cleared)
                .say(note("strain-face", Consider, IfTime, &[Facial], &[part("mouth"), part("brows")], (54.0, 68.0), "Lips pressed white at the worst of it would read even at this size; as drawn, the mouth is already thinking about supper.")))
        .done()
}

pub fn pick_it_up() -> ShotPlan {
    shot_of("pick-it-up", "Pick it up", "emeka", "weight", "heavy", 1, scene(Action::Lift, Character::Courier, Place::Store, 0.96, 18.0, true))
        .waits(at(1, 17, 20), Blocking, "Hello! My first one. Poses on twos. She is stronger than she looks, the parcel is heavier than it looks. Be as strict as you like.",
            take(Clay, Studio).twos().numbered(1))
        .done()
}
