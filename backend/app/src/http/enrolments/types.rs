//! Shapes of enrolments and quotas.

use chrono::{DateTime, NaiveDate, Utc};
use domain::{CourseId, EnrolmentId, PersonId, Quota, QuotaEntryId, QuotaKind, SubmissionId};
use uuid::Uuid;
use validator::{Validate, ValidationError};

use crate::http::persons::types::{has_words, is_mail_address};
use crate::http::problem::FieldError;

/// Something with a name.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, utoipa::ToSchema)]
pub struct Named {
    /// Its id.
    pub id: Uuid,
    /// Its name.
    pub name: String,
}

impl Named {
    /// That thing of that name.
    #[must_use]
    pub fn new(id: Uuid, name: String) -> Named {
        Named { id, name }
    }
}

/// A student in a course with a mentor.
#[derive(Debug, Clone, serde::Serialize, utoipa::ToSchema)]
pub struct Enrolment {
    /// Its id.
    pub id: EnrolmentId,
    /// The student.
    pub student: Named,
    /// The mentor.
    pub mentor: Named,
    /// The course.
    pub course: Named,
    /// The first day.
    pub starts_on: NaiveDate,
    /// How the quota stands.
    pub quota: Quota,
    /// When the last submission was sent.
    #[schema(required)]
    pub last_sent_at: Option<DateTime<Utc>>,
    /// How many shots there are.
    pub shots: i64,
    /// Concerns that are neither cleared nor set aside; none for the office, which does not read critiques.
    #[schema(required)]
    pub open_concerns: Option<i64>,
    /// Whether the student has chosen a password.
    pub joined: bool,
}

/// Which enrolments are listed.
#[derive(Debug, serde::Deserialize, utoipa::IntoParams)]
pub struct EnrolmentQuery {
    /// Only those of this course.
    pub course: Option<CourseId>,
    /// Only those with this mentor.
    pub mentor: Option<PersonId>,
    /// Only those of this student.
    pub student: Option<PersonId>,
    /// Only those whose student's name or address holds these words.
    pub q: Option<String>,
    /// Rows wanted, 1..=200.
    pub limit: Option<i64>,
    /// From the page before.
    pub cursor: Option<String>,
}

/// A student to be enrolled: somebody who is here, or somebody new.
#[derive(Debug, serde::Deserialize, Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
#[validate(schema(function = one_student))]
pub struct NewEnrolment {
    /// The course.
    pub course_id: CourseId,
    /// The mentor.
    pub mentor_id: PersonId,
    /// The first day; today if not given.
    #[serde(default)]
    pub starts_on: Option<NaiveDate>,
    /// Submissions to begin with; the course's if not given.
    #[serde(default)]
    #[validate(range(min = 0, max = 1000))]
    pub granted: Option<i32>,
    /// A student who is here.
    #[serde(default)]
    pub student_id: Option<PersonId>,
    /// Somebody new.
    #[serde(default)]
    #[validate(nested)]
    pub student: Option<NewStudent>,
}

/// Somebody new, who is invited.
#[derive(Debug, serde::Deserialize, Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewStudent {
    /// Their name.
    #[validate(length(min = 1, max = 120), custom(function = has_words))]
    pub name: String,
    /// Their address.
    #[validate(custom(function = is_mail_address))]
    pub email: String,
}

fn one_student(new: &NewEnrolment) -> Result<(), ValidationError> {
    if new.student_id.is_some() == new.student.is_some() {
        return Err(ValidationError::new("student").with_message(
            "give either student_id, of somebody who is here, or student, of somebody new".into(),
        ));
    }
    Ok(())
}

/// Whom a student goes to.
#[derive(Debug, serde::Deserialize, Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Move {
    /// The new mentor.
    pub mentor_id: PersonId,
}

/// What the office grants or takes back.
#[derive(Debug, serde::Deserialize, Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewQuotaEntry {
    /// Submissions more, or fewer if negative; not 0.
    #[validate(range(min = -1000, max = 1000), custom(function = is_some_number))]
    pub amount: i32,
    /// Why; it stays in the ledger.
    #[validate(length(min = 1, max = 500), custom(function = has_words))]
    pub reason: String,
}

fn is_some_number(amount: i32) -> Result<(), ValidationError> {
    if amount == 0 {
        return Err(ValidationError::new("amount").with_message("must not be 0".into()));
    }
    Ok(())
}

/// One line of the ledger.
#[derive(Debug, Clone, serde::Serialize, utoipa::ToSchema)]
pub struct QuotaEntry {
    /// Its id.
    pub id: QuotaEntryId,
    /// Which.
    pub kind: QuotaKind,
    /// Submissions more or fewer.
    pub amount: i32,
    /// Why.
    #[schema(required)]
    pub reason: Option<String>,
    /// Who did it, if the asker may know them.
    #[schema(required)]
    pub by: Option<String>,
    /// When.
    pub at: DateTime<Utc>,
    /// The submission it is about.
    #[schema(required)]
    pub submission_id: Option<SubmissionId>,
}

impl From<store::quota::Entry> for QuotaEntry {
    fn from(row: store::quota::Entry) -> QuotaEntry {
        QuotaEntry {
            id: row.id,
            kind: row.kind,
            amount: row.amount,
            reason: row.reason,
            by: row.by,
            at: row.at,
            submission_id: row.submission_id,
        }
    }
}

/// Whose quota is mailed.
#[derive(Debug, serde::Deserialize, Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuotaMails {
    /// These enrolments, at most 200; null: all.
    #[validate(length(max = 200))]
    pub enrolment_ids: Option<Vec<EnrolmentId>>,
}

/// How many mails were written.
#[derive(Debug, serde::Serialize, utoipa::ToSchema)]
pub struct Mailed {
    /// New ones; the same standing is mailed once a day.
    pub mailed: usize,
}

/// What a roster file would do.
#[derive(Debug, serde::Serialize, utoipa::ToSchema)]
pub struct CsvPreview {
    /// Its lines.
    pub rows: Vec<CsvRow>,
    /// What is to be mended before anything is done.
    pub problems: Vec<FieldError>,
}

/// A line of a roster file.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, utoipa::ToSchema)]
pub struct CsvRow {
    /// Its number in the file, from 1.
    pub line: u64,
    /// The student's name.
    pub name: String,
    /// The student's address.
    pub email: String,
    /// The course's name.
    pub course: String,
    /// The mentor's name, or what the file says.
    pub mentor: String,
    /// The first day.
    pub starts_on: String,
    /// Submissions to begin with.
    pub submissions: i32,
    /// What would happen.
    pub effect: Effect,
}

/// What a line of a roster file would do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, utoipa::ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Effect {
    /// The student is enrolled.
    Enrol,
    /// They are in this course already.
    Unchanged,
    /// It has to be mended.
    Problem,
}

/// What a roster file did.
#[derive(Debug, serde::Serialize, utoipa::ToSchema)]
pub struct CsvResult {
    /// Students enrolled.
    pub enrolled: usize,
    /// Those who were already.
    pub unchanged: usize,
}
