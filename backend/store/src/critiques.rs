//! The mentor's answers to submissions.

use crate::schema::critique;
use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{Array, Integer, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{CritiqueId, EnrolmentId, FootageId, PersonId, RevisionId, ShotId, SubmissionId};

/// A critique with what it is about.
#[derive(Clone, Debug, QueryableByName)]
pub struct Critique {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: CritiqueId,
    /// The submission it answers.
    #[diesel(sql_type = SqlUuid)]
    pub submission_id: SubmissionId,
    /// The revision.
    #[diesel(sql_type = SqlUuid)]
    pub revision_id: RevisionId,
    /// That revision's number.
    #[diesel(sql_type = Integer)]
    pub number: i32,
    /// Its footage.
    #[diesel(sql_type = SqlUuid)]
    pub footage_id: FootageId,
    /// The shot.
    #[diesel(sql_type = SqlUuid)]
    pub shot_id: ShotId,
    /// The enrolment.
    #[diesel(sql_type = SqlUuid)]
    pub enrolment_id: EnrolmentId,
    /// The student.
    #[diesel(sql_type = SqlUuid)]
    pub student_id: PersonId,
    /// Its author.
    #[diesel(sql_type = SqlUuid)]
    pub mentor_id: PersonId,
    /// Their name.
    #[diesel(sql_type = Nullable<Text>)]
    pub mentor: Option<String>,
    /// The student's present mentor, if the asker sees the enrolment.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub present_mentor_id: Option<PersonId>,
    /// The words over all notes.
    #[diesel(sql_type = Text)]
    pub summary: String,
    /// Of the summary.
    #[diesel(sql_type = Integer)]
    pub version: i32,
    /// When it goes or went out.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub released_at: Option<DateTime<Utc>>,
}

const SELECT: &str = "SELECT c.id, c.submission_id, c.revision_id, r.number, r.footage_id, c.shot_id, c.enrolment_id, c.student_id, c.mentor_id,
   m.name AS mentor, e.mentor_id AS present_mentor_id, c.summary, c.version, c.released_at
 FROM critique c JOIN revision r ON r.id = c.revision_id LEFT JOIN person m ON m.id = c.mentor_id LEFT JOIN enrolment e ON e.id = c.enrolment_id";

/// The critique, if the asker may see it.
pub async fn get(conn: &mut Conn, id: CritiqueId) -> StoreResult<Option<Critique>> {
    Ok(statement(format!("{SELECT} WHERE c.id = $1"))
        .bind::<SqlUuid, _>(id)
        .get_result(conn)
        .await
        .optional()?)
}

/// The newest of a shot that is out at `at`; if it has none, the newest of its student.
pub async fn last_before(
    conn: &mut Conn,
    student: PersonId,
    shot: ShotId,
    at: DateTime<Utc>,
) -> StoreResult<Option<Critique>> {
    Ok(statement(format!(
        "{SELECT} WHERE c.student_id = $1 AND c.released_at <= $2 ORDER BY c.shot_id = $3 DESC, c.released_at DESC LIMIT 1"
    ))
    .bind::<SqlUuid, _>(student)
    .bind::<Timestamptz, _>(at)
    .bind::<SqlUuid, _>(shot)
    .get_result(conn)
    .await
    .optional()?)
}

/// Several by their ids.
pub async fn by_ids(conn: &mut Conn, ids: &[CritiqueId]) -> StoreResult<Vec<Critique>> {
    Ok(statement(format!("{SELECT} WHERE c.id = ANY ($1)"))
        .bind::<Array<SqlUuid>, _>(ids)
        .load(conn)
        .await?)
}

/// Holds the critique, so that writing to it, releasing it and moving its student go one after the other; `move_enrolment` takes
/// the same lock.
pub async fn hold(conn: &mut Conn, id: CritiqueId) -> StoreResult<()> {
    statement("SELECT pg_advisory_xact_lock(hashtextextended($1, 1))")
        .bind::<Text, _>(id.to_string())
        .execute(conn)
        .await?;
    Ok(())
}

/// Rewrites the summary of a draft; the new version, or none if it is at another version or no draft any more.
pub async fn set_summary(
    conn: &mut Conn,
    id: CritiqueId,
    version: i32,
    summary: &str,
) -> StoreResult<Option<i32>> {
    let draft = critique::table.filter(
        critique::id
            .eq(id.0)
            .and(critique::version.eq(version))
            .and(critique::released_at.is_null()),
    );
    let rows = diesel::update(draft)
        .set((
            critique::summary.eq(summary),
            critique::version.eq(version + 1),
        ))
        .execute(conn)
        .await?;
    Ok((rows == 1).then_some(version + 1))
}

/// Sets when a draft goes out; false if it is none any more.
pub async fn release(conn: &mut Conn, id: CritiqueId, at: DateTime<Utc>) -> StoreResult<bool> {
    let draft = critique::table.filter(critique::id.eq(id.0).and(critique::released_at.is_null()));
    Ok(diesel::update(draft)
        .set(critique::released_at.eq(at))
        .execute(conn)
        .await?
        == 1)
}

/// Makes it a draft again, while it has not gone out at `now`; false if it has.
pub async fn take_back(conn: &mut Conn, id: CritiqueId, now: DateTime<Utc>) -> StoreResult<bool> {
    let leaving = critique::table.filter(critique::id.eq(id.0).and(critique::released_at.gt(now)));
    Ok(diesel::update(leaving)
        .set(critique::released_at.eq(None::<DateTime<Utc>>))
        .execute(conn)
        .await?
        == 1)
}
