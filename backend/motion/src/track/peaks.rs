//! Places of a frame that look like a click, found by looking at every place of the half-sized picture.
//!
//! Colours are sorted into bins; a click's table holds, for each bin, how far it differs from each sample of the click's
//! rings. Eight differences fit into a word whose rotation is the turn of the ring, so that all turns are summed at once.

use super::clip::{LIGHT_SHARE, Prepared};
use super::pyramid::Level;
use crate::wide::{nearest, wide};

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

    fn number(&mut self, bin: u32) -> u32 {
        let number = &mut self.numbers[bin as usize];
        if *number == u32::MAX {
            *number = self.colours.len() as u32;
            let [l, a, b] =
                [2, 1, 0].map(|c| (bin >> (c * BITS) & MOST_BIN) as f32 / MOST_BIN as f32);
            self.colours.push([
                l * LIGHT,
                2.0 * a * COLOUR - COLOUR,
                2.0 * b * COLOUR - COLOUR,
            ]);
        }
        *number
    }
}

/// The largest bin of a channel.
const MOST_BIN: u32 = (1 << BITS) - 1;

/// Lightness takes 0 to this in its bins, a colour as much below 0 as above.
const LIGHT: f32 = 70.0;
const COLOUR: f32 = 80.0;

wide! {
    /// The bins of a row of the half-sized picture, from two rows of lightness at full size and one of each colour.
    fn bins_of(light: [&[f32]; 2], colours: [&[f32]; 2], bins: &mut [u32]) = bins_of_row
}

#[inline(always)]
fn bins_of_row(light: [&[f32]; 2], colours: [&[f32]; 2], bins: &mut [u32]) {
    let n = bins.len();
    let [above, below] = light.map(|row| &row.as_chunks::<2>().0[..n]);
    let (red, yellow) = (&colours[0][..n], &colours[1][..n]);
    let most = MOST_BIN as f32;
    let place = |v: f32| nearest(v.max(0.0).min(most));
    for (i, bin) in bins.iter_mut().enumerate() {
        // The mean lightness of the four pixels it covers.
        let four = above[i][0] + above[i][1] + below[i][0] + below[i][1];
        let l = place(0.25 * LIGHT_SHARE * four * (most / LIGHT));
        let a = place((red[i] + COLOUR) * (most / (2.0 * COLOUR)));
        let b = place((yellow[i] + COLOUR) * (most / (2.0 * COLOUR)));
        *bin = l << (2 * BITS) | a << BITS | b;
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
        let mut bins = vec![0; width];
        for y in 0..height {
            let row = |level: &Level, y: usize| level.index(0, y as isize);
            let soft = &frame.soft;
            let light = [2 * y, 2 * y + 1].map(|y| &soft.data[row(soft, y)..][..2 * width]);
            let colours = [&frame.red, &frame.yellow].map(|c| &c.data[row(c, y)..][..width]);
            bins_of(light, colours, &mut bins);
            let row = &mut numbers[(y + REACH) * stride + REACH..][..width];
            for (number, &bin) in row.iter_mut().zip(&bins) {
                *number = palette.number(bin);
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

    /// The places most like the click, best first: x and y in pixels of the whole picture. None is closer than 6 pixels to
    /// another across or down.
    pub(crate) fn peaks(
        &mut self,
        frame: &Binned,
        palette: &Palette,
        options: &PeakOptions,
    ) -> Vec<[f32; 2]> {
        self.learn(palette, options.different);
        let scale = MOST * (RINGS * ANGLES) as f32;
        let places = Places {
            sought: self,
            frame,
            steps: self.offsets.map(|ring| {
                ring.map(|[dx, dy]| {
                    (dy + REACH as isize) as usize * frame.stride + (dx + REACH as isize) as usize
                })
            }),
            limit: (options.unlike * scale).clamp(0.0, scale) as u16,
        };
        let mut found = places.coarse();
        found.sort_unstable();
        found.truncate(TRIED * options.most);
        let found = places.fine(&found);
        let found = found.iter().take(options.most);
        found
            .map(|&(_, [x, y])| [x, y].map(|v| 2.0 * v as f32 + 0.5))
            .collect()
    }
}

/// A place of the half-sized picture and how far it differs from the click.
type Peak = (u16, [usize; 2]);

/// Places that are looked at more closely, for each that may be kept.
const TRIED: usize = 2;

/// The places of one frame, looked at for one click.
struct Places<'a> {
    sought: &'a Sought,
    frame: &'a Binned,
    /// From the corner of a place's surroundings to its samples, in numbers of the frame.
    steps: [[usize; ANGLES]; RINGS],
    limit: u16,
}

impl Places<'_> {
    /// Every second place of every second row that none of its eight neighbours among these undercuts.
    fn coarse(&self) -> Vec<Peak> {
        let (width, height) = (self.frame.width.div_ceil(2), self.frame.height.div_ceil(2));
        let stride = width + 2;
        let mut map = vec![u16::MAX; stride * (height + 2)];
        for (y, row) in map[stride..]
            .chunks_exact_mut(stride)
            .take(height)
            .enumerate()
        {
            for (x, value) in row[1..=width].iter_mut().enumerate() {
                *value = self.difference(2 * x, 2 * y);
            }
        }
        let place = |at: usize| [at % stride - 1, at / stride - 1].map(|v| 2 * v);
        let minima = minima(&map, stride).into_iter();
        minima.map(|(value, at)| (value, place(at))).collect()
    }

    /// The best places of 5 x 5 around each of those, best first; of two as close as that the better.
    fn fine(&self, coarse: &[Peak]) -> Vec<Peak> {
        let around = |v: usize, size: usize| v.saturating_sub(2)..(v + 3).min(size);
        let mut best: Vec<Peak> = coarse
            .iter()
            .filter_map(|&(_, [x, y])| {
                let rows = around(y, self.frame.height);
                let places = rows
                    .flat_map(|v| around(x, self.frame.width).map(move |u| [u, v]))
                    .map(|[u, v]| (self.difference(u, v), [u, v]));
                places.min_by_key(|&(value, [u, v])| (value, v, u))
            })
            .collect();
        best.sort_unstable_by_key(|&(value, [x, y])| (value, y, x));
        let mut kept: Vec<Peak> = Vec::with_capacity(best.len());
        for peak in best {
            let near = |other: &Peak| (0..2).all(|c| other.1[c].abs_diff(peak.1[c]) <= 2);
            if !kept.iter().any(near) {
                kept.push(peak);
            }
        }
        kept
    }

    /// The difference at a place under the turn that fits best; `u16::MAX` where it is the limit or more, or the middle's.
    #[inline]
    fn difference(&self, x: usize, y: usize) -> u16 {
        const LOW: u64 = 0x00ff_00ff_00ff_00ff;
        let numbers = &self.frame.numbers[y * self.frame.stride + x..];
        let middle = numbers[REACH * self.frame.stride + REACH];
        if !self.sought.middles[middle as usize] {
            return u16::MAX;
        }
        let (mut even, mut odd) = (0u64, 0u64);
        for (ring, steps) in self.steps.iter().enumerate() {
            let mut sum = 0u64;
            for (angle, &step) in steps.iter().enumerate() {
                let row = &self.sought.rows[numbers[step] as usize];
                sum = sum.wrapping_add(row[ring].rotate_right(8 * angle as u32));
            }
            even = even.wrapping_add(sum & LOW);
            odd = odd.wrapping_add((sum >> 8) & LOW);
        }
        let value = least(even, odd);
        if value < self.limit { value } else { u16::MAX }
    }
}

/// The least of the eight 16-bit numbers in two words.
fn least(even: u64, odd: u64) -> u16 {
    [even, odd]
        .iter()
        .flat_map(|word| [0, 16, 32, 48].map(|shift| (word >> shift) as u16))
        .fold(u16::MAX, u16::min)
}

/// Values that none of the 3 x 3 around them undercuts, with their indices; of equals the first counts. The outermost rows
/// and columns are only looked at beside others.
fn minima(map: &[u16], stride: usize) -> Vec<(u16, usize)> {
    let mut found = Vec::new();
    for (y, rows) in map.windows(3 * stride).step_by(stride).enumerate() {
        let (above, rest) = rows.split_at(stride);
        let (row, below) = rest.split_at(stride);
        for x in 1..stride - 1 {
            let value = row[x];
            if value == u16::MAX {
                continue;
            }
            let earlier = above[x - 1].min(above[x]).min(above[x + 1]).min(row[x - 1]);
            let later = below[x - 1].min(below[x]).min(below[x + 1]).min(row[x + 1]);
            if value < earlier && value <= later {
                found.push((value, (y + 1) * stride + x));
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
        clip.push_rgb(&rgb).unwrap();
        let frame = clip.prepared(0).unwrap();
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
        const M: u16 = u16::MAX;
        let map = [
            [M, M, M, M, M, M, M, M],
            [M, 5, 5, 9, 9, 7, 3, M],
            [M, 5, 6, M, 9, 9, 9, M],
            [M, M, M, M, M, M, M, M],
        ];
        assert_eq!(minima(map.as_flattened(), 8), [(5, 9), (3, 14)]);
    }
}
