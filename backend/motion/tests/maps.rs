//! What every frame map must do, on drawn clips: a figure of a disc and a swinging arm before a patterned wall.
#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot go on should stop where it stands"
)]

use std::ops::ControlFlow;
use std::sync::LazyLock;

use motion::align::{AlignError, AlignOptions, Alignment, Anchor, align};
use motion::frame_map::FrameMap;
use motion::frame_map::coarse::BandOptions;
use motion::reel::{HEIGHT, PICTURE_BYTES, Reel, WIDTH};
use proptest::prelude::*;

/// Action time of each of 72 frames of the first version.
fn action() -> Vec<f32> {
    (0..72).map(|i| i as f32).collect()
}

fn level(x: f32, y: f32, t: f32) -> f32 {
    let wall = 118.0 + 22.0 * ((x / 17.0).floor() + (y / 13.0).floor() * 1.7).sin();
    let (cx, cy) = (60.0 + 1.7 * t, 84.0 - 22.0 * (t * 0.11).sin().abs());
    let angle = 1.1 * (t * 0.13).sin() + 0.02 * t;
    let (dx, dy) = (x - cx, y - cy);
    let (along, across) = (
        dx * angle.cos() + dy * angle.sin(),
        -dx * angle.sin() + dy * angle.cos(),
    );
    if dx.hypot(dy) < 17.0 {
        215.0
    } else if (0.0..44.0).contains(&along) && across.abs() < 5.5 {
        40.0
    } else {
        wall
    }
}

fn picture(t: f32, light: f32) -> Vec<u8> {
    let mut out = vec![128u8; PICTURE_BYTES];
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            out[y * WIDTH + x] = (level(x as f32, y as f32, t) * light).clamp(0.0, 255.0) as u8;
        }
    }
    out
}

fn reel(times: &[f32], light: f32) -> Reel {
    let mut reel = Reel::for_frames(times.len());
    for &t in times {
        reel.push(&picture(t, light)).unwrap();
    }
    reel
}

fn flat(frames: usize, level: u8) -> Reel {
    let mut reel = Reel::for_frames(frames);
    for _ in 0..frames {
        reel.push(&vec![level; PICTURE_BYTES]).unwrap();
    }
    reel
}

fn aligned(old: &Reel, new: &Reel) -> Alignment {
    let go_on = &mut |_| ControlFlow::Continue(());
    align(old, new, &AlignOptions::default(), go_on).unwrap()
}

static FIRST: LazyLock<Reel> = LazyLock::new(|| reel(&action(), 1.0));

/// Every frame has a place within `off` of `truth`, of at least `sure` confidence.
fn assert_places(map: &FrameMap, truth: impl Fn(usize) -> f32, off: f32, sure: f32) {
    for (i, place) in map.places.iter().enumerate() {
        let old = place
            .old
            .unwrap_or_else(|| panic!("frame {i} has no place"));
        assert!(
            (old - truth(i)).abs() <= off,
            "frame {i}: {old}, not {}",
            truth(i)
        );
        assert!(
            place.confidence >= sure,
            "frame {i}: sure by {}",
            place.confidence
        );
    }
}

#[test]
fn a_clip_on_itself_is_the_identity_and_unchanged() {
    let done = aligned(&FIRST, &FIRST);
    assert_places(&done.map, |i| i as f32, 0.5, 0.95);
    assert!(done.changes.iter().all(|c| c.value < 0.5));
    assert!(!done.nothing_in_common && done.unlike < 0.1);
}

#[test]
fn both_ways_agree() {
    let times: Vec<f32> = (0..60).map(|i| 4.0 + 1.13 * i as f32).collect();
    let second = reel(&times, 0.8);
    let (forth, back) = (aligned(&FIRST, &second), aligned(&second, &FIRST));
    assert_places(&forth.map, |i| times[i], 1.0, 0.8);
    for (i, place) in forth.map.places.iter().enumerate() {
        let j = place.old.unwrap().round() as usize;
        if let Some(returned) = back.map.places[j].old {
            assert!(
                (returned - i as f32).abs() <= 2.0,
                "{i} -> {j} -> {returned}"
            );
        }
    }
}

/// A frame of the figure seen by a camera moved by `shift`, with film grain of so many levels at most.
fn shaken(t: f32, shift: (f32, f32), grain: f32, seed: u32) -> Vec<u8> {
    let mut out = vec![128u8; PICTURE_BYTES];
    let mut state = seed.wrapping_mul(2_654_435_761).max(1);
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            // Marsaglia's xorshift (2003).
            state ^= state << 13;
            state ^= state >> 17;
            state ^= state << 5;
            let noise = (state >> 16) as f32 / 32768.0 - 1.0;
            let light = level(x as f32 + shift.0, y as f32 + shift.1, t);
            out[y * WIDTH + x] = (light + grain * noise).clamp(0.0, 255.0) as u8;
        }
    }
    out
}

#[test]
fn a_camera_that_shakes_a_little_is_followed_through_coarse_grain() {
    let mut new = Reel::for_frames(60);
    for i in 0..60u32 {
        let turn = i as f32;
        let shift = (1.6 * (turn * 1.9).sin(), 1.6 * (turn * 2.3).cos());
        new.push(&shaken(5.0 + turn, shift, 40.0, i + 1)).unwrap();
    }
    let done = aligned(&FIRST, &new);
    assert_places(&done.map, |i| 5.0 + i as f32, 1.5, 0.5);
    // Taken for a resting one, it leaves the two clips unlike by 0.77: nearly strangers.
    assert!(done.unlike < 0.65, "{}", done.unlike);
}

#[test]
fn what_lies_between_two_old_frames_is_no_change() {
    // At three times the speed the arm moves by more than its width from frame to frame.
    let times = |from: f32| (0..60).map(|i| from + 3.0 * i as f32).collect::<Vec<f32>>();
    let (old, new) = (reel(&times(0.0), 1.0), reel(&times(1.3), 1.0));
    let done = aligned(&old, &new);
    let told = done.changes.iter().filter(|c| c.value >= 0.5).count();
    assert_eq!(told, 0, "{told} of 60 frames are said to have changed");
}

#[test]
fn maps_chain() {
    let second: Vec<f32> = (0..64).map(|i| 1.12 * i as f32).collect();
    let third: Vec<f32> = (0..56).map(|i| 3.0 + 1.2 * i as f32).collect();
    let (b, c) = (reel(&second, 1.0), reel(&third, 1.0));
    let options = motion::carry::ComposeOptions::default();
    let chained = motion::carry::compose(&aligned(&FIRST, &b).map, &aligned(&b, &c).map, &options);
    assert_places(&chained, |i| third[i], 1.0, 0.6);
}

#[test]
fn a_stretch_that_is_not_in_the_old_clip_has_no_place() {
    let mut frames: Vec<Vec<u8>> = action()[..30].iter().map(|&t| picture(t, 1.0)).collect();
    // The figure runs elsewhere, mirrored and upside down.
    for k in 0..20 {
        let mut other = picture(150.0 + 2.0 * k as f32, 1.0);
        let still = picture(400.0, 1.0);
        for (i, o) in other[..WIDTH * HEIGHT].iter_mut().enumerate() {
            let (x, y) = (i % WIDTH, i / WIDTH);
            let level = level(
                (WIDTH - 1 - x) as f32 + 160.0,
                (HEIGHT - 1 - y) as f32,
                150.0 + 2.0 * k as f32,
            );
            *o = if (level - 215.0).abs() < 1.0 || level == 40.0 {
                level as u8
            } else {
                still[i]
            };
        }
        frames.push(other);
    }
    frames.extend(action()[30..].iter().map(|&t| picture(t, 1.0)));
    let mut new = Reel::for_frames(frames.len());
    for frame in &frames {
        new.push(frame).unwrap();
    }
    let done = aligned(&FIRST, &new);
    assert!(
        (34..46).all(|i| done.map.places[i].old.is_none()),
        "{:?}",
        done.map.places
    );
    assert_eq!(done.map.places[20].old.map(f32::round), Some(20.0));
    assert_eq!(done.map.places[80].old.map(f32::round), Some(60.0));
}

#[test]
fn the_path_passes_where_a_person_ties_it() {
    let options = AlignOptions {
        anchors: vec![Anchor { new: 20, old: 26 }, Anchor { new: 50, old: 50 }],
        ..AlignOptions::default()
    };
    let go_on = &mut |_| ControlFlow::Continue(());
    let done = align(&FIRST, &FIRST, &options, go_on).unwrap();
    let at = |i: usize| done.map.places[i].old.unwrap();
    assert!((at(20) - 26.0).abs() < 0.5 && (at(50) - 50.0).abs() < 0.5);
    assert!(done.map.places[20].confidence > 0.99);
    let crossed = AlignOptions {
        anchors: vec![Anchor { new: 20, old: 26 }, Anchor { new: 30, old: 10 }],
        ..AlignOptions::default()
    };
    assert_eq!(
        align(&FIRST, &FIRST, &crossed, go_on).unwrap_err(),
        AlignError::Anchor { new: 30, old: 10 }
    );
}

#[test]
fn a_band_finds_what_the_whole_table_finds() {
    let times: Vec<f32> = (0..64).map(|i| 2.0 + 1.05 * i as f32).collect();
    let new = reel(&times, 1.0);
    let narrow = AlignOptions {
        band: BandOptions {
            whole_cells: 100,
            coarse_frames: 24,
            margin: 6,
            ..BandOptions::default()
        },
        ..AlignOptions::default()
    };
    let go_on = &mut |_| ControlFlow::Continue(());
    let (whole, banded) = (
        aligned(&FIRST, &new),
        align(&FIRST, &new, &narrow, go_on).unwrap(),
    );
    for (a, b) in whole.map.places.iter().zip(&banded.map.places) {
        assert!((a.old.unwrap() - b.old.unwrap()).abs() < 0.3, "{a:?} {b:?}");
    }
}

#[test]
fn poor_clips_give_a_bounded_answer() {
    let clips = [
        flat(30, 128),
        flat(30, 0),
        flat(2, 90),
        flat(1, 255),
        reel(&action()[..2], 1.0),
    ];
    for old in &clips {
        for new in &clips {
            let done = aligned(old, new);
            assert_eq!(
                (done.map.places.len(), done.changes.len()),
                (new.len(), new.len())
            );
            for (place, change) in done.map.places.iter().zip(&done.changes) {
                assert!(
                    (0.0..=1.0).contains(&place.confidence) && (0.0..=1.0).contains(&change.value)
                );
                assert!(
                    place
                        .old
                        .is_none_or(|f| f >= 0.0 && f <= (old.len() - 1) as f32)
                );
                assert!(change.cells.iter().all(|c| (0.0..=1.0).contains(c)));
            }
        }
    }
    let empty = Reel::for_frames(0);
    let go_on = &mut |_| ControlFlow::Continue(());
    let refused = align(&empty, &clips[0], &AlignOptions::default(), go_on);
    assert_eq!(refused.unwrap_err(), AlignError::Empty("old"));
}

#[test]
fn a_hundred_thousand_frames_of_one_colour_are_kept_once_and_refused() {
    let long = flat(100_000, 77);
    let go_on = &mut |_| ControlFlow::Continue(());
    let refused = align(&long, &FIRST, &AlignOptions::default(), go_on).unwrap_err();
    assert!(
        matches!(
            refused,
            AlignError::TooLong {
                frames: 100_000,
                ..
            }
        ),
        "{refused}"
    );
}

#[test]
fn a_picture_of_another_size_is_refused() {
    assert_eq!(Reel::for_frames(1).push(&[0; 12]).unwrap_err().got, 12);
}

#[test]
fn work_can_be_stopped_and_progress_rises() {
    let mut seen = vec![];
    let stopped = align(&FIRST, &FIRST, &AlignOptions::default(), &mut |share| {
        seen.push(share);
        if share > 0.3 {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    });
    assert!(matches!(stopped, Err(AlignError::Stopped(_))));
    assert!(
        seen.windows(2).all(|w| w[0] <= w[1]) && seen.len() > 20,
        "{seen:?}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4))]

    #[test]
    fn a_shifted_clip_tells_its_shift(shift in 1usize..24, light in 0.6f32..1.1) {
        let new = reel(&action()[shift..], light);
        let done = aligned(&FIRST, &new);
        assert_places(&done.map, |i| (i + shift) as f32, 1.0, 0.8);
    }
}
