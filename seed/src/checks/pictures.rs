//! The pictures themselves: the same bytes every time, another picture when something moves, nothing in a wrong buffer.

use std::hash::{DefaultHasher, Hash, Hasher};

use super::school;
use crate::clip::{Clip, Look, NoRevision, Play, Take};
use crate::motion::actions::Action;
use crate::motion::perform::Stepping;
use crate::motion::skeleton::Joint;
use crate::plan::{Scenario, ShotPlan};
use crate::render::light::Mood;

fn frame(clip: &Clip, f: usize) -> Vec<u8> {
    let mut out = vec![0; clip.width() * clip.height() * 3];
    clip.draw(f, &mut out);
    out
}

fn hash(bytes: &[u8]) -> u64 {
    let mut h = DefaultHasher::new();
    bytes.hash(&mut h);
    h.finish()
}

fn shot(key: &str) -> &'static ShotPlan {
    school().shots.iter().find(|s| s.key == key).expect("shot")
}

/// Pixels that differ.
fn changed(a: &[u8], b: &[u8]) -> usize {
    a.chunks(3).zip(b.chunks(3)).filter(|(p, q)| p != q).count()
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    for key in ["lantern-jump", "chalk"] {
        let plan = Scenario::full();
        let again = plan.shots.iter().find(|s| s.key == key).expect("shot");
        let (a, b) = (
            Clip::new(shot(key), 1).expect("clip"),
            Clip::new(again, 1).expect("clip"),
        );
        assert_eq!(a.frames(), b.frames());
        for f in [0, 41, 42, a.frames() - 1] {
            let first = hash(&frame(&a, f));
            assert_eq!(first, hash(&frame(&b, f)), "{key} {f}");
            assert_eq!(
                first,
                hash(&frame(&a, f)),
                "{key} {f}: drawing leaves nothing behind"
            );
        }
    }
}

#[test]
fn neighbouring_frames_differ_while_it_moves() {
    let clip = Clip::new(shot("lantern-jump"), 2).expect("clip");
    for f in 24..60 {
        let n = changed(&frame(&clip, f), &frame(&clip, f + 1));
        assert!(n > 300, "{f}: {n} pixels");
    }
}

#[test]
fn held_drawings_are_held_to_the_byte() {
    let r = shot("heavier");
    assert_eq!(r.revisions[0].take.stepping, Stepping::Twos);
    let clip = Clip::new(r, 0).expect("clip");
    assert_eq!(frame(&clip, 50), frame(&clip, 51));
    assert!(changed(&frame(&clip, 51), &frame(&clip, 52)) > 100);
}

#[test]
fn relit_and_renudged_is_another_picture_of_the_same_motion() {
    let s = shot("lantern-jump");
    let take = &s.revisions[3].take;
    let night = Take {
        mood: Mood::Night,
        ..take.clone()
    };
    let clay = Take {
        finish: Look::Clay,
        ..take.clone()
    };
    let [a, b, c] = [take, &night, &clay].map(|t| Clip::render(&s.scene, t));
    assert!(changed(&frame(&a, 30), &frame(&b, 30)) > a.width() * a.height() / 2);
    assert!(changed(&frame(&a, 30), &frame(&c, 30)) > a.width() * a.height() / 2);
    assert_eq!(a.joints(30), b.joints(30));
}

#[test]
fn the_figure_stays_in_the_picture() {
    for s in &school().shots {
        for r in &s.revisions {
            let play = Play::new(&s.scene, &r.take);
            assert_eq!(play.frames(), r.frames);
            for f in 0..play.frames() {
                let comes_in = s.scene.action == Action::Walk && f < 16;
                for j in [Joint::Head, Joint::Hip] {
                    let [x, y] = play.joint(f, j);
                    let inside = (2.0..638.0).contains(&x) || comes_in;
                    assert!(
                        inside && (8.0..352.0).contains(&y),
                        "{} r{} {f}: {x} {y}",
                        s.key,
                        r.number
                    );
                }
            }
        }
    }
}

#[test]
fn a_wrong_buffer_is_left_alone_and_an_empty_shot_refused() {
    let s = shot("pick-it-up");
    let clip = Clip::new(s, 0).expect("clip");
    let mut small = vec![7; 12];
    clip.draw(0, &mut small);
    assert!(small.iter().all(|&b| b == 7));
    let empty = ShotPlan {
        revisions: Vec::new(),
        ..s.clone()
    };
    assert_eq!(Clip::new(&empty, 0).err(), Some(NoRevision("pick-it-up")));
}
