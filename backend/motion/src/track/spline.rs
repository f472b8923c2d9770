//! Curves in time: through all clicks, and over a gap.

/// The natural cubic spline through points at given times (strictly increasing, at least one): second derivative 0 at both
/// ends, so two points are joined by a straight line. Before the first and after the last it stays still.
#[derive(Debug, Clone)]
pub(crate) struct Spline {
    times: Vec<f64>,
    points: Vec<[f64; 2]>,
    /// Second derivatives at the points.
    bends: Vec<[f64; 2]>,
}

impl Spline {
    pub(crate) fn through(times: Vec<f64>, points: Vec<[f64; 2]>) -> Self {
        let bends = second_derivatives(&times, &points);
        Self {
            times,
            points,
            bends,
        }
    }

    pub(crate) fn at(&self, time: f64) -> [f64; 2] {
        let after = self.times.partition_point(|&t| t <= time);
        if after == 0 {
            return self.points[0];
        }
        if after == self.times.len() {
            return self.points[after - 1];
        }
        let i = after - 1;
        let width = self.times[after] - self.times[i];
        let (b, a) = (
            (time - self.times[i]) / width,
            (self.times[after] - time) / width,
        );
        let bend = width * width / 6.0;
        [0, 1].map(|c| {
            a * self.points[i][c]
                + b * self.points[after][c]
                + bend
                    * ((a * a * a - a) * self.bends[i][c] + (b * b * b - b) * self.bends[after][c])
        })
    }
}

/// The tridiagonal system of the natural spline, solved by elimination (Press et al., Numerical Recipes, section 3.3).
fn second_derivatives(times: &[f64], points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let n = times.len();
    let mut bends = vec![[0.0; 2]; n];
    let mut carried = vec![[0.0; 2]; n];
    for i in 1..n.saturating_sub(1) {
        let (left, right) = (times[i] - times[i - 1], times[i + 1] - times[i]);
        let share = left / (left + right);
        for c in 0..2 {
            let pivot = share * bends[i - 1][c] + 2.0;
            let kink = (points[i + 1][c] - points[i][c]) / right
                - (points[i][c] - points[i - 1][c]) / left;
            bends[i][c] = (share - 1.0) / pivot;
            carried[i][c] = (6.0 * kink / (left + right) - share * carried[i - 1][c]) / pivot;
        }
    }
    for i in (0..n.saturating_sub(1)).rev() {
        for c in 0..2 {
            bends[i][c] = if i == 0 {
                0.0
            } else {
                bends[i][c] * bends[i + 1][c] + carried[i][c]
            };
        }
    }
    bends
}

/// A place on the cubic Hermite curve from `a` to `b` with the given slopes (per whole length), at `u` in 0 to 1.
pub(crate) fn hermite(a: [f32; 2], b: [f32; 2], slopes: [[f32; 2]; 2], u: f32) -> [f32; 2] {
    let (u2, u3) = (u * u, u * u * u);
    [0, 1].map(|c| {
        (2.0 * u3 - 3.0 * u2 + 1.0) * a[c]
            + (u3 - 2.0 * u2 + u) * slopes[0][c]
            + (3.0 * u2 - 2.0 * u3) * b[c]
            + (u3 - u2) * slopes[1][c]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_natural_spline_through_three_points() {
        // By hand: (0,0), (2,1), (4,0) has second derivative -3/4 in the middle, so 0.6875 at 1.
        let spline = Spline::through(
            vec![0.0, 2.0, 4.0],
            vec![[0.0, 0.0], [1.0, 2.0], [0.0, 4.0]],
        );
        assert!((spline.at(1.0)[0] - 0.6875).abs() < 1e-12);
        assert!((spline.at(3.0)[1] - 3.0).abs() < 1e-12);
        assert_eq!(spline.at(9.0), [0.0, 4.0]);
    }

    #[test]
    fn two_points_are_joined_straight_and_one_stays() {
        let two = Spline::through(vec![2.0, 6.0], vec![[0.0, 8.0], [4.0, 0.0]]);
        assert_eq!(two.at(3.0), [1.0, 6.0]);
        let one = Spline::through(vec![5.0], vec![[7.0, 3.0]]);
        assert_eq!([one.at(0.0), one.at(5.0), one.at(8.0)], [[7.0, 3.0]; 3]);
    }

    #[test]
    fn a_gap_begins_and_ends_where_it_should() {
        let slopes = [[3.0, 0.0], [0.0, -2.0]];
        assert_eq!(hermite([1.0, 2.0], [5.0, 6.0], slopes, 0.0), [1.0, 2.0]);
        assert_eq!(hermite([1.0, 2.0], [5.0, 6.0], slopes, 1.0), [5.0, 6.0]);
        assert_eq!(hermite([0.0; 2], [4.0; 2], [[4.0; 2]; 2], 0.25), [1.0; 2]);
    }
}
