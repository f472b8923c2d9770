//! The pictures of a clip, kept small enough to be all at hand.

use super::pyramid::{Level, Pyramid};

/// Levels of a prepared frame's pyramid: the first are for following points, the last for the dense flow.
pub(crate) const LEVELS: usize = 6;

/// The frames of one clip at the size tracing works at: lightness of every pixel and colour of every second one, in
/// CIE L*a*b* (D65, from sRGB), a byte each. 1.5 bytes a pixel, 345 KB a frame of 640 x 360, so 83 MB for 240 frames.
#[derive(Debug, Clone)]
pub struct Clip {
    width: usize,
    height: usize,
    work: (usize, usize),
    tables: Tables,
    frames: Vec<Frame>,
}

#[derive(Debug, Clone)]
pub(crate) struct Frame {
    light: Vec<u8>,
    red: Vec<u8>,
    yellow: Vec<u8>,
}

impl Clip {
    /// An empty clip whose frames are shown at `width * height` pixels. Works at `longer_side_px` pixels along the longer
    /// side (640 is what every length of the options is meant for), with the same shape.
    #[must_use]
    pub fn new(width: usize, height: usize, longer_side_px: usize) -> Self {
        let (width, height) = (width.max(1), height.max(1));
        let scale = longer_side_px.max(16) as f64 / width.max(height) as f64;
        let side = |v: usize| ((v as f64 * scale).round() as usize).max(16);
        Self {
            width,
            height,
            work: (side(width), side(height)),
            tables: Tables::new(),
            frames: Vec::new(),
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
        self.frames.len()
    }

    /// True before the first frame.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.frames.is_empty()
    }

    /// Adds the next frame: red, green and blue bytes (sRGB) row by row, at [`Clip::work_size`]. False, and nothing
    /// added, when the number of bytes is another.
    #[must_use]
    pub fn push_rgb(&mut self, rgb: &[u8]) -> bool {
        let (width, height) = self.work;
        if rgb.len() != width * height * 3 {
            return false;
        }
        self.frames.push(self.tables.frame(rgb, width, height));
        true
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

    fn finest(&self, index: usize) -> Level {
        let (width, height) = self.work;
        let light = &self.frames[index].light;
        Level::from_rows(width, height, |y, row| {
            for (value, &byte) in row.iter_mut().zip(&light[y * width..]) {
                *value = f32::from(byte);
            }
        })
    }

    /// The lightness of frame `index` alone.
    pub(crate) fn light(&self, index: usize, levels: usize) -> Pyramid {
        Pyramid::of(vec![self.finest(index)], levels)
    }

    /// Frame `index` ready to be looked at.
    pub(crate) fn prepared(&self, index: usize) -> Prepared {
        let (width, height) = self.work;
        let frame = &self.frames[index];
        let light = self.finest(index);
        let soft = light.blurred();
        let half = soft.thinned();
        let (w, h) = (width.div_ceil(2), height.div_ceil(2));
        let chroma = |bytes: &[u8]| {
            Level::from_rows(w, h, |y, row| {
                for (value, &byte) in row.iter_mut().zip(&bytes[y * w..]) {
                    *value = f32::from(byte) - 128.0;
                }
            })
        };
        Prepared {
            red: chroma(&frame.red),
            yellow: chroma(&frame.yellow),
            soft,
            pyramid: Pyramid::of(vec![light, half], LEVELS),
        }
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
        Self {
            linear: (0..256).map(linear).collect(),
            curve: (0..=CURVE).map(curve).collect(),
        }
    }

    fn f(&self, t: f32) -> f32 {
        self.curve[((t * CURVE as f32 + 0.5) as usize).min(CURVE)]
    }

    fn linear(&self, rgb: &[u8]) -> [f32; 3] {
        [
            self.linear[usize::from(rgb[0])],
            self.linear[usize::from(rgb[1])],
            self.linear[usize::from(rgb[2])],
        ]
    }

    fn frame(&self, rgb: &[u8], width: usize, height: usize) -> Frame {
        let light = rgb
            .chunks_exact(3)
            .map(|pixel| {
                let l = 116.0 * self.f(luminance(self.linear(pixel))) - 16.0;
                (l * 2.55 + 0.5) as u8
            })
            .collect();
        let (w, h) = (width.div_ceil(2), height.div_ceil(2));
        let mut red = Vec::with_capacity(w * h);
        let mut yellow = Vec::with_capacity(w * h);
        for y in 0..h {
            let row = |y: usize| &rgb[y.min(height - 1) * width * 3..][..width * 3];
            for (above, below) in row(2 * y).chunks(6).zip(row(2 * y + 1).chunks(6)) {
                let (right, last) = (above.len() - 3, below.len() - 3);
                let four = [&above[..3], &above[right..], &below[..3], &below[last..]];
                let mut sum = [0.0; 3];
                for pixel in four {
                    let pixel = self.linear(pixel);
                    for (total, value) in sum.iter_mut().zip(pixel) {
                        *total += 0.25 * value;
                    }
                }
                let [r, g, b] = sum;
                let fx = self.f((0.412_453 * r + 0.357_580 * g + 0.180_423 * b) / 0.950_456);
                let fy = self.f(luminance(sum));
                let fz = self.f((0.019_334 * r + 0.119_193 * g + 0.950_227 * b) / 1.088_754);
                red.push((500.0 * (fx - fy) + 128.5) as u8);
                yellow.push((200.0 * (fy - fz) + 128.5) as u8);
            }
        }
        Frame { light, red, yellow }
    }
}

fn luminance([r, g, b]: [f32; 3]) -> f32 {
    0.212_671 * r + 0.715_160 * g + 0.072_169 * b
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
        assert!(!clip.push_rgb(&[0; 10]));
        assert!(clip.is_empty());
    }
}
