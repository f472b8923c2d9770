//! The beta distribution.

/// Coefficients of Lanczos' approximation for g = 7 (Godfrey 2001, from memory; checked against scipy.stats).
const LANCZOS: [f64; 9] = [
    0.999_999_999_999_809_9,
    676.520_368_121_885_1,
    -1_259.139_216_722_402_8,
    771.323_428_777_653_1,
    -176.615_029_162_140_6,
    12.507_343_278_686_905,
    -0.138_571_095_265_720_12,
    9.984_369_578_019_572e-6,
    1.505_632_735_149_311_6e-7,
];

/// ln Γ(x) for x > 0, to some 14 digits.
fn ln_gamma(x: f64) -> f64 {
    if x < 0.5 {
        // Euler's reflection.
        let pi = std::f64::consts::PI;
        return (pi / (pi * x).sin()).ln() - ln_gamma(1.0 - x);
    }
    let x = x - 1.0;
    let base = x + 7.5;
    let sum = LANCZOS[1..]
        .iter()
        .zip(1_u32..)
        .fold(LANCZOS[0], |sum, (c, i)| sum + c / (x + f64::from(i)));
    0.5 * (2.0 * std::f64::consts::PI).ln() + (x + 0.5) * base.ln() - base + sum.ln()
}

/// A beta distribution; both parameters above zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beta {
    /// Weight of what happened.
    pub alpha: f64,
    /// Weight of what did not.
    pub beta: f64,
}

impl Beta {
    /// α / (α + β).
    pub fn mean(self) -> f64 {
        self.alpha / (self.alpha + self.beta)
    }

    /// The probability of a value up to x: the regularised incomplete beta function, by its continued fraction
    /// (DLMF 8.17.22), evaluated by Lentz' method.
    pub fn cdf(self, x: f64) -> f64 {
        if x <= 0.0 {
            return 0.0;
        }
        if x >= 1.0 {
            return 1.0;
        }
        let Beta { alpha: a, beta: b } = self;
        if x > (a + 1.0) / (a + b + 2.0) {
            return 1.0 - Beta { alpha: b, beta: a }.cdf_low(1.0 - x);
        }
        self.cdf_low(x)
    }

    fn cdf_low(self, x: f64) -> f64 {
        let Beta { alpha: a, beta: b } = self;
        let front = ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (1.0 - x).ln();
        front.exp() * fraction(a, b, x) / a
    }

    /// The value below which the share `p` lies, by bisection to some 1e-12.
    pub fn quantile(self, p: f64) -> f64 {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.cdf(middle) < p {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }
}

fn fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let solid = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / solid(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    for m in 1..=400_u32 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        for step in [even, odd] {
            d = 1.0 / solid(1.0 + step * d);
            c = solid(1.0 + step / c);
            value *= d * c;
        }
        if (d * c - 1.0).abs() < 1e-15 {
            break;
        }
    }
    value
}
