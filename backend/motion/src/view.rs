//! A clip as seen from one resting camera.

use crate::plane::Plane;
use crate::reel::{HEIGHT, Reel, WIDTH};
use crate::similarity::Similarity;
use crate::stats::spread;
use crate::wide::wide;

/// Pixels across and down of the half-size pictures most work is done on.
pub(crate) const HALF: (usize, usize) = (WIDTH / 2, HEIGHT / 2);

/// Frames a temporal median is taken of, at most.
const MEDIAN_FRAMES: usize = 41;

/// A clip and, for each frame, where the points of the common picture lie in it.
#[derive(Debug, Clone)]
pub(crate) struct View<'a> {
    pub(crate) reel: &'a Reel,
    /// From the common picture to each frame; one of none when the camera rests.
    to_frame: Vec<Similarity>,
    /// Applied before: the common picture of another clip to this one's.
    from: Similarity,
}

/// Light and both colour differences at one size.
#[derive(Debug, Clone)]
pub(crate) struct Tones {
    pub(crate) light: Plane,
    pub(crate) colours: [Plane; 2],
}

impl<'a> View<'a> {
    pub(crate) fn resting(reel: &'a Reel) -> Self {
        Self {
            reel,
            to_frame: vec![],
            from: Similarity::IDENTITY,
        }
    }

    pub(crate) fn steadied(reel: &'a Reel, to_frame: Vec<Similarity>) -> Self {
        Self {
            reel,
            to_frame,
            from: Similarity::IDENTITY,
        }
    }

    /// The same clip seen from a camera whose points lie at `from` in this one's common picture.
    pub(crate) fn seen_from(&self, from: Similarity) -> Self {
        Self {
            from,
            ..self.clone()
        }
    }

    pub(crate) fn len(&self) -> usize {
        self.reel.len()
    }

    /// Where the points of the common picture lie in frame `i`.
    pub(crate) fn map(&self, i: usize) -> Similarity {
        match self.to_frame.get(i) {
            Some(own) if self.from == Similarity::IDENTITY => *own,
            Some(own) => own.after(&self.from),
            None => self.from,
        }
    }

    pub(crate) fn rests(&self) -> bool {
        self.to_frame.is_empty()
    }

    pub(crate) fn half_light(&self, i: usize) -> Plane {
        self.map(i).warped(self.reel.half_light(i))
    }

    pub(crate) fn light(&self, i: usize) -> Plane {
        self.map(i).warped(self.reel.light(i))
    }

    pub(crate) fn half_tones(&self, i: usize) -> Tones {
        let map = self.map(i);
        Tones {
            light: map.warped(self.reel.half_light(i)),
            colours: self.reel.colours(i).map(|c| map.warped(c)),
        }
    }

    /// The picture at rest: per pixel the middle value of up to 41 frames, light at full size.
    pub(crate) fn still_light(&self) -> Plane {
        let frames: Vec<Plane> = spread(self.len(), MEDIAN_FRAMES)
            .into_iter()
            .map(|i| self.light(i))
            .collect();
        middle(&frames.iter().collect::<Vec<_>>())
    }

    /// The picture at rest at half size, of `frames` (evenly thinned), or of all.
    pub(crate) fn still(&self, frames: Option<&[usize]>) -> Tones {
        let all: Vec<usize>;
        let frames = if let Some(frames) = frames {
            frames
        } else {
            all = (0..self.len()).collect();
            &all
        };
        let tones: Vec<Tones> = spread(frames.len(), MEDIAN_FRAMES)
            .into_iter()
            .map(|k| self.half_tones(frames[k]))
            .collect();
        Tones {
            light: middle(&tones.iter().map(|t| &t.light).collect::<Vec<_>>()),
            colours: [0, 1]
                .map(|k| middle(&tones.iter().map(|t| &t.colours[k]).collect::<Vec<_>>())),
        }
    }

    /// 1 where every frame has a pixel, else 0, at half size.
    pub(crate) fn always_seen(&self) -> Plane {
        let mut seen = self.map(0).inside(HALF.0, HALF.1);
        if !self.rests() {
            for i in 1..self.len() {
                let this = self.map(i).inside(HALF.0, HALF.1);
                for (s, t) in seen.data_mut().iter_mut().zip(this.data()) {
                    *s *= t;
                }
            }
        }
        seen
    }
}

/// Per pixel the middle value of planes of one size, the upper of two.
pub(crate) fn middle(planes: &[&Plane]) -> Plane {
    let Some(first) = planes.first() else {
        return Plane::filled(HALF.0, HALF.1, 0.0);
    };
    let mut columns = vec![[0.0; AT_ONCE]; planes.len()];
    let mut out = (*first).clone();
    for (block, out) in out.data_mut().chunks_mut(AT_ONCE).enumerate() {
        for (values, plane) in columns.iter_mut().zip(planes) {
            let from = &plane.data()[block * AT_ONCE..][..out.len()];
            values[..out.len()].copy_from_slice(from);
        }
        sort(&mut columns);
        out.copy_from_slice(&columns[planes.len() / 2][..out.len()]);
    }
    out
}

/// Pixels whose middle values are found at once.
const AT_ONCE: usize = 32;

wide! {
    /// Sorts each column, the least first.
    fn sort(columns: &mut [[f32; AT_ONCE]]) = sort_here
}

/// Batcher's merge exchange (1968; Knuth, The Art of Computer Programming, volume 3, 5.2.2, algorithm M): what is compared
/// with what does not depend on the values, so all columns are sorted at once.
#[inline(always)]
fn sort_here(columns: &mut [[f32; AT_ONCE]]) {
    let n = columns.len();
    let widest = n.next_power_of_two() / 2;
    let mut p = widest;
    while p > 0 {
        let (mut q, mut r, mut d) = (widest, 0, p);
        loop {
            for i in (0..n.saturating_sub(d)).filter(|i| i & p == r) {
                exchange(columns, i, i + d);
            }
            if q == p {
                break;
            }
            (d, q, r) = (q - p, q / 2, p);
        }
        p /= 2;
    }
}

#[inline(always)]
fn exchange(columns: &mut [[f32; AT_ONCE]], low: usize, high: usize) {
    let (a, b) = (columns[low], columns[high]);
    for k in 0..AT_ONCE {
        let swap = b[k] < a[k];
        columns[low][k] = if swap { b[k] } else { a[k] };
        columns[high][k] = if swap { a[k] } else { b[k] };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::median;

    #[test]
    fn middles_are_those_of_each_pixel() {
        for count in 1..=41usize {
            let value = |k: usize, x: usize| ((k * 7919 + x * 104_729) % 23) as f32;
            let planes: Vec<Plane> = (0..count)
                .map(|k| Plane::from_fn(37, 3, |x, y| value(k, x + 37 * y)))
                .collect();
            let middles = middle(&planes.iter().collect::<Vec<_>>());
            for (i, &middle) in middles.data().iter().enumerate() {
                let mut column: Vec<f32> = (0..count).map(|k| value(k, i)).collect();
                assert_eq!(middle, median(&mut column), "{count} values");
            }
        }
    }
}
