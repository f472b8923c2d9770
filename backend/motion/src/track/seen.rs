//! A clip as tracing sees it: at its work size, or halved for what is so large that nothing tells its middle at that size.

use super::clip::{Clip, Prepared};
use super::pyramid::{Level, Pyramid};
use super::trace::TraceError;

/// A clip seen at its work size halved so many times.
#[derive(Clone, Copy)]
pub(crate) struct Seen<'a> {
    pub(crate) clip: &'a Clip,
    pub(crate) halvings: usize,
}

impl Seen<'_> {
    pub(crate) fn len(&self) -> usize {
        self.clip.len()
    }

    /// Pixels of the work size a pixel here stands for.
    fn scale(&self) -> f32 {
        (1 << self.halvings) as f32
    }

    /// A place in shown pixels as one in pixels here.
    pub(crate) fn place(&self, at: [f64; 2]) -> [f32; 2] {
        self.clip.to_work(at).map(|v| v / self.scale())
    }

    /// The reverse of [`Seen::place`].
    pub(crate) fn shown(&self, at: [f32; 2]) -> [f64; 2] {
        self.clip.to_shown(at.map(|v| v * self.scale()))
    }

    /// What [`Seen::prepare`] writes over.
    pub(crate) fn blank(&self) -> Prepared {
        self.halved(self.clip.blank())
    }

    /// Frame `index` ready to be looked at.
    pub(crate) fn prepared(&self, index: usize) -> Result<Prepared, TraceError> {
        Ok(self.halved(self.clip.prepared(index)?))
    }

    /// Frame `index` ready to be looked at, written over another.
    pub(crate) fn prepare(&self, index: usize, prepared: &mut Prepared) -> Result<(), TraceError> {
        if self.halvings == 0 {
            return self.clip.prepare(index, prepared);
        }
        *prepared = self.prepared(index)?;
        Ok(())
    }

    fn halved(&self, mut frame: Prepared) -> Prepared {
        if self.halvings == 0 {
            return frame;
        }
        let levels = &mut frame.pyramid.levels;
        for _ in 0..self.halvings {
            levels.extend(levels.last().map(half));
        }
        levels.drain(..self.halvings);
        frame.soft = frame.pyramid.levels[0].clone();
        frame.soft.blur(&frame.pyramid.levels[0]);
        for colour in [&mut frame.red, &mut frame.yellow] {
            for _ in 0..self.halvings {
                *colour = half(colour);
            }
        }
        frame
    }

    /// What [`Seen::light_over`] writes over.
    pub(crate) fn blank_light(&self, levels: usize) -> Pyramid {
        let mut light = self.clip.blank_light(levels + self.halvings);
        light.levels.drain(..self.halvings);
        light
    }

    /// The lightness of frame `index` alone, in so many levels.
    pub(crate) fn light(&self, index: usize, levels: usize) -> Result<Pyramid, TraceError> {
        let mut light = self.clip.blank_light(levels + self.halvings);
        self.clip.light(index, &mut light)?;
        light.levels.drain(..self.halvings);
        Ok(light)
    }

    /// [`Seen::light`] written over another.
    pub(crate) fn light_over(&self, index: usize, light: &mut Pyramid) -> Result<(), TraceError> {
        if self.halvings == 0 {
            return self.clip.light(index, light);
        }
        *light = self.light(index, light.levels.len())?;
        Ok(())
    }
}

fn half(level: &Level) -> Level {
    let mut half = level.half_size();
    half.halve(level);
    half
}
