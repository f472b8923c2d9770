//! The pictures of a clip, kept small enough to be all at hand.

use super::pyramid::{Level, Pyramid};
use super::shelf::{InMemory, Shelf};
use super::trace::TraceError;
use crate::wide::{nearest, wide};

/// Levels of a prepared frame's pyramid: the first are for following points, the last for the dense flow.
pub(crate) const LEVELS: usize = 6;

/// The frames of one clip at the size tracing works at: lightness of every pixel and colour of every second one, in
/// CIE L*a*b* (D65, from sRGB), a byte each. 1.5 bytes a pixel, 345 KB a frame of 640 x 360, so 83 MB for 240 frames; a
/// [`Shelf`] of the program's own may keep them out of memory.
pub struct Clip {
    width: usize,
    height: usize,
    work: (usize, usize),
    tables: Tables,
    frames: usize,
    /// Where a frame is written before it is put on the shelf.
    room: Frame,
    shelf: Box<dyn Shelf + Send + Sync>,
}

/// One frame's bytes: lightness, a* and b*, each row by row.
struct Frame {
    bytes: Vec<u8>,
    light: usize,
    colour: usize,
}

impl Clip {
    /// An empty clip whose frames are shown at `width * height` pixels and kept in memory. Works at `longer_side_px` pixels
    /// along the longer side (640 is what every length of the options is meant for), with the same shape.
    #[must_use]
    pub fn new(width: usize, height: usize, longer_side_px: usize) -> Self {
        Self::on(Box::<InMemory>::default(), width, height, longer_side_px)
    }

    /// [`Clip::new`] with its frames on a shelf, which is empty.
    #[must_use]
    pub fn on(
        shelf: Box<dyn Shelf + Send + Sync>,
        width: usize,
        height: usize,
        longer_side_px: usize,
    ) -> Self {
        let (width, height) = (width.max(1), height.max(1));
        let scale = longer_side_px.max(16) as f64 / width.max(height) as f64;
        let side = |v: usize| ((v as f64 * scale).round() as usize).max(16);
        let work = (side(width), side(height));
        Self {
            width,
            height,
            work,
            room: Frame::blank(work),
            tables: Tables::new(),
            frames: 0,
            shelf,
        }
    }

    /// Width and height in pixels of the frames that [`Clip::push_rgb`] takes.
    #[must_use]
    pub fn work_size(&self) -> (usize, usize) {
        self.work
    }

    /// Width and height at which the clip is shown: the pixels of clicks and traces.
    #[must_use]
    pub fn shown_size(&self) -> (usize, usize) {
        (self.width, self.height)
    }

    /// Number of frames.
    #[must_use]
    pub fn len(&self) -> usize {
        self.frames
    }

    /// True before the first frame.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.frames == 0
    }

    /// Adds the next frame: red, green and blue bytes (sRGB) row by row, at [`Clip::work_size`].
    ///
    /// # Errors
    /// [`TraceError::FrameSize`] when the number of bytes is another, [`TraceError::Shelf`]; nothing is added then.
    pub fn push_rgb(&mut self, rgb: &[u8]) -> Result<(), TraceError> {
        let (width, height) = self.work;
        let wanted = width * height * 3;
        if rgb.len() != wanted {
            let got = rgb.len();
            return Err(TraceError::FrameSize { got, wanted });
        }
        self.tables.convert(rgb, width, &mut self.room);
        self.shelf
            .put(&self.room.bytes)
            .map_err(TraceError::Shelf)?;
        self.frames += 1;
        Ok(())
    }

    /// A place in shown pixels as one in pixels of the work size; pixel (0, 0) is the middle of the first in both.
    pub(crate) fn to_work(&self, at: [f64; 2]) -> [f32; 2] {
        let [sx, sy] = self.scales();
        [
            ((at[0] + 0.5) * sx - 0.5) as f32,
            ((at[1] + 0.5) * sy - 0.5) as f32,
        ]
    }

    /// The reverse of [`Clip::to_work`].
    pub(crate) fn to_shown(&self, at: [f32; 2]) -> [f64; 2] {
        let [sx, sy] = self.scales();
        [
            (f64::from(at[0]) + 0.5) / sx - 0.5,
            (f64::from(at[1]) + 0.5) / sy - 0.5,
        ]
    }

    fn scales(&self) -> [f64; 2] {
        [
            self.work.0 as f64 / self.width as f64,
            self.work.1 as f64 / self.height as f64,
        ]
    }

    /// The lightness of frame `index` alone, written over `pyramid`, which is one of [`Clip::blank_light`].
    pub(crate) fn light(&self, index: usize, pyramid: &mut Pyramid) -> Result<(), TraceError> {
        let mut light = vec![0; self.work.0 * self.work.1];
        self.shelf
            .get(index, &mut light)
            .map_err(TraceError::Shelf)?;
        bytes(&light, 0.0, &mut pyramid.levels[0]);
        pyramid.build(1);
        Ok(())
    }

    /// What [`Clip::light`] writes over.
    pub(crate) fn blank_light(&self, levels: usize) -> Pyramid {
        Pyramid::empty(self.work.0, self.work.1, levels)
    }

    /// Frame `index` ready to be looked at.
    pub(crate) fn prepared(&self, index: usize) -> Result<Prepared, TraceError> {
        let mut prepared = self.blank();
        self.prepare(index, &mut prepared)?;
        Ok(prepared)
    }

    /// Frame `index` ready to be looked at, written over another.
    pub(crate) fn prepare(&self, index: usize, prepared: &mut Prepared) -> Result<(), TraceError> {
        self.shelf
            .get(index, &mut prepared.read.bytes)
            .map_err(TraceError::Shelf)?;
        let [light, red, yellow] = prepared.read.parts();
        bytes(light, 0.0, &mut prepared.pyramid.levels[0]);
        prepared.soft.blur(&prepared.pyramid.levels[0]);
        prepared.pyramid.levels[1].thin(&prepared.soft);
        prepared.pyramid.build(2);
        bytes(red, 128.0, &mut prepared.red);
        bytes(yellow, 128.0, &mut prepared.yellow);
        Ok(())
    }

    /// What [`Clip::prepare`] writes over.
    pub(crate) fn blank(&self) -> Prepared {
        let pyramid = self.blank_light(LEVELS);
        Prepared {
            soft: Level::new(self.work.0, self.work.1),
            red: pyramid.levels[0].half_size(),
            yellow: pyramid.levels[0].half_size(),
            read: Frame::blank(self.work),
            pyramid,
        }
    }
}

impl Frame {
    fn blank((width, height): (usize, usize)) -> Self {
        let (light, colour) = (width * height, width.div_ceil(2) * height.div_ceil(2));
        Self {
            bytes: vec![0; light + 2 * colour],
            light,
            colour,
        }
    }

    fn parts(&self) -> [&[u8]; 3] {
        let (light, colours) = self.bytes.split_at(self.light);
        let (red, yellow) = colours.split_at(self.colour);
        [light, red, yellow]
    }

    fn parts_mut(&mut self) -> [&mut [u8]; 3] {
        let (light, colours) = self.bytes.split_at_mut(self.light);
        let (red, yellow) = colours.split_at_mut(self.colour);
        [light, red, yellow]
    }
}

/// Writes a level out of bytes, `zero` being none.
fn bytes(from: &[u8], zero: f32, level: &mut Level) {
    let width = level.width;
    level.fill(|y, row| {
        numbers(&from[y * width..], zero, row);
    });
}

wide! {
    fn numbers(from: &[u8], zero: f32, out: &mut [f32]) = numbers_here
}

#[inline(always)]
fn numbers_here(from: &[u8], zero: f32, out: &mut [f32]) {
    for (out, &byte) in out.iter_mut().zip(from) {
        *out = f32::from(byte) - zero;
    }
}

/// A frame with everything that tracing looks at.
pub(crate) struct Prepared {
    pub(crate) pyramid: Pyramid,
    /// Lightness blurred by sigma 1, 0 to 255.
    pub(crate) soft: Level,
    /// a* at half size.
    pub(crate) red: Level,
    /// b* at half size.
    pub(crate) yellow: Level,
    /// The bytes it was made of.
    read: Frame,
}

/// What lightness counts against colour, and the byte's scale: 255 stands for L* = 100.
pub(crate) const LIGHT_SHARE: f32 = 0.7 * 100.0 / 255.0;

impl Prepared {
    /// (0.7 L*, a*, b*) between pixels.
    #[inline(always)]
    pub(crate) fn colour(&self, x: f32, y: f32) -> [f32; 3] {
        let (hx, hy) = (x * 0.5 - 0.25, y * 0.5 - 0.25);
        [
            LIGHT_SHARE * self.soft.sample(x, y),
            self.red.sample(hx, hy),
            self.yellow.sample(hx, hy),
        ]
    }
}

/// Tables from sRGB bytes to L*a*b* (CIE 15; sRGB: IEC 61966-2-1; D65 white).
#[derive(Debug, Clone)]
struct Tables {
    /// What a byte of red, of green and of blue adds to a pixel's [`Xyz`].
    shares: Box<[[Xyz; 256]; 3]>,
    /// The function f of CIE L*a*b* over 0 to 1.
    curve: Vec<f32>,
    /// L* as a byte over luminance 0 to 1.
    light: Vec<u8>,
}

/// X, Y and Z over those of white in one word, so that pixels are added up all three at once: [`FIELD`] bits each, X in the
/// highest. 1 is 2^[`UNIT`]; four pixels fit.
type Xyz = u64;

const FIELD: u32 = 21;
const UNIT: u32 = 17;

/// X, Y and Z over those of white of linear red, green and blue (ITU-R BT.709 primaries).
const TO_XYZ: [[f64; 3]; 3] = [
    [
        0.412_453 / 0.950_456,
        0.357_580 / 0.950_456,
        0.180_423 / 0.950_456,
    ],
    [0.212_671, 0.715_160, 0.072_169],
    [
        0.019_334 / 1.088_754,
        0.119_193 / 1.088_754,
        0.950_227 / 1.088_754,
    ],
];

/// Steps of the curve between 0 and 1, as a power of two; it goes on to 2, so that no place needs a check.
const CURVE: u32 = 14;
const PLACES: usize = 2 << CURVE;

/// The place in a table of X (0), Y (1) or Z (2) of 2^`pixels` pixels added up.
#[inline(always)]
fn place(sum: Xyz, which: u32, pixels: u32) -> usize {
    let less = UNIT + pixels - CURVE;
    let value = (sum >> (FIELD * (2 - which))) & ((1 << FIELD) - 1);
    ((value + (1 << (less - 1))) >> less) as usize % PLACES
}

impl Tables {
    fn new() -> Self {
        let linear = |byte: usize| {
            let v = byte as f64 / 255.0;
            if v <= 0.04045 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            }
        };
        let share = |channel: usize, byte: usize| {
            TO_XYZ.iter().fold(0, |all, shares| {
                let value = shares[channel] * linear(byte) * f64::from(1 << UNIT);
                all << FIELD | value.round() as Xyz
            })
        };
        let curve = |i: usize| {
            let t = i as f32 / (1 << CURVE) as f32;
            if t > 0.008_856 {
                t.cbrt()
            } else {
                7.787 * t + 16.0 / 116.0
            }
        };
        let curve: Vec<f32> = (0..PLACES).map(curve).collect();
        let light = |f: &f32| ((116.0 * f - 16.0) * 2.55 + 0.5) as u8;
        Self {
            shares: Box::new([0, 1, 2].map(|c| std::array::from_fn(|byte| share(c, byte)))),
            light: curve.iter().map(light).collect(),
            curve,
        }
    }

    /// Writes a picture of red, green and blue bytes as a frame of the same size.
    fn convert(&self, rgb: &[u8], width: usize, frame: &mut Frame) {
        let half = width.div_ceil(2);
        let [light, red, yellow] = frame.parts_mut();
        let colours = red
            .chunks_exact_mut(half)
            .zip(yellow.chunks_exact_mut(half));
        let pairs = rgb.chunks(2 * 3 * width).zip(light.chunks_mut(2 * width));
        // The last pixel and the last row stand twice where their number is odd.
        let mut rows = [vec![0; 2 * half], vec![0; 2 * half]];
        for ((rgb, light), (red, yellow)) in pairs.zip(colours) {
            let [above, below] = &mut rows;
            self.add_up(&rgb[..3 * width], above);
            self.add_up(&rgb[rgb.len() - 3 * width..], below);
            for (light, row) in light.chunks_exact_mut(width).zip(&rows) {
                self.lights(row, light);
            }
            self.colours(&rows, red, yellow);
        }
    }

    fn add_up(&self, rgb: &[u8], row: &mut [Xyz]) {
        let [red, green, blue] = &*self.shares;
        let pixels = rgb.as_chunks::<3>().0;
        for (xyz, &[r, g, b]) in row.iter_mut().zip(pixels) {
            *xyz = red[usize::from(r)] + green[usize::from(g)] + blue[usize::from(b)];
        }
        let last = row.len() - 1;
        row[last] = row[pixels.len() - 1];
    }

    fn lights(&self, row: &[Xyz], light: &mut [u8]) {
        let table = &self.light[..PLACES];
        for (light, &xyz) in light.iter_mut().zip(row) {
            *light = table[place(xyz, 1, 0)];
        }
    }

    fn colours(&self, rows: &[Vec<Xyz>; 2], red: &mut [u8], yellow: &mut [u8]) {
        let table = &self.curve[..PLACES];
        let [above, below] = rows.each_ref().map(|row| row.as_chunks::<2>().0);
        let squares = above.iter().zip(below);
        for ((red, yellow), ([a, b], [c, d])) in red.iter_mut().zip(yellow).zip(squares) {
            let sum = a + b + c + d;
            let [x, y, z] = [0, 1, 2].map(|which| table[place(sum, which, 2)]);
            *red = nearest(500.0 * (x - y) + 128.0) as u8;
            *yellow = nearest(200.0 * (y - z) + 128.0) as u8;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_go_there_and_back() {
        let clip = Clip::new(1280, 720, 640);
        assert_eq!(clip.work_size(), (640, 360));
        assert_eq!(clip.to_work([0.5, 0.5]), [0.0, 0.0]);
        let back = clip.to_shown(clip.to_work([701.25, 33.5]));
        assert!((back[0] - 701.25).abs() < 1e-4 && (back[1] - 33.5).abs() < 1e-4);
    }

    #[test]
    fn a_frame_of_another_size_is_not_taken() {
        let mut clip = Clip::new(64, 32, 64);
        assert_eq!(
            clip.push_rgb(&[0; 10]),
            Err(TraceError::FrameSize {
                got: 10,
                wanted: 6144
            })
        );
        assert!(clip.is_empty());
    }
}
