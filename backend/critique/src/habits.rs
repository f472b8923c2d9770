//! Habits: what keeps coming back for one student over shots, beside the school, with honest uncertainty.

use domain::Principle;

use crate::beta::Beta;

/// Below so many students a school says nothing about its spread.
const FEW_STUDENTS: usize = 5;
/// What is assumed then.
const FEW_PRIOR: Beta = Beta {
    alpha: 1.0,
    beta: 4.0,
};
/// Below so many shots a rate is a guess.
const FEW_SHOTS: u32 = 4;
/// Bounds of the prior's weight in shots.
const WEIGHT: (f64, f64) = (2.0, 50.0);

/// Shots with the habit among the shots of one student.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Count {
    /// Shots that have it.
    pub with: u32,
    /// All shots.
    pub shots: u32,
}

/// What is a habit: a principle at a body area.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct HabitKey {
    /// The main principle of its concerns.
    pub principle: Principle,
    /// The body area of their parts.
    pub area: String,
}

/// How often a student has a habit.
#[derive(Clone, Debug, PartialEq)]
pub struct Habit {
    /// What it is.
    pub key: HabitKey,
    /// As it was counted.
    pub count: Count,
    /// Posterior mean of the share of shots with it.
    pub rate: f64,
    /// Its 5th and 95th hundredth: nine times of ten the true rate lies between.
    pub interval: (f64, f64),
    /// The school's rate.
    pub school: f64,
    /// How likely the student's rate is above the school's.
    pub above_school: f64,
    /// What to be careful about, in words.
    pub caution: Option<&'static str>,
}

/// The school's prior for one habit from the counts of its students, by moments of the beta-binomial
/// (Kleinman 1973, from memory). Students without shots count for nothing.
pub fn prior(students: &[Count]) -> Beta {
    let held: Vec<(f64, f64)> = students
        .iter()
        .filter(|c| c.shots > 0)
        .map(|c| (f64::from(c.with.min(c.shots)), f64::from(c.shots)))
        .collect();
    if held.len() < FEW_STUDENTS {
        return FEW_PRIOR;
    }
    let (k, n) = held
        .iter()
        .fold((0.0, 0.0), |sum, (k, n)| (sum.0 + k, sum.1 + n));
    let p = k / n;
    if p <= 0.0 || p >= 1.0 {
        // All alike: the mean is held off the ends by half a shot.
        let p = (k + 0.5) / (n + 1.0);
        return Beta {
            alpha: p * WEIGHT.1,
            beta: (1.0 - p) * WEIGHT.1,
        };
    }
    let spread: f64 = held.iter().map(|(k, n)| n * (k / n - p).powi(2)).sum();
    let squares: f64 = held.iter().map(|(_, n)| n * n).sum();
    #[expect(clippy::cast_precision_loss, reason = "students of a school")]
    let count = held.len() as f64;
    let variance = p * (1.0 - p);
    let below = n - squares / n - count + 1.0;
    let alike = (spread - variance * (count - 1.0)) / (variance * below);
    let weight = if alike > 0.0 {
        (1.0 / alike - 1.0).clamp(WEIGHT.0, WEIGHT.1)
    } else {
        WEIGHT.1
    };
    Beta {
        alpha: p * weight,
        beta: (1.0 - p) * weight,
    }
}

/// What one student's count says, given the school's prior.
pub fn habit(key: HabitKey, count: Count, prior: Beta) -> Habit {
    let with = f64::from(count.with.min(count.shots));
    let posterior = Beta {
        alpha: prior.alpha + with,
        beta: prior.beta + f64::from(count.shots) - with,
    };
    Habit {
        key,
        count,
        rate: posterior.mean(),
        interval: (posterior.quantile(0.05), posterior.quantile(0.95)),
        school: prior.mean(),
        above_school: 1.0 - posterior.cdf(prior.mean()),
        caution: (count.shots < FEW_SHOTS).then_some("few shots yet: it may well be chance"),
    }
}

/// One student's counts of one habit beside those of every student of the school (the student among them).
#[derive(Clone, Debug)]
pub struct Counted {
    /// What it is.
    pub key: HabitKey,
    /// The student's own.
    pub own: Count,
    /// Everybody's.
    pub school: Vec<Count>,
}

/// The habits of one student, surest above the school first.
pub fn habits(counted: Vec<Counted>) -> Vec<Habit> {
    let mut all: Vec<Habit> = counted
        .into_iter()
        .map(|c| {
            let prior = prior(&c.school);
            habit(c.key, c.own, prior)
        })
        .collect();
    all.sort_by(|a, b| {
        b.above_school
            .total_cmp(&a.above_school)
            .then_with(|| a.key.cmp(&b.key))
    });
    all
}
