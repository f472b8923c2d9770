//! What to take up in the next pass: at most three things, with reasons.

use domain::{Principle, Standing, Urgency};

/// At most so many.
pub const MOST: usize = 3;

/// An open concern as the plan sees it.
#[derive(Clone, Debug)]
pub struct OpenConcern {
    /// Its id, as the caller knows it.
    pub id: String,
    /// Where it stands.
    pub standing: Standing,
    /// How much its latest note weighs.
    pub urgency: Option<Urgency>,
    /// Its main principle.
    pub principle: Option<Principle>,
    /// Revisions since it was first noted.
    pub age: u32,
    /// The school's middle of revisions to clear such a one, if known.
    pub usual: Option<f64>,
    /// How likely the student's rate of this habit is above the school's, if it is a habit.
    pub habit: Option<f64>,
}

/// One thing to take up.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Which concern.
    pub id: String,
    /// For comparing; larger comes first.
    pub score: f64,
    /// Why, in words.
    pub reasons: Vec<String>,
}

/// The plan: what the mentor said must be done before all, then what came back, is old or is a habit; work on the motion before polish.
pub fn plan(open: &[OpenConcern]) -> Vec<Step> {
    let mut steps: Vec<Step> = open
        .iter()
        .filter(|c| domain::standing::is_open(c.standing))
        .map(step)
        .collect();
    steps.sort_by(|a, b| b.score.total_cmp(&a.score).then_with(|| a.id.cmp(&b.id)));
    steps.truncate(MOST);
    steps
}

fn step(concern: &OpenConcern) -> Step {
    let mut step = Step {
        id: concern.id.clone(),
        score: 0.0,
        reasons: vec![],
    };
    let mut add = |score: f64, reason: String| {
        step.score += score;
        step.reasons.push(reason);
    };
    match concern.urgency {
        Some(Urgency::Must) => add(3.0, "the mentor says it must be done".into()),
        Some(Urgency::Should) | None => add(1.5, "the mentor asks for it".into()),
        Some(Urgency::IfTime) => add(0.5, "the mentor asks for it if there is time".into()),
    }
    match concern.standing {
        Standing::Back => add(1.5, "it came back".into()),
        Standing::Eased => add(0.5, "it is nearly there".into()),
        Standing::Unmentioned => add(-0.75, "it was not mentioned last time".into()),
        _ => {}
    }
    if let Some(usual) = concern
        .usual
        .filter(|usual| f64::from(concern.age) > *usual)
    {
        add(
            0.75,
            format!(
                "open for {} revisions; half of such concerns are cleared after {usual:.0}",
                concern.age
            ),
        );
    }
    if let Some(sure) = concern.habit.filter(|sure| *sure >= 0.8) {
        add(
            1.0,
            format!(
                "it recurs over shots, more than is usual in the school ({:.0} % sure)",
                100.0 * sure
            ),
        );
    }
    if concern.principle == Some(Principle::Polish) {
        add(-1.0, "polish comes when the motion is right".into());
    }
    step
}
