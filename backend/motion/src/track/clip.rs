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
        Self {
            width,
            height,
            work: (side(width), side(height)),
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
        let frame = self.tables.frame(rgb, width, height);
        self.shelf.put(&frame.bytes).map_err(TraceError::Shelf)?;
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
        let mut frame = Frame::blank(self.work);
        self.shelf
            .get(index, &mut frame.bytes)
            .map_err(TraceError::Shelf)?;
        let [light, red, yellow] = frame.parts();
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
    linear: Vec<f32>,
    /// The function f of CIE L*a*b* over 0 to 1.
    curve: Vec<f32>,
    /// L* as a byte over luminance 0 to 1.
    light: Vec<u8>,
}

const CURVE: usize = 1 << 14;

impl Tables {
    fn new() -> Self {
        let linear = |byte: u16| {
            let v = f32::from(byte) / 255.0;
            if v <= 0.04045 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            }
        };
        let curve = |i: usize| {
            let t = i as f32 / CURVE as f32;
            if t > 0.008_856 {
                t.cbrt()
            } else {
                7.787 * t + 16.0 / 116.0
            }
        };
        let curve: Vec<f32> = (0..=CURVE).map(curve).collect();
        let light = |f: &f32| ((116.0 * f - 16.0) * 2.55 + 0.5) as u8;
        Self {
            linear: (0..256).map(linear).collect(),
            light: curve.iter().map(light).collect(),
            curve,
        }
    }

    fn frame(&self, rgb: &[u8], width: usize, height: usize) -> Frame {
        let half = (width.div_ceil(2), height.div_ceil(2));
        let mut frame = Frame::blank((width, height));
        let [light, red, yellow] = frame.parts_mut();
        let mut light = light.chunks_exact_mut(width);
        let colours = red
            .chunks_exact_mut(half.0)
            .zip(yellow.chunks_exact_mut(half.0));
        let mut rows = [Linear::for_width(width), Linear::for_width(width)];
        let mut places = vec![0; width];
        let mut halves = [0, 1, 2].map(|_| vec![0; half.0]);
        for (y, (red, yellow)) in colours.enumerate() {
            for (k, row) in rows.iter_mut().enumerate() {
                let from = (2 * y + k).min(height - 1);
                row.read(&rgb[from * width * 3..][..width * 3], &self.linear);
                if 2 * y + k < height
                    && let Some(light) = light.next()
                {
                    luminances(row, &mut places);
                    for (light, &at) in light.iter_mut().zip(&places) {
                        *light = self.light[at as usize];
                    }
                }
            }
            halved(&rows, &mut halves);
            let f = |at: u32| self.curve[at as usize];
            let [x, y, z] = &halves;
            for (i, (red, yellow)) in red.iter_mut().zip(yellow).enumerate() {
                let (x, y, z) = (f(x[i]), f(y[i]), f(z[i]));
                *red = nearest(500.0 * (x - y) + 128.0) as u8;
                *yellow = nearest(200.0 * (y - z) + 128.0) as u8;
            }
        }
        frame
    }
}

/// A row of linear red, green and blue, 0 to 1; the last pixel stands twice where their number is odd.
struct Linear {
    channels: [Vec<f32>; 3],
}

impl Linear {
    fn for_width(width: usize) -> Self {
        Self {
            channels: [0, 1, 2].map(|_| vec![0.0; width.next_multiple_of(2)]),
        }
    }

    fn read(&mut self, rgb: &[u8], linear: &[f32]) {
        let [red, green, blue] = &mut self.channels;
        let out = red.iter_mut().zip(green).zip(blue);
        for (((r, g), b), pixel) in out.zip(rgb.chunks_exact(3)) {
            *r = linear[usize::from(pixel[0])];
            *g = linear[usize::from(pixel[1])];
            *b = linear[usize::from(pixel[2])];
        }
        let width = rgb.len() / 3;
        for channel in &mut self.channels {
            let last = channel.len() - 1;
            channel.copy_within(width - 1..width, last);
        }
    }
}

/// The shares of red, green and blue in luminance.
const LUMINANCE: [f32; 3] = [0.212_671, 0.715_160, 0.072_169];

wide! {
    /// The luminance of each pixel of a row as a place in [`Tables::light`].
    fn luminances(row: &Linear, places: &mut [u32]) = luminances_here
}

#[inline(always)]
fn luminances_here(row: &Linear, places: &mut [u32]) {
    let [red, green, blue] = row.channels.each_ref().map(|c| &c[..places.len()]);
    for (i, place) in places.iter_mut().enumerate() {
        let y = LUMINANCE[0] * red[i] + LUMINANCE[1] * green[i] + LUMINANCE[2] * blue[i];
        *place = nearest((y * CURVE as f32).max(0.0).min(CURVE as f32));
    }
}

wide! {
    /// The mean of each four pixels of two rows, X, Y and Z over those of white, as places in [`Tables::curve`].
    fn halved(rows: &[Linear; 2], places: &mut [Vec<u32>; 3]) = halved_here
}

#[inline(always)]
fn halved_here(rows: &[Linear; 2], places: &mut [Vec<u32>; 3]) {
    let [x, y, z] = places;
    let n = x.len();
    let (y, z) = (&mut y[..n], &mut z[..n]);
    let [above, below] = rows
        .each_ref()
        .map(|row| row.channels.each_ref().map(|c| &c.as_chunks::<2>().0[..n]));
    let place = |t: f32| nearest((t * CURVE as f32).max(0.0).min(CURVE as f32));
    for i in 0..n {
        let mean =
            |c: usize| 0.25 * (above[c][i][0] + above[c][i][1] + below[c][i][0] + below[c][i][1]);
        let [r, g, b] = [mean(0), mean(1), mean(2)];
        x[i] = place((0.412_453 * r + 0.357_580 * g + 0.180_423 * b) / 0.950_456);
        y[i] = place(LUMINANCE[0] * r + LUMINANCE[1] * g + LUMINANCE[2] * b);
        z[i] = place((0.019_334 * r + 0.119_193 * g + 0.950_227 * b) / 1.088_754);
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
