//! Shots and their chains of revisions.

use crate::schema::shot;
use crate::statement::{filtered, statement};
use crate::submissions::{self, Submission};
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{Array, BigInt, Integer, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{
    AssignmentId, CourseId, EnrolmentId, FootageId, FootageState, PersonId, RevisionId, SchoolId,
    ShotId, Stage,
};
use std::collections::HashMap;

/// A shot with the names around it.
#[derive(Clone, Debug, QueryableByName)]
pub struct Shot {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: ShotId,
    /// What the student calls it.
    #[diesel(sql_type = Text)]
    pub title: String,
    /// The number its first frame is shown under.
    #[diesel(sql_type = Integer)]
    pub first_frame: i32,
    /// The enrolment it is sent within.
    #[diesel(sql_type = SqlUuid)]
    pub enrolment_id: EnrolmentId,
    /// The course.
    #[diesel(sql_type = SqlUuid)]
    pub course_id: CourseId,
    /// The course's name.
    #[diesel(sql_type = Text)]
    pub course: String,
    /// The student.
    #[diesel(sql_type = SqlUuid)]
    pub student_id: PersonId,
    /// Their name.
    #[diesel(sql_type = Text)]
    pub student: String,
    /// The student's present mentor; nobody (nil) if the asker may not know them.
    #[diesel(sql_type = SqlUuid)]
    pub mentor_id: PersonId,
    /// The brief it answers.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub assignment_id: Option<AssignmentId>,
    /// That brief's title.
    #[diesel(sql_type = Nullable<Text>)]
    pub assignment: Option<String>,
    /// When it was begun.
    #[diesel(sql_type = Timestamptz)]
    pub created_at: DateTime<Utc>,
}

/// A shot to be.
#[derive(Clone, Debug)]
pub struct NewShot {
    /// Its id.
    pub id: ShotId,
    /// The school.
    pub school: SchoolId,
    /// The enrolment; the course comes from it.
    pub enrolment: EnrolmentId,
    /// The student.
    pub student: PersonId,
    /// The brief it answers.
    pub assignment: Option<AssignmentId>,
    /// Its title.
    pub title: String,
    /// The number of its first frame.
    pub first_frame: i32,
    /// Now.
    pub at: DateTime<Utc>,
}

/// A revision of a chain.
#[derive(Clone, Debug, QueryableByName)]
struct RevisionRow {
    #[diesel(sql_type = SqlUuid)]
    id: RevisionId,
    #[diesel(sql_type = SqlUuid)]
    shot_id: ShotId,
    #[diesel(sql_type = Integer)]
    number: i32,
    #[diesel(sql_type = Text)]
    stage: Stage,
    #[diesel(sql_type = SqlUuid)]
    footage_id: FootageId,
    #[diesel(sql_type = Nullable<Text>)]
    footage_state: Option<FootageState>,
    #[diesel(sql_type = Nullable<Integer>)]
    frames: Option<i32>,
}

/// A revision with the submission that sent it.
#[derive(Clone, Debug)]
pub struct Revision {
    /// Its id.
    pub id: RevisionId,
    /// r1, r2, ...
    pub number: i32,
    /// How far it had come.
    pub stage: Stage,
    /// Its footage.
    pub footage_id: FootageId,
    /// Where that stands; none: not the asker's to see.
    pub footage_state: Option<FootageState>,
    /// Its frames.
    pub frames: Option<i32>,
    /// The act of sending it.
    pub submission: Submission,
}

const SELECT: &str = "SELECT s.id, s.title, s.first_frame, s.enrolment_id, s.course_id, c.name AS course, s.student_id, p.name AS student,
   coalesce(e.mentor_id, '00000000-0000-0000-0000-000000000000') AS mentor_id, s.assignment_id, a.title AS assignment, s.created_at
 FROM shot s JOIN course c ON c.id = s.course_id JOIN person p ON p.id = s.student_id LEFT JOIN enrolment e ON e.id = s.enrolment_id
 LEFT JOIN assignment a ON a.id = s.assignment_id";

/// Begins a shot; false if the enrolment is not the student's.
pub async fn add(conn: &mut Conn, new: &NewShot) -> StoreResult<bool> {
    let rows = statement(
        "INSERT INTO shot (id, school_id, enrolment_id, course_id, student_id, assignment_id, title, first_frame, created_at)
         SELECT $1, $2, e.id, e.course_id, e.student_id, $3, $4, $5, $6 FROM enrolment e WHERE e.id = $7 AND e.student_id = $8",
    )
    .bind::<SqlUuid, _>(new.id)
    .bind::<SqlUuid, _>(new.school)
    .bind::<Nullable<SqlUuid>, _>(new.assignment)
    .bind::<Text, _>(&new.title)
    .bind::<Integer, _>(new.first_frame)
    .bind::<Timestamptz, _>(new.at)
    .bind::<SqlUuid, _>(new.enrolment)
    .bind::<SqlUuid, _>(new.student)
    .execute(conn)
    .await?;
    Ok(rows == 1)
}

/// The shot, if the asker may see it.
pub async fn get(conn: &mut Conn, id: ShotId) -> StoreResult<Option<Shot>> {
    Ok(statement(format!("{SELECT} WHERE s.id = $1"))
        .bind::<SqlUuid, _>(id)
        .get_result(conn)
        .await
        .optional()?)
}

/// Shots of enrolments that the asker sees, newest first; of one student if given.
pub async fn list(
    conn: &mut Conn,
    student: Option<PersonId>,
    after: Option<(DateTime<Utc>, ShotId)>,
    limit: i64,
) -> StoreResult<Vec<Shot>> {
    let (at, id) = after.unzip();
    Ok(filtered(format!(
        "{SELECT} WHERE e.id IS NOT NULL AND ($1::uuid IS NULL OR s.student_id = $1) AND ($2::timestamptz IS NULL OR (s.created_at, s.id) < ($2, $3))
         ORDER BY s.created_at DESC, s.id DESC LIMIT $4"
    ))
    .bind::<Nullable<SqlUuid>, _>(student)
    .bind::<Nullable<Timestamptz>, _>(at)
    .bind::<Nullable<SqlUuid>, _>(id)
    .bind::<BigInt, _>(limit)
    .load(conn)
    .await?)
}

/// Changes title and first frame.
pub async fn change(conn: &mut Conn, id: ShotId, title: &str, first_frame: i32) -> StoreResult<()> {
    diesel::update(shot::table.find(id.0))
        .set((shot::title.eq(title), shot::first_frame.eq(first_frame)))
        .execute(conn)
        .await?;
    Ok(())
}

#[derive(QueryableByName)]
struct FootageRow {
    #[diesel(sql_type = Integer)]
    number: i32,
    #[diesel(sql_type = SqlUuid)]
    footage_id: FootageId,
}

/// The numbers of a shot's revisions with their footage.
pub async fn footage_by_number(
    conn: &mut Conn,
    shot: ShotId,
) -> StoreResult<Vec<(i32, FootageId)>> {
    let rows: Vec<FootageRow> =
        statement("SELECT r.number, r.footage_id FROM revision r WHERE r.shot_id = $1")
            .bind::<SqlUuid, _>(shot)
            .load(conn)
            .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.number, row.footage_id))
        .collect())
}

/// The chains of these shots, each from r1 on.
pub async fn chains(
    conn: &mut Conn,
    shots: &[ShotId],
) -> StoreResult<HashMap<ShotId, Vec<Revision>>> {
    let rows: Vec<RevisionRow> = statement(
        "SELECT r.id, r.shot_id, r.number, r.stage, r.footage_id, f.state AS footage_state, f.frames
         FROM revision r LEFT JOIN footage f ON f.id = r.footage_id WHERE r.shot_id = ANY ($1) ORDER BY r.shot_id, r.number",
    )
    .bind::<Array<SqlUuid>, _>(shots)
    .load(conn)
    .await?;
    let mut sent: HashMap<RevisionId, Submission> = submissions::of_shots(conn, shots)
        .await?
        .into_iter()
        .map(|submission| (submission.revision_id, submission))
        .collect();
    let mut chains: HashMap<ShotId, Vec<Revision>> = HashMap::new();
    for row in rows {
        if let Some(submission) = sent.remove(&row.id) {
            chains.entry(row.shot_id).or_default().push(Revision {
                id: row.id,
                number: row.number,
                stage: row.stage,
                footage_id: row.footage_id,
                footage_state: row.footage_state,
                frames: row.frames,
                submission,
            });
        }
    }
    Ok(chains)
}
