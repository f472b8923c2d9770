//! Shots as pages see them.

use domain::{
    AssignmentId, EnrolmentId, FootageId, FootageState, Quota, RevisionId, ShotId, Stage,
};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;
use validator::Validate;

use crate::http::enrolments::types::Named;
use crate::http::submissions::types::Submission;

/// Whose shots, and which page of them.
#[derive(Debug, Deserialize, IntoParams)]
pub struct ShotQuery {
    /// Only this student's.
    pub student: Option<Uuid>,
    /// Rows wanted.
    pub limit: Option<i64>,
    /// From the page before.
    pub cursor: Option<String>,
}

/// A shot to be.
#[derive(Debug, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewShot {
    /// Within which enrolment.
    pub enrolment_id: EnrolmentId,
    /// What it is called.
    #[validate(length(min = 1, max = 120))]
    pub title: String,
    /// The brief it answers.
    #[serde(default)]
    pub assignment_id: Option<AssignmentId>,
    /// The number its first frame is shown under: 1, 101, 1001 ...
    #[validate(range(min = 0, max = 1_000_000))]
    pub first_frame: i32,
}

/// What of a shot may change.
#[derive(Debug, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShotChange {
    /// What it is called.
    #[validate(length(min = 1, max = 120))]
    pub title: Option<String>,
    /// The number of its first frame, until it is first sent.
    #[validate(range(min = 0, max = 1_000_000))]
    pub first_frame: Option<i32>,
}

/// A shot in a list.
#[derive(Debug, Serialize, ToSchema)]
pub struct ShotSummary {
    /// Its id.
    pub id: ShotId,
    /// What it is called.
    pub title: String,
    /// Within which enrolment.
    pub enrolment_id: EnrolmentId,
    /// The course.
    pub course: Named,
    /// The student.
    pub student: Named,
    /// The number of its first frame.
    pub first_frame: i32,
    /// Its chain.
    pub revisions: Vec<RevisionSummary>,
    /// Concerns that still want something.
    pub open_concerns: i64,
}

/// A shot by itself.
#[derive(Debug, Serialize, ToSchema)]
pub struct Shot {
    /// What a list shows.
    #[serde(flatten)]
    pub summary: ShotSummary,
    /// The brief it answers.
    #[schema(required)]
    pub assignment: Option<Named>,
    /// What is left to send.
    pub enrolment_quota: Quota,
}

/// A revision of a chain.
#[derive(Debug, Serialize, ToSchema)]
pub struct RevisionSummary {
    /// Its id.
    pub id: RevisionId,
    /// r1, r2, ...
    pub number: i32,
    /// How far it had come.
    pub stage: Stage,
    /// Its footage.
    pub footage_id: FootageId,
    /// Where that stands; none: not yours to see.
    #[schema(required)]
    pub footage_state: Option<FootageState>,
    /// Its frames.
    #[schema(required)]
    pub frames: Option<i32>,
    /// The act of sending it.
    pub submission: Submission,
}
