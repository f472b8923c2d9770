//! Submissions as pages see them.

use chrono::{DateTime, NaiveDate, Utc};
use domain::{CritiqueId, FootageId, Quota, RevisionId, ShotId, Stage, SubmissionId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use validator::Validate;

/// What is sent.
#[derive(Debug, Serialize, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewSubmission {
    /// Of which shot.
    pub shot_id: ShotId,
    /// The footage.
    pub footage_id: FootageId,
    /// How far it has come.
    pub stage: Stage,
    /// The student's own words to the mentor.
    #[validate(length(max = 4000))]
    pub words: String,
    /// The number of the shot's first frame; fixed from the first sending on.
    #[serde(default)]
    #[validate(range(min = 0, max = 1_000_000))]
    pub first_frame: Option<i32>,
}

/// Where a submission stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SubmissionState {
    /// On the mentor's desk.
    Waiting,
    /// The mentor has opened it.
    Opened,
    /// Its critique is out.
    Released,
    /// The student took it back.
    Withdrawn,
    /// Given back, because its footage could not be prepared.
    Returned,
}

/// The act of sending a revision.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Submission {
    /// Its id.
    pub id: SubmissionId,
    /// Of which shot.
    pub shot_id: ShotId,
    /// Which revision.
    pub revision_id: RevisionId,
    /// r1, r2, ...
    pub number: i32,
    /// How far it had come.
    pub stage: Stage,
    /// What the student wrote.
    pub words: String,
    /// Where it stands.
    pub state: SubmissionState,
    /// When it was sent.
    pub sent_at: DateTime<Utc>,
    /// By when the critique is promised.
    pub promised_on: NaiveDate,
    /// When the mentor opened it.
    #[schema(required)]
    pub opened_at: Option<DateTime<Utc>>,
    /// When its critique went out.
    #[schema(required)]
    pub released_at: Option<DateTime<Utc>>,
    /// Why it was given back.
    #[schema(required)]
    pub return_reason: Option<String>,
    /// Its critique; for the student only once it is out.
    #[schema(required)]
    pub critique_id: Option<CritiqueId>,
    /// The enrolment's quota.
    pub quota: Quota,
}

/// The critique that opening gave.
#[derive(Debug, Serialize, ToSchema)]
pub struct Opened {
    /// Its id.
    pub critique_id: CritiqueId,
}

/// A row as the asker may see it at `now`.
#[must_use]
pub fn submission(
    row: store::submissions::Submission,
    quota: Quota,
    now: DateTime<Utc>,
) -> Submission {
    let released_at = row.released_at.filter(|at| *at <= now);
    let state = match (
        row.withdrawn_at,
        row.returned_at,
        released_at,
        row.opened_at,
    ) {
        (Some(_), ..) => SubmissionState::Withdrawn,
        (_, Some(_), ..) => SubmissionState::Returned,
        (_, _, Some(_), _) => SubmissionState::Released,
        (_, _, _, Some(_)) => SubmissionState::Opened,
        _ => SubmissionState::Waiting,
    };
    Submission {
        id: row.id,
        shot_id: row.shot_id,
        revision_id: row.revision_id,
        number: row.number,
        stage: row.stage,
        words: row.words,
        state,
        sent_at: row.sent_at,
        promised_on: row.promised_on,
        opened_at: row.opened_at,
        released_at,
        return_reason: row.return_reason,
        critique_id: row.critique_id,
        quota,
    }
}
