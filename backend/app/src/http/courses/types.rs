//! Shapes of courses.

use domain::{AssignmentId, CourseId};
use store::courses::{AssignmentWords, CourseWords};

use crate::http::persons::types::has_words;

/// A course.
#[derive(Debug, Clone, serde::Serialize, utoipa::ToSchema)]
pub struct Course {
    /// Its id.
    pub id: CourseId,
    /// Its name.
    pub name: String,
    /// What it is about.
    pub brief: String,
    /// Submissions that an enrolment begins with.
    pub granted: i32,
    /// Days until the critique.
    pub promise_days: i32,
    /// Its assignments, oldest first.
    pub assignments: Vec<Assignment>,
}

impl Course {
    /// From its rows.
    #[must_use]
    pub fn new(row: store::courses::Course, assignments: Vec<Assignment>) -> Course {
        Course {
            id: row.id,
            name: row.words.name,
            brief: row.words.brief,
            granted: row.words.granted,
            promise_days: row.words.promise_days,
            assignments,
        }
    }
}

/// An assignment.
#[derive(Debug, Clone, serde::Serialize, utoipa::ToSchema)]
pub struct Assignment {
    /// Its id.
    pub id: AssignmentId,
    /// The course it belongs to.
    pub course_id: CourseId,
    /// Its title.
    pub title: String,
    /// What is to be animated.
    pub brief: String,
}

impl From<store::courses::Assignment> for Assignment {
    fn from(row: store::courses::Assignment) -> Assignment {
        Assignment {
            id: row.id,
            course_id: row.course_id,
            title: row.words.title,
            brief: row.words.brief,
        }
    }
}

/// A course to be offered.
#[derive(Debug, serde::Deserialize, validator::Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewCourse {
    /// Its name.
    #[validate(length(min = 1, max = 120), custom(function = has_words))]
    pub name: String,
    /// What it is about.
    #[validate(length(max = 8000))]
    pub brief: String,
    /// Submissions that an enrolment begins with.
    #[validate(range(min = 0, max = 1000))]
    pub granted: i32,
    /// Days until the critique.
    #[validate(range(min = 1, max = 365))]
    pub promise_days: i32,
}

impl From<NewCourse> for CourseWords {
    fn from(new: NewCourse) -> CourseWords {
        CourseWords {
            name: new.name.trim().to_owned(),
            brief: new.brief,
            granted: new.granted,
            promise_days: new.promise_days,
        }
    }
}

/// What is amended about a course. Enrolments keep what they were granted.
#[derive(Debug, serde::Deserialize, validator::Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CourseChange {
    /// Its name.
    #[serde(default)]
    #[validate(length(min = 1, max = 120), custom(function = has_words))]
    pub name: Option<String>,
    /// What it is about.
    #[serde(default)]
    #[validate(length(max = 8000))]
    pub brief: Option<String>,
    /// Submissions that an enrolment begins with.
    #[serde(default)]
    #[validate(range(min = 0, max = 1000))]
    pub granted: Option<i32>,
    /// Days until the critique.
    #[serde(default)]
    #[validate(range(min = 1, max = 365))]
    pub promise_days: Option<i32>,
}

impl CourseChange {
    /// The words with the change.
    #[must_use]
    pub fn of(self, before: CourseWords) -> CourseWords {
        CourseWords {
            name: self.name.map_or(before.name, |name| name.trim().to_owned()),
            brief: self.brief.unwrap_or(before.brief),
            granted: self.granted.unwrap_or(before.granted),
            promise_days: self.promise_days.unwrap_or(before.promise_days),
        }
    }
}

/// An assignment to be set.
#[derive(Debug, serde::Deserialize, validator::Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewAssignment {
    /// Its title.
    #[validate(length(min = 1, max = 120), custom(function = has_words))]
    pub title: String,
    /// What is to be animated.
    #[validate(length(max = 8000))]
    pub brief: String,
}

/// What is amended about an assignment.
#[derive(Debug, serde::Deserialize, validator::Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AssignmentChange {
    /// Its title.
    #[serde(default)]
    #[validate(length(min = 1, max = 120), custom(function = has_words))]
    pub title: Option<String>,
    /// What is to be animated.
    #[serde(default)]
    #[validate(length(max = 8000))]
    pub brief: Option<String>,
}

impl AssignmentChange {
    /// The words with the change.
    #[must_use]
    pub fn of(self, before: AssignmentWords) -> AssignmentWords {
        AssignmentWords {
            title: self
                .title
                .map_or(before.title, |title| title.trim().to_owned()),
            brief: self.brief.unwrap_or(before.brief),
        }
    }
}
