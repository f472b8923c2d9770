//! Filters over each pixel and its eight neighbours.

use crate::plane::Plane;
use crate::wide::wide;

/// The largest value of each 3 x 3, and the smallest.
pub(super) fn extremes(plane: &Plane) -> (Plane, Plane) {
    let (width, height) = (plane.width(), plane.height());
    let high = highest(plane.data(), width, height);
    let low = lowest(plane.data(), width, height);
    let kept = |data| Plane::from_vec(width, height, data).unwrap_or_else(|| plane.clone());
    (kept(high), kept(low))
}

/// The union of the sets in each 3 x 3.
pub(super) fn union(sets: &[u16], width: usize, height: usize) -> Vec<u16> {
    joined(sets, width, height)
}

wide! {
    fn highest(data: &[f32], width: usize, height: usize) -> Vec<f32> = highest_here
}

#[inline(always)]
fn highest_here(data: &[f32], width: usize, height: usize) -> Vec<f32> {
    both_ways(data, width, height, |a, b| if a > b { a } else { b })
}

wide! {
    fn lowest(data: &[f32], width: usize, height: usize) -> Vec<f32> = lowest_here
}

#[inline(always)]
fn lowest_here(data: &[f32], width: usize, height: usize) -> Vec<f32> {
    both_ways(data, width, height, |a, b| if a < b { a } else { b })
}

wide! {
    fn joined(data: &[u16], width: usize, height: usize) -> Vec<u16> = joined_here
}

#[inline(always)]
fn joined_here(data: &[u16], width: usize, height: usize) -> Vec<u16> {
    both_ways(data, width, height, |a, b| a | b)
}

#[inline(always)]
fn both_ways<T: Copy>(data: &[T], width: usize, height: usize, join: impl Fn(T, T) -> T) -> Vec<T> {
    let mut down = data.to_vec();
    for (above, here) in (0..height.saturating_sub(1)).map(|y| (y * width, (y + 1) * width)) {
        let (upper, lower) = down.split_at_mut(here);
        let (upper, lower) = (&mut upper[above..], &mut lower[..width]);
        let (first, second) = (&data[above..here], &data[here..here + width]);
        for x in 0..width {
            lower[x] = join(lower[x], first[x]);
            upper[x] = join(upper[x], second[x]);
        }
    }
    let mut out = down.clone();
    for (out, row) in out.chunks_exact_mut(width).zip(down.chunks_exact(width)) {
        for (o, v) in out[1..].iter_mut().zip(row) {
            *o = join(*o, *v);
        }
        for (o, v) in out.iter_mut().zip(&row[1..]) {
            *o = join(*o, *v);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_of_a_dot_see_it() {
        let dot = Plane::from_fn(5, 4, |x, y| f32::from(u8::from((x, y) == (0, 2))));
        let (high, low) = extremes(&dot);
        let seen: f32 = high.data().iter().sum();
        assert_eq!((seen, low.data().iter().sum::<f32>()), (6.0, 0.0));
        assert_eq!(union(&[1, 0, 2, 0, 4, 0], 3, 2), [5, 7, 6, 5, 7, 6]);
    }
}
