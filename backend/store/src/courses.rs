//! Courses and their assignments.

use crate::schema::{assignment, course};
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use domain::{AssignmentId, CourseId, SchoolId};

/// The constraint that keeps a course's name unique within a school.
pub const ONE_NAME: &str = "course_school_id_name_key";

/// What the office says about a course.
#[derive(Clone, Debug, PartialEq, Eq, Queryable, Selectable, AsChangeset)]
#[diesel(table_name = course)]
pub struct CourseWords {
    /// Its name.
    pub name: String,
    /// What it is about.
    pub brief: String,
    /// Submissions that an enrolment begins with.
    pub granted: i32,
    /// Days until the critique.
    pub promise_days: i32,
}

/// A course.
#[derive(Clone, Debug, Queryable, Selectable)]
#[diesel(table_name = course)]
pub struct Course {
    /// Its id.
    #[diesel(deserialize_as = uuid::Uuid)]
    pub id: CourseId,
    /// The rest.
    #[diesel(embed)]
    pub words: CourseWords,
}

/// What the office says about an assignment.
#[derive(Clone, Debug, PartialEq, Eq, Queryable, Selectable, AsChangeset)]
#[diesel(table_name = assignment)]
pub struct AssignmentWords {
    /// Its title.
    pub title: String,
    /// What is to be animated.
    pub brief: String,
}

/// An assignment.
#[derive(Clone, Debug, Queryable, Selectable)]
#[diesel(table_name = assignment)]
pub struct Assignment {
    /// Its id.
    #[diesel(deserialize_as = uuid::Uuid)]
    pub id: AssignmentId,
    /// The course it belongs to.
    #[diesel(deserialize_as = uuid::Uuid)]
    pub course_id: CourseId,
    /// The rest.
    #[diesel(embed)]
    pub words: AssignmentWords,
}

/// Courses by name, after the one of that name.
pub async fn list(conn: &mut Conn, after: Option<&str>, limit: i64) -> StoreResult<Vec<Course>> {
    let mut query = course::table
        .select(Course::as_select())
        .order(course::name)
        .limit(limit)
        .into_boxed();
    if let Some(after) = after {
        query = query.filter(course::name.gt(after));
    }
    Ok(query.load(conn).await?)
}

/// One course.
pub async fn get(conn: &mut Conn, id: CourseId) -> StoreResult<Option<Course>> {
    Ok(course::table
        .find(id.0)
        .select(Course::as_select())
        .first(conn)
        .await
        .optional()?)
}

/// The courses of these names.
pub async fn by_name(conn: &mut Conn, names: &[String]) -> StoreResult<Vec<Course>> {
    Ok(course::table
        .filter(course::name.eq_any(names))
        .select(Course::as_select())
        .load(conn)
        .await?)
}

/// The assignments of these courses, oldest first.
pub async fn assignments(conn: &mut Conn, courses: &[CourseId]) -> StoreResult<Vec<Assignment>> {
    let ids: Vec<uuid::Uuid> = courses.iter().map(|course| course.0).collect();
    Ok(assignment::table
        .filter(assignment::course_id.eq_any(ids))
        .order((assignment::created_at, assignment::id))
        .select(Assignment::as_select())
        .load(conn)
        .await?)
}

/// One assignment.
pub async fn get_assignment(conn: &mut Conn, id: AssignmentId) -> StoreResult<Option<Assignment>> {
    Ok(assignment::table
        .find(id.0)
        .select(Assignment::as_select())
        .first(conn)
        .await
        .optional()?)
}

/// Adds a course; refused by [`ONE_NAME`] if there is one of that name.
pub async fn add(
    conn: &mut Conn,
    school: SchoolId,
    id: CourseId,
    words: &CourseWords,
    at: DateTime<Utc>,
) -> StoreResult<()> {
    diesel::insert_into(course::table)
        .values((
            course::id.eq(id.0),
            course::school_id.eq(school.0),
            course::name.eq(&words.name),
            course::brief.eq(&words.brief),
            course::granted.eq(words.granted),
            course::promise_days.eq(words.promise_days),
            course::created_at.eq(at),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

/// Amends a course; refused by [`ONE_NAME`] if there is another one of that name.
pub async fn amend(conn: &mut Conn, id: CourseId, words: &CourseWords) -> StoreResult<()> {
    diesel::update(course::table.find(id.0))
        .set(words)
        .execute(conn)
        .await?;
    Ok(())
}

/// Adds an assignment.
pub async fn add_assignment(
    conn: &mut Conn,
    school: SchoolId,
    new: &Assignment,
    at: DateTime<Utc>,
) -> StoreResult<()> {
    diesel::insert_into(assignment::table)
        .values((
            assignment::id.eq(new.id.0),
            assignment::school_id.eq(school.0),
            assignment::course_id.eq(new.course_id.0),
            assignment::title.eq(&new.words.title),
            assignment::brief.eq(&new.words.brief),
            assignment::created_at.eq(at),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

/// Amends an assignment.
pub async fn amend_assignment(
    conn: &mut Conn,
    id: AssignmentId,
    words: &AssignmentWords,
) -> StoreResult<()> {
    diesel::update(assignment::table.find(id.0))
        .set(words)
        .execute(conn)
        .await?;
    Ok(())
}
