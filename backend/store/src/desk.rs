//! What waits on a mentor's desk.

use crate::statement::filtered;
use crate::{Conn, StoreResult};
use chrono::{DateTime, NaiveDate, Utc};
use diesel::QueryableByName;
use diesel::sql_types::{
    BigInt, Date, Float, Integer, Jsonb, Nullable, Text, Timestamptz, Uuid as SqlUuid,
};
use diesel_async::RunQueryDsl;
use domain::{CourseId, FootageId, FootageState, PersonId, ShotId, Stage, SubmissionId};

/// One submission that waits, or whose critique is a draft.
#[derive(Clone, Debug, QueryableByName)]
pub struct Row {
    /// The submission.
    #[diesel(sql_type = SqlUuid)]
    pub submission_id: SubmissionId,
    /// The promise.
    #[diesel(sql_type = Date)]
    pub promised_on: NaiveDate,
    /// The shot.
    #[diesel(sql_type = SqlUuid)]
    pub shot_id: ShotId,
    /// Its title.
    #[diesel(sql_type = Text)]
    pub shot: String,
    /// The student.
    #[diesel(sql_type = SqlUuid)]
    pub student_id: PersonId,
    /// Their name.
    #[diesel(sql_type = Text)]
    pub student: String,
    /// The course.
    #[diesel(sql_type = SqlUuid)]
    pub course_id: CourseId,
    /// Its name.
    #[diesel(sql_type = Text)]
    pub course: String,
    /// The revision's number.
    #[diesel(sql_type = Integer)]
    pub number: i32,
    /// The footage.
    #[diesel(sql_type = SqlUuid)]
    pub footage_id: FootageId,
    /// Where that stands.
    #[diesel(sql_type = Text)]
    pub footage_state: FootageState,
    /// How far.
    #[diesel(sql_type = Float)]
    pub progress: f32,
    /// Its frames.
    #[diesel(sql_type = Integer)]
    pub frames: i32,
    /// What was made of it.
    #[diesel(sql_type = Nullable<Jsonb>)]
    pub derived: Option<serde_json::Value>,
    /// When the revision before was sent.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub sent_before: Option<DateTime<Utc>>,
    /// How far the revision before had come.
    #[diesel(sql_type = Nullable<Text>)]
    pub stage_before: Option<Stage>,
    /// When this student's last critique went out.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub last_seen_at: Option<DateTime<Utc>>,
    /// Notes of the draft.
    #[diesel(sql_type = BigInt)]
    pub drafted_notes: i64,
}

/// What waits for `mentor` at `at`, by promised day, after the row given.
pub async fn list(
    conn: &mut Conn,
    mentor: PersonId,
    at: DateTime<Utc>,
    after: Option<(NaiveDate, SubmissionId)>,
    limit: i64,
) -> StoreResult<Vec<Row>> {
    let (day, id) = after.unzip();
    Ok(filtered(
        "SELECT u.id AS submission_id, u.promised_on, s.id AS shot_id, s.title AS shot, u.student_id, p.name AS student, s.course_id, c.name AS course,
           r.number, r.footage_id, f.state AS footage_state, f.progress, f.frames, f.derived,
           (SELECT b.sent_at FROM submission b WHERE b.school_id = u.school_id AND b.shot_id = u.shot_id AND b.sent_at < u.sent_at
              AND b.withdrawn_at IS NULL AND b.returned_at IS NULL ORDER BY b.sent_at DESC LIMIT 1) AS sent_before,
           (SELECT br.stage FROM submission b JOIN revision br ON br.id = b.revision_id WHERE b.school_id = u.school_id AND b.shot_id = u.shot_id
              AND b.sent_at < u.sent_at AND b.withdrawn_at IS NULL AND b.returned_at IS NULL ORDER BY b.sent_at DESC LIMIT 1) AS stage_before,
           (SELECT max(k.released_at) FROM critique k WHERE k.school_id = u.school_id AND k.student_id = u.student_id AND k.released_at <= $2) AS last_seen_at,
           (SELECT count(*) FROM note n WHERE n.school_id = u.school_id AND n.critique_id = q.id) AS drafted_notes
         FROM submission u JOIN enrolment e ON e.id = u.enrolment_id JOIN shot s ON s.id = u.shot_id JOIN person p ON p.id = u.student_id
         JOIN course c ON c.id = s.course_id JOIN revision r ON r.id = u.revision_id JOIN footage f ON f.id = r.footage_id
         LEFT JOIN critique q ON q.school_id = u.school_id AND q.submission_id = u.id
         WHERE e.mentor_id = $1 AND u.withdrawn_at IS NULL AND u.returned_at IS NULL AND (q.id IS NULL OR q.released_at IS NULL OR q.released_at > $2)
           AND ($3::date IS NULL OR (u.promised_on, u.id) > ($3, $4))
         ORDER BY u.promised_on, u.id LIMIT $5",
    )
    .bind::<SqlUuid, _>(mentor)
    .bind::<Timestamptz, _>(at)
    .bind::<Nullable<Date>, _>(day)
    .bind::<Nullable<SqlUuid>, _>(id)
    .bind::<BigInt, _>(limit)
    .load(conn)
    .await?)
}
