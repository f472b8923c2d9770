//! Places of a frame that look like a click, found by looking at every place of the half-sized picture.
//!
//! Colours are sorted into bins; a click's table holds, for each bin, how far it differs from each sample of the click's
//! rings. Eight differences fit into a word whose rotation is the turn of the ring, so that all turns are summed at once.

use super::clip::{LIGHT_SHARE, Prepared};
use super::pyramid::Level;

const RINGS: usize = 4;
const ANGLES: usize = 8;

/// Bits of a bin's number for each channel.
const BITS: u32 = 6;

/// The largest difference in a table: eight of them stay below 256.
const MOST: f32 = 31.0;

/// Rows and columns of the rim around the binned picture.
const REACH: usize = 8;

/// How places are looked for.
#[derive(Debug, Clone, PartialEq)]
pub struct PeakOptions {
    /// Radii of the rings in pixels of the half-sized picture, at most 8. Default 1.3, 2.6, 4.2, 6.5.
    pub radii_px: [f32; RINGS],
    /// The difference of colour that counts as wholly different, and the largest the middle may have. Default 30.
    pub different: f32,
    /// The mean difference, 0 to 1, from which a place is none. Default 0.79.
    pub unlike: f32,
    /// Most places a click. Default 14.
    pub most: usize,
}

impl Default for PeakOptions {
    fn default() -> Self {
        Self {
            radii_px: [1.3, 2.6, 4.2, 6.5],
            different: 30.0,
            unlike: 0.79,
            most: 14,
        }
    }
}

/// The colours met in a clip so far, each bin numbered when it is first met.
pub(crate) struct Palette {
    numbers: Vec<u32>,
    colours: Vec<[f32; 3]>,
}

impl Palette {
    pub(crate) fn new() -> Self {
        Self {
            numbers: vec![u32::MAX; 1 << (3 * BITS)],
            colours: Vec::new(),
        }
    }

    fn number(&mut self, [l, a, b]: [f32; 3]) -> u32 {
        let most = ((1 << BITS) - 1) as f32;
        let place = |v: f32| (v + 0.5).clamp(0.0, most) as u32;
        // Lightness takes 0 to 70, colour -80 to 80.
        let bins = [
            place(l * (most / 70.0)),
            place((a + 80.0) * (most / 160.0)),
            place((b + 80.0) * (most / 160.0)),
        ];
        let index = bins.iter().fold(0, |n, &bin| n << BITS | bin as usize);
        if self.numbers[index] == u32::MAX {
            self.numbers[index] = self.colours.len() as u32;
            let [l, a, b] = bins.map(|bin| bin as f32 / most);
            self.colours
                .push([l * 70.0, a * 160.0 - 80.0, b * 160.0 - 80.0]);
        }
        self.numbers[index]
    }
}

/// A half-sized frame as numbers of the palette, with a rim.
pub(crate) struct Binned {
    width: usize,
    height: usize,
    stride: usize,
    numbers: Vec<u32>,
}

impl Binned {
    pub(crate) fn new(frame: &Prepared, palette: &mut Palette) -> Self {
        let (width, height) = (frame.red.width, frame.red.height);
        let stride = width + 2 * REACH;
        let mut numbers = vec![0; stride * (height + 2 * REACH)];
        for y in 0..height {
            let row = &mut numbers[(y + REACH) * stride + REACH..][..width];
            for (x, number) in row.iter_mut().enumerate() {
                *number = palette.number(half_colour(frame, x, y));
            }
        }
        let mut binned = Self {
            width,
            height,
            stride,
            numbers,
        };
        binned.fill_rim();
        binned
    }

    /// The rim repeats the edge.
    fn fill_rim(&mut self) {
        let stride = self.stride;
        for y in REACH..REACH + self.height {
            let row = &mut self.numbers[y * stride..(y + 1) * stride];
            let (first, last) = (row[REACH], row[REACH + self.width - 1]);
            row[..REACH].fill(first);
            row[REACH + self.width..].fill(last);
        }
        for i in 0..REACH {
            let (top, bottom) = (REACH * stride, (REACH + self.height - 1) * stride);
            self.numbers.copy_within(top..top + stride, i * stride);
            let below = (REACH + self.height + i) * stride;
            self.numbers.copy_within(bottom..bottom + stride, below);
        }
    }
}

/// The colour of a pixel of the half-sized picture: the mean lightness of the four it covers.
fn half_colour(frame: &Prepared, x: usize, y: usize) -> [f32; 3] {
    let at = |level: &Level, x: usize, y: usize| level.data[level.index(x as isize, y as isize)];
    let soft = &frame.soft;
    let top = soft.index(2 * x as isize, 2 * y as isize);
    let bottom = top + soft.stride;
    let sum = soft.data[top] + soft.data[top + 1] + soft.data[bottom] + soft.data[bottom + 1];
    [
        0.25 * LIGHT_SHARE * sum,
        at(&frame.red, x, y),
        at(&frame.yellow, x, y),
    ]
}

/// What the surroundings of a click look like at half size, and how each colour of the palette differs from them.
pub(crate) struct Sought {
    middle: [f32; 3],
    samples: [[[f32; 3]; ANGLES]; RINGS],
    offsets: [[[isize; 2]; ANGLES]; RINGS],
    /// A row a colour: one word a ring, one byte a sample.
    rows: Vec<[u64; RINGS]>,
    middles: Vec<bool>,
}

impl Sought {
    /// Of the place (x, y), in pixels of the whole picture.
    pub(crate) fn new(frame: &Prepared, [x, y]: [f32; 2], options: &PeakOptions) -> Self {
        let reach = (REACH - 1) as f32;
        let offsets = options.radii_px.map(|radius| {
            std::array::from_fn(|i| {
                let angle = i as f32 * std::f32::consts::TAU / ANGLES as f32;
                let radius = radius.clamp(0.0, reach);
                [radius * angle.cos(), radius * angle.sin()].map(|v| v.round() as isize)
            })
        });
        let colour = |dx: isize, dy: isize| frame.colour(x + 2.0 * dx as f32, y + 2.0 * dy as f32);
        Self {
            middle: colour(0, 0),
            samples: offsets.map(|ring: [[isize; 2]; ANGLES]| ring.map(|[dx, dy]| colour(dx, dy))),
            offsets,
            rows: Vec::new(),
            middles: Vec::new(),
        }
    }

    fn learn(&mut self, palette: &Palette, different: f32) {
        let apart = |a: &[f32; 3], b: &[f32; 3]| -> f32 {
            a.iter().zip(b).map(|(a, b)| (a - b).abs()).sum()
        };
        for colour in &palette.colours[self.rows.len()..] {
            self.middles.push(apart(colour, &self.middle) < different);
            self.rows.push(self.samples.map(|ring| {
                u64::from_le_bytes(ring.map(|sample| {
                    ((apart(colour, &sample) / different).min(1.0) * MOST).round() as u8
                }))
            }));
        }
    }

    /// The places most like the click, best first: x and y in pixels of the whole picture.
    pub(crate) fn peaks(
        &mut self,
        frame: &Binned,
        palette: &Palette,
        options: &PeakOptions,
    ) -> Vec<[f32; 2]> {
        self.learn(palette, options.different);
        let scale = MOST * (RINGS * ANGLES) as f32;
        let limit = (options.unlike * scale).clamp(0.0, scale) as u16;
        let map = self.differences(frame, limit);
        let mut found = minima(&map, frame.width, frame.height);
        found.sort_by_key(|&(value, at)| (value, at));
        found.truncate(options.most);
        found
            .iter()
            .map(|&(_, at)| [at % frame.width, at / frame.width].map(|v| 2.0 * v as f32 + 0.5))
            .collect()
    }

    /// The difference at each place under the turn that fits best; `u16::MAX` where it is `limit` or more.
    fn differences(&self, frame: &Binned, limit: u16) -> Vec<u16> {
        let steps = self.offsets.map(|ring| {
            ring.map(|[dx, dy]| {
                (dy + REACH as isize) as usize * frame.stride + (dx + REACH as isize) as usize
            })
        });
        let mut map = vec![u16::MAX; frame.width * frame.height];
        for y in 0..frame.height {
            for x in 0..frame.width {
                let corner = y * frame.stride + x;
                let middle = frame.numbers[corner + REACH * frame.stride + REACH];
                if self.middles[middle as usize] {
                    let value = self.difference(&frame.numbers[corner..], &steps, limit);
                    if value < limit {
                        map[y * frame.width + x] = value;
                    }
                }
            }
        }
        map
    }

    #[inline]
    fn difference(&self, numbers: &[u32], steps: &[[usize; ANGLES]; RINGS], limit: u16) -> u16 {
        const LOW: u64 = 0x00ff_00ff_00ff_00ff;
        let (mut even, mut odd) = (0u64, 0u64);
        for (ring, steps) in steps.iter().enumerate() {
            let mut sum = 0u64;
            for (angle, &step) in steps.iter().enumerate() {
                let row = &self.rows[numbers[step] as usize];
                sum = sum.wrapping_add(row[ring].rotate_right(8 * angle as u32));
            }
            even = even.wrapping_add(sum & LOW);
            odd = odd.wrapping_add((sum >> 8) & LOW);
            if least(even, odd) >= limit {
                return limit;
            }
        }
        least(even, odd)
    }
}

/// The least of the eight 16-bit numbers in two words.
fn least(even: u64, odd: u64) -> u16 {
    [even, odd]
        .iter()
        .flat_map(|word| [0, 16, 32, 48].map(|shift| (word >> shift) as u16))
        .fold(u16::MAX, u16::min)
}

/// Values that none of the 5 x 5 around them undercuts, with their indices; of equals the first counts.
fn minima(map: &[u16], width: usize, height: usize) -> Vec<(u16, usize)> {
    let mut found = Vec::new();
    for y in 0..height {
        for x in 0..width {
            let (at, value) = (y * width + x, map[y * width + x]);
            if value == u16::MAX {
                continue;
            }
            let beaten = (y.saturating_sub(2)..(y + 3).min(height)).any(|v| {
                (x.saturating_sub(2)..(x + 3).min(width)).any(|u| {
                    let other = v * width + u;
                    map[other] < value || (map[other] == value && other < at)
                })
            });
            if !beaten {
                found.push((value, at));
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::track::clip::Clip;

    #[test]
    fn the_clicked_place_is_the_best() {
        let mut clip = Clip::new(160, 96, 160);
        let mut rgb = vec![90u8; 160 * 96 * 3];
        for (i, pixel) in rgb.chunks_exact_mut(3).enumerate() {
            let (x, y) = ((i % 160) as f32, (i / 160) as f32);
            pixel[0] = (128.0 + 80.0 * (x / 7.0).sin() * (y / 9.0).cos()) as u8;
            pixel[1] = (128.0 + 60.0 * (x / 31.0 + y / 5.0).sin()) as u8;
        }
        assert!(clip.push_rgb(&rgb));
        let frame = clip.prepared(0);
        let mut palette = Palette::new();
        let binned = Binned::new(&frame, &mut palette);
        let options = PeakOptions::default();
        let mut sought = Sought::new(&frame, [72.5, 40.5], &options);
        let peaks = sought.peaks(&binned, &palette, &options);
        assert_eq!(peaks[0], [72.5, 40.5], "{peaks:?}");
        assert!(peaks.len() <= 14);
    }

    #[test]
    fn of_equals_the_first_is_the_minimum() {
        let map = [5, 5, 9, 9, 9, 9, 3, 9];
        assert_eq!(minima(&map, 8, 1), [(5, 0), (3, 6)]);
    }
}
