//! The frames of one clip at the size the maps are worked out at.

use crate::plane::Plane;

/// Pixels across the light of a working picture.
pub const WIDTH: usize = 256;
/// Pixels down the light of a working picture.
pub const HEIGHT: usize = 144;
/// Bytes of one working picture: light, then both colour differences at half the size (planar 4:2:0).
pub const PICTURE_BYTES: usize = WIDTH * HEIGHT * 3 / 2;

/// A clip of more frames than this is kept at three quarters of the size, so that an hour's worth of mistakes cannot fill
/// the memory; its pictures are stretched back when they are looked at.
const MOST_AT_FULL_SIZE: usize = 1_600;

/// A picture was not of the working size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a working picture has {PICTURE_BYTES} bytes, this one {got}")]
pub struct BadPicture {
    /// Bytes it had.
    pub got: usize,
}

/// The frames of a clip, in order. Equal frames in a row are kept once.
#[derive(Debug, Clone)]
pub struct Reel {
    /// For each frame, its place in `pictures`.
    frames: Vec<u32>,
    pictures: Vec<Box<[u8]>>,
    /// The picture pushed last, as it came.
    last: Vec<u8>,
    width: usize,
    height: usize,
}

impl Reel {
    /// An empty reel for about `expected` frames: their number decides at which size pictures are kept (55 KB each up to
    /// 1,600 frames, 31 KB beyond).
    #[must_use]
    pub fn for_frames(expected: usize) -> Self {
        let (width, height) = if expected > MOST_AT_FULL_SIZE {
            (WIDTH * 3 / 4, HEIGHT * 3 / 4)
        } else {
            (WIDTH, HEIGHT)
        };
        Self {
            frames: vec![],
            pictures: vec![],
            last: vec![],
            width,
            height,
        }
    }

    /// Adds a frame: [`PICTURE_BYTES`] bytes of planar 4:2:0, [`WIDTH`] by [`HEIGHT`].
    pub fn push(&mut self, picture: &[u8]) -> Result<(), BadPicture> {
        if picture.len() != PICTURE_BYTES {
            return Err(BadPicture { got: picture.len() });
        }
        if self.last != picture {
            self.last.clear();
            self.last.extend_from_slice(picture);
            let kept: Box<[u8]> = if self.width == WIDTH {
                picture.into()
            } else {
                self.smaller(picture)
            };
            if self.pictures.last().is_none_or(|last| *last != kept) {
                self.pictures.push(kept);
            }
        }
        self.frames
            .push((self.pictures.len().saturating_sub(1)) as u32);
        Ok(())
    }

    /// How many frames there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.frames.len()
    }

    /// Whether there is no frame.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.frames.is_empty()
    }

    /// Whether frame `i`, which must exist, is the same picture as the one before.
    #[must_use]
    pub fn repeats(&self, i: usize) -> bool {
        i > 0 && self.frames[i] == self.frames[i - 1]
    }

    /// The light of frame `i`, which must exist: levels 0 to 255, [`WIDTH`] by [`HEIGHT`].
    #[must_use]
    pub fn light(&self, i: usize) -> Plane {
        let plane = self.part(i, 0, self.width, self.height);
        if self.width == WIDTH {
            plane
        } else {
            plane.stretched(WIDTH, HEIGHT)
        }
    }

    /// The light at half the size.
    #[must_use]
    pub fn half_light(&self, i: usize) -> Plane {
        if self.width == WIDTH {
            self.light(i).shrunk(2)
        } else {
            self.part(i, 0, self.width, self.height)
                .resized(WIDTH / 2, HEIGHT / 2)
        }
    }

    /// Both colour differences of frame `i`, levels 0 to 255, half of [`WIDTH`] by half of [`HEIGHT`].
    #[must_use]
    pub fn colours(&self, i: usize) -> [Plane; 2] {
        let (width, height) = (self.width / 2, self.height / 2);
        let light = self.width * self.height;
        [0, 1].map(|k| {
            let plane = self.part(i, light + k * width * height, width, height);
            if self.width == WIDTH {
                plane
            } else {
                plane.stretched(WIDTH / 2, HEIGHT / 2)
            }
        })
    }

    fn part(&self, i: usize, from: usize, width: usize, height: usize) -> Plane {
        let bytes = &self.pictures[self.frames[i] as usize][from..from + width * height];
        Plane::from_bytes(width, height, bytes).unwrap_or_else(|| Plane::filled(width, height, 0.0))
    }

    fn smaller(&self, picture: &[u8]) -> Box<[u8]> {
        let mut out = Vec::with_capacity(self.width * self.height * 3 / 2);
        let mut rest = picture;
        for half in [1, 2, 2] {
            let (width, height) = (WIDTH / half, HEIGHT / half);
            let (this, next) = rest.split_at(width * height);
            rest = next;
            if let Some(plane) = Plane::from_bytes(width, height, this) {
                let small = plane.resized(self.width / half, self.height / half);
                out.extend(small.data().iter().map(|&v| (v + 0.5) as u8));
            }
        }
        out.into()
    }
}
