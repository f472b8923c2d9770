//! How many revisions a concern takes to clear: the estimator of Kaplan & Meier (1958). Concerns still open are censored.

/// Below so many concerns a curve is a guess.
const FEW: usize = 5;

/// One concern: how long it was followed, and whether it was cleared then.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Followed {
    /// Revisions from the one that noted it.
    pub time: f64,
    /// Cleared; else still open when last seen.
    pub cleared: bool,
}

/// The curve right behind one time at which something was cleared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// When.
    pub time: f64,
    /// Followed until then.
    pub at_risk: usize,
    /// Cleared then.
    pub cleared: usize,
    /// Share still open behind it.
    pub open: f64,
    /// Standard error of that share (Greenwood).
    pub error: f64,
}

/// Share of concerns still open, over time.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// In order of time.
    pub steps: Vec<Step>,
    /// The first time at which no more than half are open; none if more than half stay open as far as anybody was followed.
    pub median: Option<f64>,
    /// What to be careful about, in words.
    pub caution: Option<&'static str>,
}

/// Estimates the curve. Times that are no numbers are left out.
pub fn curve(followed: &[Followed]) -> Curve {
    let mut followed: Vec<Followed> = followed
        .iter()
        .copied()
        .filter(|f| f.time.is_finite())
        .collect();
    followed.sort_by(|a, b| a.time.total_cmp(&b.time));
    let mut steps: Vec<Step> = vec![];
    let (mut open, mut sum) = (1.0, 0.0);
    let mut at = 0;
    while at < followed.len() {
        let time = followed[at].time;
        let same = followed[at..].iter().take_while(|f| f.time == time).count();
        let cleared = followed[at..at + same].iter().filter(|f| f.cleared).count();
        let at_risk = followed.len() - at;
        if cleared > 0 {
            #[expect(clippy::cast_precision_loss, reason = "concerns of a school")]
            let (d, n) = (cleared as f64, at_risk as f64);
            open *= 1.0 - d / n;
            sum += if d < n { d / (n * (n - d)) } else { 0.0 };
            steps.push(Step {
                time,
                at_risk,
                cleared,
                open,
                error: open * sum.sqrt(),
            });
        }
        at += same;
    }
    // The product of shares comes to a half only up to the last bits.
    let median = steps.iter().find(|s| s.open <= 0.5 + 1e-12).map(|s| s.time);
    let caution =
        (followed.len() < FEW).then_some("few concerns yet: the middle may well be elsewhere");
    Curve {
        steps,
        median,
        caution,
    }
}
