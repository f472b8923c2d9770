//! How much a trace trembles, and trembling made on purpose from a seed.

use super::series::{V2, fourth_differences, quantile};

/// Lower quartile of |N(0, 1)|: the median of the lower half of its values.
const QUARTILE_OF_NORMAL: f64 = 0.318_639;

/// Standard deviation of the place, per axis, in standing heights; NaN if the path has no five seen frames in a row.
///
/// Fourth differences of a smooth movement are small, those of white noise have sqrt(70) times its deviation. The lower quartile of
/// their size holds though half the frames move fast: 0.5 px put on smooth movement is read as 0.50 +- 0.09. Five frames at one
/// place were held or copied and say nothing.
pub(crate) fn tremor(path: &[V2]) -> f64 {
    let still = path.windows(5).map(|w| w.iter().all(|p| p == &w[0]));
    let sizes = fourth_differences(path)
        .into_iter()
        .skip(2)
        .zip(still)
        .filter(|(_, still)| !still)
        .flat_map(|(d, _)| [d[0].abs(), d[1].abs()]);
    quantile(sizes, 0.25) / QUARTILE_OF_NORMAL / 70.0_f64.sqrt()
}

/// Normal numbers from a seed, the same on every machine: splitmix64 (Steele, Lea and Flood 2014) through the polar method
/// (Marsaglia and Bray 1964).
pub(crate) struct Normal {
    state: u64,
    spare: Option<f64>,
}

impl Normal {
    pub(crate) fn new(seed: u64) -> Self {
        Self {
            state: seed,
            spare: None,
        }
    }

    fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Uniform in [-1, 1).
    fn uniform(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }

    pub(crate) fn draw(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        loop {
            let (u, v) = (self.uniform(), self.uniform());
            let s = u * u + v * v;
            if s > 0.0 && s < 1.0 {
                let factor = (-2.0 * s.ln() / s).sqrt();
                self.spare = Some(v * factor);
                return u * factor;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::series::{deviation, mean};

    #[test]
    fn drawn_numbers_are_normal_and_the_same_for_a_seed() {
        let mut normal = Normal::new(7);
        let drawn: Vec<f64> = (0..20_000).map(|_| normal.draw()).collect();
        assert!(mean(drawn.iter().copied()).abs() < 0.03);
        assert!((deviation(&drawn) - 1.0).abs() < 0.02);
        // A normal number is within one deviation 68.27 % of the time.
        let within = drawn.iter().filter(|v| v.abs() < 1.0).count() as f64 / 20_000.0;
        assert!((within - 0.6827).abs() < 0.012, "{within}");
        let mut again = Normal::new(7);
        assert!(drawn.iter().all(|v| *v == again.draw()));
    }

    #[test]
    fn tremor_is_read_back_from_a_moving_trace() {
        for seed in 0..12 {
            let mut normal = Normal::new(seed);
            let path: Vec<V2> = (0..100)
                .map(|f| {
                    let t = f64::from(f) / 12.0;
                    [
                        90.0 * t.sin() + 0.5 * normal.draw(),
                        60.0 * (1.3 * t).cos() + 0.5 * normal.draw(),
                    ]
                })
                .collect();
            let read = tremor(&path);
            assert!((0.3..0.75).contains(&read), "{read}");
        }
    }
}
