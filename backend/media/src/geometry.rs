//! Sizes: from stored pixels to what is shown, and from there into a bound.

use serde::{Deserialize, Serialize};

/// A size in square pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Size {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
}

impl Size {
    pub(crate) const fn new(width: u32, height: u32) -> Self {
        Self { width, height }
    }
}

/// The size a player shows: stored size stretched sideways by the sample aspect, sides swapped by a quarter turn.
/// An aspect of nothing (0:1) means square, as ffprobe reports it for unknown.
pub(crate) fn shown(stored: Size, aspect: (u32, u32), rotation_deg: i32) -> Size {
    let (num, den) = if aspect.0 == 0 || aspect.1 == 0 {
        (1, 1)
    } else {
        aspect
    };
    let width = (u64::from(stored.width) * u64::from(num) + u64::from(den) / 2) / u64::from(den);
    let width = u32::try_from(width).unwrap_or(u32::MAX).max(1);
    if rotation_deg.rem_euclid(180) == 90 {
        Size::new(stored.height, width)
    } else {
        Size::new(width, stored.height)
    }
}

/// The largest even size of the same shape whose longer side is at most `long` and whose shorter is at most `short`;
/// never larger than `from` but for rounding up to an even number.
pub(crate) fn fit(from: Size, long: u32, short: u32) -> Size {
    let (width, height) = (f64::from(from.width), f64::from(from.height));
    let scale = (f64::from(long) / width.max(height))
        .min(f64::from(short) / width.min(height))
        .min(1.0);
    let even = |side: f64| ((side * scale / 2.0).round() as u32 * 2).max(2);
    Size::new(even(width), even(height))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn quarter_turns_and_sample_aspect_change_what_is_shown() {
        assert_eq!(shown(Size::new(720, 576), (16, 15), 0), Size::new(768, 576));
        assert_eq!(shown(Size::new(320, 180), (1, 1), -90), Size::new(180, 320));
        assert_eq!(shown(Size::new(320, 180), (0, 1), 180), Size::new(320, 180));
    }

    #[test]
    fn common_sizes_meet_the_bound_exactly() {
        assert_eq!(fit(Size::new(1920, 1080), 1280, 720), Size::new(1280, 720));
        assert_eq!(fit(Size::new(1080, 1920), 1280, 720), Size::new(720, 1280));
        assert_eq!(fit(Size::new(640, 360), 1280, 720), Size::new(640, 360));
        assert_eq!(fit(Size::new(2048, 858), 1280, 720), Size::new(1280, 536));
    }

    proptest! {
        #[test]
        fn every_size_fits_is_even_and_keeps_its_shape(width in 1u32..9_000, height in 1u32..9_000) {
            let got = fit(Size::new(width, height), 1_280, 720);
            prop_assert!((got.width | got.height) & 1 == 0 && got.width > 0 && got.height > 0);
            prop_assert!(got.width.max(got.height) <= 1_280 && got.width.min(got.height) <= 720);
            prop_assert!(got.width <= width + 1 && got.height <= height + 1);
            // Rounding moves each side by at most one pixel, or the floor of two pixels does.
            if got.width > 2 && got.height > 2 {
                let off = f64::from(got.width) * f64::from(height) - f64::from(got.height) * f64::from(width);
                prop_assert!(off.abs() <= f64::from(width + height) * 1.000_1);
            }
        }
    }
}
