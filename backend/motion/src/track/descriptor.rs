//! What the surroundings of a point look like: colours on rings around it, compared under every turn.

use super::clip::Prepared;
use crate::wide::wide;

/// Samples on a ring.
const ANGLES: usize = 16;

/// Rings including the middle, which is a ring of radius 0.
pub(crate) const RINGS: usize = 6;

/// How surroundings are compared.
#[derive(Debug, Clone, PartialEq)]
pub struct LookOptions {
    /// Radii of the rings in pixels; the first is the middle itself. Default 0, 2.5, 5, 8, 12, 17.
    pub radii_px: [f32; RINGS],
    /// Weights of the rings' differences. Default 1.2, 1.2, 1.5, 1.5, 1.2, 0.8.
    pub weights: [f32; RINGS],
    /// The difference of colour (|0.7 L*| + |a*| + |b*|) that counts as wholly different. Default 30.
    pub different: f32,
    /// Surroundings whose rings differ less than this from the middle, in mean, say nothing. Default 1.
    pub plain: f32,
    /// A part is followed at a smaller size unless one of a click's rings of at most `near_px` differs so much from the middle,
    /// in mean: else following sees nothing of it. Default 6.
    pub clear: f32,
    /// See `clear`. Default 12.
    pub near_px: f32,
    /// The likeness of equal surroundings; each ring's weighted difference is taken off. Default 3.2.
    pub equal: f32,
}

impl Default for LookOptions {
    fn default() -> Self {
        Self {
            radii_px: [0.0, 2.5, 5.0, 8.0, 12.0, 17.0],
            weights: [1.2, 1.2, 1.5, 1.5, 1.2, 0.8],
            different: 30.0,
            plain: 1.0,
            clear: 6.0,
            near_px: 12.0,
            equal: 3.2,
        }
    }
}

/// Colours around a point: 16 samples a ring (the middle's all equal), channel by channel.
#[derive(Debug, Clone)]
pub(crate) struct Look {
    rings: [[[f32; ANGLES]; 3]; RINGS],
}

/// How far surroundings differ from a click's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Likeness {
    /// Mean difference of each ring under the best turn, 0 to 1.
    pub(crate) rings: [f32; RINGS],
    /// `equal` less the weighted sum of them; larger is more alike.
    pub(crate) likeness: f32,
}

impl Look {
    /// Of the point (x, y) of a frame, in pixels.
    pub(crate) fn at(frame: &Prepared, at: [f32; 2], turns: &Turns) -> Self {
        look_at(frame, at, turns)
    }

    #[inline(always)]
    fn around(frame: &Prepared, [x, y]: [f32; 2], turns: &Turns) -> Self {
        let mut rings = [[[0.0; ANGLES]; 3]; RINGS];
        let middle = frame.colour(x, y);
        for (c, channel) in rings[0].iter_mut().enumerate() {
            *channel = [middle[c]; ANGLES];
        }
        for (ring, offsets) in rings.iter_mut().zip(&turns.offsets).skip(1) {
            for (i, [dx, dy]) in offsets.iter().enumerate() {
                let colour = frame.colour(x + dx, y + dy);
                for (channel, value) in ring.iter_mut().zip(colour) {
                    channel[i] = value;
                }
            }
        }
        Self { rings }
    }

    /// Whether nothing tells the point from what is around it: every ring's mean difference to the middle is below `least`.
    pub(crate) fn is_plain(&self, least: f32) -> bool {
        self.rings.iter().all(|ring| self.off_middle(ring) < least)
    }

    /// Whether something that tells the point's place is so near that following sees it.
    pub(crate) fn stands_out(&self, options: &LookOptions) -> bool {
        let near = self.rings.iter().zip(options.radii_px);
        near.filter(|&(_, radius)| radius <= options.near_px)
            .any(|(ring, _)| self.off_middle(ring) >= options.clear)
    }

    /// A ring's mean difference to the middle.
    fn off_middle(&self, ring: &[[f32; ANGLES]; 3]) -> f32 {
        let middle = self.rings[0].map(|channel| channel[0]);
        let off = ring.iter().zip(middle);
        let sum: f32 = off
            .map(|(channel, m)| channel.iter().map(|v| (v - m).abs()).sum::<f32>())
            .sum();
        sum / ANGLES as f32
    }
}

wide! {
    fn look_at(frame: &Prepared, at: [f32; 2], turns: &Turns) -> Look = Look::around
}

/// The click's surroundings, each ring written twice so that every turn of it is a slice.
#[derive(Debug, Clone)]
pub(crate) struct Template {
    rings: [[[f32; 2 * ANGLES]; 3]; RINGS],
}

impl Template {
    pub(crate) fn new(look: &Look) -> Self {
        let twice = |ring: &[f32; ANGLES]| std::array::from_fn(|i| ring[i % ANGLES]);
        Self {
            rings: look.rings.each_ref().map(|ring| ring.each_ref().map(twice)),
        }
    }

    /// How a look differs from this under the turn that fits best.
    pub(crate) fn compare(&self, look: &Look, options: &LookOptions) -> Likeness {
        compare(self, look, options)
    }

    #[inline(always)]
    fn best_turn(&self, look: &Look, options: &LookOptions) -> Likeness {
        let mut best = ([1.0; RINGS], f32::INFINITY);
        for turn in 0..ANGLES {
            let mut rings = [0.0; RINGS];
            let mut off = 0.0;
            for (r, weight) in options.weights.iter().enumerate() {
                rings[r] = self.ring(r, turn, look, options.different);
                off += rings[r] * weight;
                if off >= best.1 {
                    break;
                }
            }
            if off < best.1 {
                best = (rings, off);
            }
        }
        Likeness {
            rings: best.0,
            likeness: options.equal - best.1,
        }
    }

    #[inline(always)]
    fn ring(&self, ring: usize, turn: usize, look: &Look, different: f32) -> f32 {
        const LANES: usize = 8;
        let [l, a, b] = &look.rings[ring];
        let [tl, ta, tb] = self.rings[ring]
            .each_ref()
            .map(|channel| turned(channel, turn));
        let mut sums = [0.0f32; LANES];
        for k in (0..ANGLES).step_by(LANES) {
            for (i, sum) in sums.iter_mut().enumerate() {
                let j = k + i;
                let off = (l[j] - tl[j]).abs() + (a[j] - ta[j]).abs() + (b[j] - tb[j]).abs();
                *sum += off.min(different);
            }
        }
        sums.iter().sum::<f32>() / (different * ANGLES as f32)
    }
}

wide! {
    fn compare(template: &Template, look: &Look, options: &LookOptions) -> Likeness = Template::best_turn
}

/// A ring begun at its sample `turn`, which is below [`ANGLES`].
#[inline(always)]
fn turned(channel: &[f32; 2 * ANGLES], turn: usize) -> &[f32; ANGLES] {
    channel[turn % ANGLES..]
        .first_chunk()
        .unwrap_or(&[0.0; ANGLES])
}

/// Where the samples of each ring lie.
#[derive(Debug, Clone)]
pub(crate) struct Turns {
    offsets: [[[f32; 2]; ANGLES]; RINGS],
}

impl Turns {
    pub(crate) fn new(options: &LookOptions) -> Self {
        Self {
            offsets: options.radii_px.map(|radius| {
                std::array::from_fn(|i| {
                    let angle = i as f32 * std::f32::consts::TAU / ANGLES as f32;
                    [radius * angle.cos(), radius * angle.sin()]
                })
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::track::clip::Clip;

    /// A picture of soft blots, turned by quarters about its middle.
    fn blots(quarters: usize) -> Prepared {
        let mut clip = Clip::new(64, 64, 64);
        let mut rgb = vec![0u8; 64 * 64 * 3];
        for y in 0..64 {
            for x in 0..64 {
                let (mut p, mut q) = (x as f32 - 31.5, y as f32 - 31.5);
                for _ in 0..quarters {
                    (p, q) = (-q, p);
                }
                let at = (y * 64 + x) * 3;
                rgb[at] = (128.0 + 100.0 * (p / 9.0).sin()) as u8;
                rgb[at + 1] = (128.0 + 100.0 * (q / 7.0 + p / 20.0).cos()) as u8;
                rgb[at + 2] = (128.0 + 60.0 * (p / 15.0 - q / 11.0).sin()) as u8;
            }
        }
        clip.push_rgb(&rgb).unwrap();
        clip.prepared(0).unwrap()
    }

    #[test]
    fn a_quarter_turn_is_four_of_sixteen() {
        let options = LookOptions::default();
        let turns = Turns::new(&options);
        let upright = Look::at(&blots(0), [31.5, 31.5], &turns);
        let turned = Look::at(&blots(1), [31.5, 31.5], &turns);
        let template = Template::new(&upright);
        let best = |look: &Look| {
            (0..ANGLES)
                .min_by(|&a, &b| {
                    let off = |t| {
                        (0..RINGS)
                            .map(|r| template.ring(r, t, look, 30.0))
                            .sum::<f32>()
                    };
                    off(a).total_cmp(&off(b))
                })
                .unwrap()
        };
        assert_eq!(best(&upright), 0);
        assert!([4, 12].contains(&best(&turned)), "{}", best(&turned));
        assert!(template.compare(&turned, &options).likeness > 2.9);
    }

    #[test]
    fn equal_surroundings_are_as_alike_as_can_be() {
        let options = LookOptions::default();
        let look = Look::at(&blots(0), [20.0, 25.0], &Turns::new(&options));
        let same = Template::new(&look).compare(&look, &options);
        assert_eq!(same.likeness, 3.2);
        assert_eq!(same.rings, [0.0; RINGS]);
    }
}
