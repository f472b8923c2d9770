//! Normalised cross-correlation of patches: Lewis, "Fast normalized cross-correlation" (1995), as OpenCV's `matchTemplate`
//! computes it with TM_CCOEFF_NORMED (each channel's own mean taken out, sums over all channels).

use crate::plane::Plane;

/// How well `patch` fits at every place of `picture` where it lies wholly inside: −1 to 1, one value a place of the
/// patch's top left pixel, in a plane of `picture − patch + 1` pixels. 0 where either is of one colour. `None` unless both
/// have the same number of channels, at least one, each of one size, and the patch fits in.
///
/// Exact sums in f64, so within 3e-5 of OpenCV's. Cost O(places * pixels of the patch * channels).
#[must_use]
pub fn correlate(picture: &[Plane], patch: &[Plane]) -> Option<Plane> {
    let ([first, ..], [small, ..]) = (picture, patch) else {
        return None;
    };
    let one_size = |planes: &[Plane], like: &Plane| {
        planes
            .iter()
            .all(|p| p.width() == like.width() && p.height() == like.height())
    };
    let fits = small.width() <= first.width() && small.height() <= first.height();
    if picture.len() != patch.len() || !one_size(picture, first) || !one_size(patch, small) || !fits
    {
        return None;
    }
    let centred: Vec<Vec<f64>> = patch.iter().map(centred).collect();
    let energy: f64 = centred.iter().flatten().map(|v| v * v).sum();
    let (width, height) = (
        first.width() - small.width() + 1,
        first.height() - small.height() + 1,
    );
    Some(Plane::from_fn(width, height, |x, y| {
        let (mut product, mut other) = (0.0, 0.0);
        for (plane, values) in picture.iter().zip(&centred) {
            let (p, o) = against(plane, values, (x, y), small.width());
            product += p;
            other += o;
        }
        let norm = (energy * other).sqrt();
        if norm > 1e-6 {
            (product / norm).clamp(-1.0, 1.0) as f32
        } else {
            0.0
        }
    }))
}

/// The values of a plane less their mean; what is no number counts as 0.
fn centred(plane: &Plane) -> Vec<f64> {
    let finite = |&v: &f32| if v.is_finite() { f64::from(v) } else { 0.0 };
    let values: Vec<f64> = plane.data().iter().map(finite).collect();
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    values.iter().map(|v| v - mean).collect()
}

/// The sum of products with centred values, and the picture's own sum of squares about its mean there.
fn against(plane: &Plane, values: &[f64], (x, y): (usize, usize), width: usize) -> (f64, f64) {
    let (mut product, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for (row, values) in values.chunks(width).enumerate() {
        for (&v, weight) in plane.row(y + row)[x..].iter().zip(values) {
            let v = if v.is_finite() { f64::from(v) } else { 0.0 };
            product += v * weight;
            sum += v;
            squares += v * v;
        }
    }
    let spread = squares - sum * sum / values.len() as f64;
    (product, spread.max(0.0))
}

/// The place of the largest value, to a fraction of a pixel by parabolas through its neighbours, and that value.
pub(crate) fn best(map: &Plane) -> ([f32; 2], f32) {
    let (at, value) =
        map.data()
            .iter()
            .enumerate()
            .fold((0, f32::NEG_INFINITY), |best, (i, &v)| {
                if v > best.1 { (i, v) } else { best }
            });
    let (x, y) = (at % map.width(), at / map.width());
    let part = |before: Option<f32>, after: Option<f32>| match (before, after) {
        (Some(a), Some(b)) if a + b < 2.0 * value => {
            (0.5 * (a - b) / (a + b - 2.0 * value)).clamp(-0.5, 0.5)
        }
        _ => 0.0,
    };
    let across = part(
        (x > 0).then(|| map.at(x - 1, y)),
        (x + 1 < map.width()).then(|| map.at(x + 1, y)),
    );
    let down = part(
        (y > 0).then(|| map.at(x, y - 1)),
        (y + 1 < map.height()).then(|| map.at(x, y + 1)),
    );
    ([x as f32 + across, y as f32 + down], value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_piece_fits_where_it_was_cut() {
        let picture = Plane::from_fn(20, 15, |x, y| {
            ((x * x * 31 + x * y * 17 + y * y * 7) % 23) as f32
        });
        let patch = Plane::from_fn(5, 4, |x, y| 3.0 * picture.at(x + 7, y + 6) + 40.0);
        let map = correlate(&[picture], &[patch]).unwrap();
        assert_eq!((map.width(), map.height()), (16, 12));
        let (at, value) = best(&map);
        assert!(
            (at[0] - 7.0).abs() < 0.5 && (at[1] - 6.0).abs() < 0.5,
            "{at:?}"
        );
        assert!(value > 0.999_9);
    }

    #[test]
    fn one_colour_fits_nowhere_and_wrong_sizes_are_none() {
        let flat = Plane::filled(9, 9, 4.0);
        let map = correlate(std::slice::from_ref(&flat), &[Plane::filled(3, 3, 1.0)]).unwrap();
        assert!(map.data().iter().all(|&v| v == 0.0));
        assert!(correlate(&[Plane::filled(2, 2, 0.0)], std::slice::from_ref(&flat)).is_none());
        assert!(correlate(&[], &[]).is_none());
        let strange = Plane::filled(9, 9, f32::NAN);
        assert!(correlate(&[strange], &[flat]).is_some());
    }
}
