//! Whether a clip's camera moves, and a resting view of it if so.

use super::register::{Search, agreement, register};
use crate::plane::Plane;
use crate::progress::{Step, Stopped};
use crate::reel::Reel;
use crate::similarity::Similarity;
use crate::view::{HALF, View};

/// A residual of local contrast below this agrees.
const AGREES: f32 = 0.15;
/// By how much the share that agrees must rise for a frame to speak for a moving camera.
const RISE: f32 = 0.1;
/// Pixels (of the half-size picture) the camera must have moved.
const SHIFT: f32 = 0.8;
/// Frames asked, and how many must speak for it.
const WITNESSES: usize = 2;

const FOLLOW: Search = Search {
    levels: &[2, 1],
    steps: 8,
    outlier: 1.5,
    outlier_floor: 0.05,
    still: 5e-5,
};

fn contrast(reel: &Reel, i: usize) -> Plane {
    reel.half_light(i).local_contrast(5.0, 10.0)
}

/// The clip from a resting camera: as it is, unless at least two of four frames show that the camera moved. Anything less
/// would follow the character.
pub(crate) fn steadied<'a>(reel: &'a Reel, each: &mut Step<'_>) -> Result<View<'a>, Stopped> {
    let n = reel.len();
    if n < 8 {
        return Ok(View::resting(reel));
    }
    let middle = contrast(reel, n / 2);
    let speak = [0, n / 4, 3 * n / 4, n - 1]
        .iter()
        .filter(|&&i| moved(&middle, &contrast(reel, i)))
        .count();
    if speak < WITNESSES {
        return Ok(View::resting(reel));
    }
    followed(reel, each)
}

/// The clip from a resting camera, every frame laid on the middle one, whether or not the camera seems to move.
pub(crate) fn followed<'a>(reel: &'a Reel, each: &mut Step<'_>) -> Result<View<'a>, Stopped> {
    let n = reel.len();
    let middle = contrast(reel, n / 2);
    let mut maps = vec![Similarity::IDENTITY; n];
    for forth in [true, false] {
        let mut p = Similarity::IDENTITY;
        let mut i = n / 2;
        while let Some(next) = if forth {
            Some(i + 1).filter(|&k| k < n)
        } else {
            i.checked_sub(1)
        } {
            i = next;
            p = register(&[(&middle, &contrast(reel, i))], p, &FOLLOW);
            maps[i] = p;
            each()?;
        }
    }
    Ok(View::steadied(reel, maps))
}

fn moved(middle: &Plane, frame: &Plane) -> bool {
    let rest = Similarity::IDENTITY;
    let p = register(&[(middle, frame)], rest, &Search::default());
    let rise = agreement(middle, frame, &p, AGREES) - agreement(middle, frame, &rest, AGREES);
    rise >= RISE && p.distance(&rest) * HALF.0 as f32 > SHIFT
}
