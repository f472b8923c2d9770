//! The grid as pages see it.

use chrono::{DateTime, Utc};
use domain::picture::Span;
use domain::{CritiqueId, FootageId, NoteId, Principle, Quota, RevisionId, Standing};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::http::critiques::types::Concern;
use crate::http::enrolments::types::Named;

/// Whose, and which page.
#[derive(Debug, Deserialize, IntoParams)]
pub struct RefrainQuery {
    /// For a mentor: one of their students.
    pub student: Option<Uuid>,
    /// Shots wanted.
    pub limit: Option<i64>,
    /// From the page before.
    pub cursor: Option<String>,
}

/// One shot's grid.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainShot {
    /// The shot.
    pub shot: Named,
    /// The number of its first frame.
    pub first_frame: i32,
    /// The enrolment's quota.
    pub quota: Quota,
    /// The columns.
    pub revisions: Vec<RefrainRevision>,
    /// The rows, in groups.
    pub groups: Vec<RefrainGroup>,
}

/// A column.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainRevision {
    /// Its id.
    pub id: RevisionId,
    /// r1, r2, ...
    pub number: i32,
    /// When it was sent.
    pub sent_at: DateTime<Utc>,
    /// Its critique.
    #[schema(required)]
    pub critique_id: Option<CritiqueId>,
    /// Its footage.
    pub footage_id: FootageId,
    /// Whether the critique is out.
    pub released: bool,
}

/// Rows about one principle, or the praise.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainGroup {
    /// The principle; none: no principle was named.
    #[schema(required)]
    pub principle: Option<Principle>,
    /// Praise.
    pub keep: bool,
    /// The rows.
    pub rows: Vec<RefrainRow>,
}

/// A row.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainRow {
    /// The concern.
    pub concern: Concern,
    /// A cell a column.
    pub cells: Vec<RefrainCell>,
    /// How many revisions it stayed away before it came back.
    #[schema(required)]
    pub came_back_after: Option<i64>,
    /// The revision in which it was cleared, if it is.
    #[schema(required)]
    pub cleared_in: Option<i32>,
}

/// A cell.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainCell {
    /// The revision's number.
    pub revision: i32,
    /// Where the concern stood; none: not noted yet, or no critique is out.
    #[schema(required)]
    pub standing: Option<Standing>,
    /// The frames of the note.
    #[schema(required)]
    pub span: Option<Span>,
    /// The note.
    #[schema(required)]
    pub note_id: Option<NoteId>,
    /// Its words.
    #[schema(required)]
    pub words: Option<String>,
    /// The critique to open.
    #[schema(required)]
    pub critique_id: Option<CritiqueId>,
}

/// Whose habits.
#[derive(Debug, Deserialize, IntoParams)]
pub struct HabitsQuery {
    /// For a mentor: one of their students.
    pub student: Option<Uuid>,
}

/// What keeps coming back for one student.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainHabits {
    /// Shots with a released critique.
    pub shots: usize,
    /// Whether the school has enough students to say what is usual; else the school's numbers are an assumption.
    pub school_known: bool,
    /// Everything that was noted with a principle and a part, surest above the school first.
    pub habits: Vec<RefrainHabit>,
}

/// Concerns that share principle and body area, over shots.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainHabit {
    /// The principle.
    pub principle: Principle,
    /// The body area.
    pub area: String,
    /// Shots it was noted in.
    pub with_it: u32,
    /// All shots with a released critique.
    pub shots: u32,
    /// The share of shots that have it, as far as can be told: mean of the posterior.
    pub rate: f64,
    /// Nine times of ten that share lies between this ...
    pub low: f64,
    /// ... and this.
    pub high: f64,
    /// The school's middle.
    pub school: f64,
    /// How likely the student's share is above the school's middle.
    pub above_school: f64,
    /// What to be careful about, in words.
    #[schema(required)]
    pub caution: Option<&'static str>,
    /// The shots it was noted in, newest first.
    pub in_shots: Vec<Named>,
    /// How long it took the student to clear.
    #[schema(required)]
    pub clearing: Option<HabitClearing>,
    /// How long it takes in the school; none: too little is known.
    #[schema(required)]
    pub school_clearing: Option<HabitClearing>,
}

/// How long concerns take to clear, in revisions.
#[derive(Debug, Serialize, ToSchema)]
pub struct HabitClearing {
    /// Concerns followed.
    pub concerns: usize,
    /// Those cleared.
    pub cleared_count: usize,
    /// After so many revisions half of them are cleared; none: more than half were open as far as they were followed.
    #[schema(required)]
    pub middle: Option<f64>,
    /// What to be careful about, in words.
    #[schema(required)]
    pub caution: Option<&'static str>,
}

/// What to take up in the next pass of a shot.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainPlan {
    /// Open concerns of the shot, praise apart.
    pub open: usize,
    /// At most three of them, the heaviest first.
    pub steps: Vec<RefrainPlanStep>,
}

/// One thing to take up.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefrainPlanStep {
    /// The concern.
    pub concern: Concern,
    /// Why, in words.
    pub reasons: Vec<String>,
}
