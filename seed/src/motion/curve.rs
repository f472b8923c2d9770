//! Keyed curves. A key is passed with the slope of a monotone cubic, so an extreme is reached softly and never overshot by accident.

/// One key of a curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Key {
    /// Frame of the unretimed performance.
    pub t: f32,
    /// Value of the channel.
    pub v: f32,
    /// Slope through the key, value per frame; none lets the neighbours decide.
    pub slope: Option<f32>,
}

/// A channel over time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Curve {
    keys: Vec<Key>,
}

impl Curve {
    /// A curve that always has this value until more keys come.
    #[must_use]
    pub fn constant(v: f32) -> Self {
        Self {
            keys: vec![Key {
                t: 0.0,
                v,
                slope: None,
            }],
        }
    }

    /// Sets a key; a second key on the same frame replaces the first.
    pub fn set(&mut self, key: Key) {
        let at = self.keys.partition_point(|k| k.t < key.t - 1e-4);
        match self.keys.get_mut(at) {
            Some(old) if (old.t - key.t).abs() < 1e-3 => *old = key,
            _ => self.keys.insert(at, key),
        }
    }

    /// Applies `f` to every value (slopes are scaled by `scale`).
    pub fn map_values(&mut self, scale: f32, f: impl Fn(f32) -> f32) {
        for k in &mut self.keys {
            k.v = f(k.v);
            k.slope = k.slope.map(|s| s * scale);
        }
    }

    /// The value at `t`; before the first and after the last key it rests.
    #[must_use]
    pub fn at(&self, t: f32) -> f32 {
        let i = self.keys.partition_point(|k| k.t <= t);
        if i == 0 {
            return self.keys.first().map_or(0.0, |k| k.v);
        }
        if i == self.keys.len() {
            return self.keys[i - 1].v;
        }
        let (a, b) = (self.keys[i - 1], self.keys[i]);
        let h = b.t - a.t;
        let u = (t - a.t) / h;
        let (m0, m1) = (self.slope(i - 1) * h, self.slope(i) * h);
        let (u2, u3) = (u * u, u * u * u);
        (2.0 * u3 - 3.0 * u2 + 1.0) * a.v
            + (u3 - 2.0 * u2 + u) * m0
            + (3.0 * u2 - 2.0 * u3) * b.v
            + (u3 - u2) * m1
    }

    /// Slope at a key: the given one, or the weighted harmonic mean of the secants (Fritsch and Butland 1984; formula from memory).
    fn slope(&self, i: usize) -> f32 {
        let k = self.keys[i];
        if let Some(s) = k.slope {
            return s;
        }
        if i == 0 || i + 1 == self.keys.len() {
            return 0.0;
        }
        let (p, n) = (self.keys[i - 1], self.keys[i + 1]);
        let (h0, h1) = (k.t - p.t, n.t - k.t);
        let (d0, d1) = ((k.v - p.v) / h0, (n.v - k.v) / h1);
        if d0 * d1 <= 0.0 {
            return 0.0;
        }
        let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
        (w0 + w1) / (w0 / d0 + w1 / d1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn passes_through_keys_and_never_overshoots() {
        let mut c = Curve::constant(0.0);
        for (t, v) in [(10.0, 2.0), (14.0, 5.0), (20.0, 5.0), (31.0, 1.0)] {
            c.set(Key { t, v, slope: None });
        }
        assert!((c.at(14.0) - 5.0).abs() < 1e-5);
        assert!((0..400).all(|i| (0.0..=5.0001).contains(&c.at(i as f32 / 10.0))));
        assert!((14..=20).all(|t| (c.at(t as f32) - 5.0).abs() < 1e-5));
    }

    #[test]
    fn a_parabola_with_its_slopes_is_exact() {
        let mut c = Curve::default();
        for t in [0.0f32, 12.0] {
            c.set(Key {
                t,
                v: 3.0 * t - 0.25 * t * t,
                slope: Some(3.0 - 0.5 * t),
            });
        }
        assert!((c.at(5.0) - (15.0 - 6.25)).abs() < 1e-4);
    }
}
