//! The act of sending: a revision, a spend, a promise.

use crate::schema::{quota_entry, revision, submission};
use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use diesel::sql_types::{
    Array, Binary, Date, Integer, Nullable, Text, Timestamptz, Uuid as SqlUuid,
};
use diesel_async::RunQueryDsl;
use domain::{
    Actor, CritiqueId, EnrolmentId, FootageId, PersonId, RevisionId, SchoolId, ShotId, Stage,
    SubmissionId,
};
use uuid::Uuid;

/// The index that lets footage be sent once.
pub const FOOTAGE_ONCE: &str = "revision_school_id_footage_id_key";

/// One submission.
#[derive(Clone, Debug, QueryableByName)]
pub struct Submission {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: SubmissionId,
    /// Within which enrolment.
    #[diesel(sql_type = SqlUuid)]
    pub enrolment_id: EnrolmentId,
    /// Of which shot.
    #[diesel(sql_type = SqlUuid)]
    pub shot_id: ShotId,
    /// Which revision.
    #[diesel(sql_type = SqlUuid)]
    pub revision_id: RevisionId,
    /// The student.
    #[diesel(sql_type = SqlUuid)]
    pub student_id: PersonId,
    /// The student's present mentor; nobody (nil) if the asker may not know them.
    #[diesel(sql_type = SqlUuid)]
    pub mentor_id: PersonId,
    /// r1, r2, ...
    #[diesel(sql_type = Integer)]
    pub number: i32,
    /// How far it had come.
    #[diesel(sql_type = Text)]
    pub stage: Stage,
    /// Its footage.
    #[diesel(sql_type = SqlUuid)]
    pub footage_id: FootageId,
    /// What the student wrote.
    #[diesel(sql_type = Text)]
    pub words: String,
    /// When it was sent.
    #[diesel(sql_type = Timestamptz)]
    pub sent_at: DateTime<Utc>,
    /// By when the critique is promised.
    #[diesel(sql_type = Date)]
    pub promised_on: NaiveDate,
    /// When the mentor opened it.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub opened_at: Option<DateTime<Utc>>,
    /// When the student took it back.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub withdrawn_at: Option<DateTime<Utc>>,
    /// When it was given back because its footage could not be prepared.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub returned_at: Option<DateTime<Utc>>,
    /// Why.
    #[diesel(sql_type = Nullable<Text>)]
    pub return_reason: Option<String>,
    /// Its critique, if the asker may see it.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub critique_id: Option<CritiqueId>,
    /// When that goes or went out.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub released_at: Option<DateTime<Utc>>,
    /// The hash of the request that sent it.
    #[diesel(sql_type = Binary)]
    pub request_hash: Vec<u8>,
}

/// A submission to be.
#[derive(Clone, Debug)]
pub struct NewSubmission {
    /// Its id.
    pub id: SubmissionId,
    /// Its revision's id.
    pub revision: RevisionId,
    /// The school.
    pub school: SchoolId,
    /// Within which enrolment.
    pub enrolment: EnrolmentId,
    /// The student.
    pub student: PersonId,
    /// Of which shot.
    pub shot: ShotId,
    /// What is sent.
    pub footage: FootageId,
    /// How far it has come.
    pub stage: Stage,
    /// What the student writes.
    pub words: String,
    /// The client's key for this one act.
    pub idem_key: String,
    /// The request's hash.
    pub request_hash: Vec<u8>,
    /// Now.
    pub at: DateTime<Utc>,
    /// The promise.
    pub promised_on: NaiveDate,
}

const SELECT: &str = "SELECT u.id, u.enrolment_id, u.shot_id, u.revision_id, u.student_id,
   coalesce(e.mentor_id, '00000000-0000-0000-0000-000000000000') AS mentor_id, r.number, r.stage, r.footage_id, u.words,
   u.sent_at, u.promised_on, u.opened_at, u.withdrawn_at, u.returned_at, u.return_reason, c.id AS critique_id, c.released_at, u.request_hash
 FROM submission u JOIN revision r ON r.id = u.revision_id LEFT JOIN enrolment e ON e.id = u.enrolment_id
 LEFT JOIN critique c ON c.school_id = u.school_id AND c.submission_id = u.id";

/// The submission, if the asker may see it.
pub async fn get(conn: &mut Conn, id: SubmissionId) -> StoreResult<Option<Submission>> {
    Ok(statement(format!("{SELECT} WHERE u.id = $1"))
        .bind::<SqlUuid, _>(id)
        .get_result(conn)
        .await
        .optional()?)
}

/// The submission that this key sent, if it did.
pub async fn by_key(
    conn: &mut Conn,
    enrolment: EnrolmentId,
    key: &str,
) -> StoreResult<Option<Submission>> {
    Ok(statement(format!(
        "{SELECT} WHERE u.enrolment_id = $1 AND u.idem_key = $2"
    ))
    .bind::<SqlUuid, _>(enrolment)
    .bind::<Text, _>(key)
    .get_result(conn)
    .await
    .optional()?)
}

/// The submission that sent this footage.
pub async fn by_footage(conn: &mut Conn, footage: FootageId) -> StoreResult<Option<Submission>> {
    Ok(statement(format!("{SELECT} WHERE r.footage_id = $1"))
        .bind::<SqlUuid, _>(footage)
        .get_result(conn)
        .await
        .optional()?)
}

/// Every submission of these shots, oldest first.
pub async fn of_shots(conn: &mut Conn, shots: &[ShotId]) -> StoreResult<Vec<Submission>> {
    Ok(statement(format!(
        "{SELECT} WHERE u.shot_id = ANY ($1) ORDER BY u.sent_at, u.id"
    ))
    .bind::<Array<SqlUuid>, _>(shots)
    .load(conn)
    .await?)
}

/// Holds the enrolment's row, so that two sends of one enrolment go one after the other: numbers of revisions have no gaps, and the last
/// submission has one taker.
pub async fn hold(conn: &mut Conn, enrolment: EnrolmentId) -> StoreResult<()> {
    statement("SELECT pg_advisory_xact_lock(hashtextextended($1, 0))")
        .bind::<Text, _>(enrolment.to_string())
        .execute(conn)
        .await?;
    Ok(())
}

/// Writes revision, submission and spend. Refused by `quota_left` when none is left.
pub async fn send(conn: &mut Conn, new: &NewSubmission) -> StoreResult<()> {
    statement(
        "INSERT INTO revision (id, school_id, shot_id, number, parent_id, footage_id, stage, created_at)
         SELECT $1, $2, $3, coalesce(max(r.number), 0) + 1, (array_agg(r.id ORDER BY r.number DESC))[1], $4, $5, $6
         FROM revision r WHERE r.shot_id = $3",
    )
    .bind::<SqlUuid, _>(new.revision)
    .bind::<SqlUuid, _>(new.school)
    .bind::<SqlUuid, _>(new.shot)
    .bind::<SqlUuid, _>(new.footage)
    .bind::<Text, _>(new.stage)
    .bind::<Timestamptz, _>(new.at)
    .execute(conn)
    .await?;
    diesel::insert_into(submission::table)
        .values((
            submission::id.eq(new.id.0),
            submission::school_id.eq(new.school.0),
            submission::enrolment_id.eq(new.enrolment.0),
            submission::student_id.eq(new.student.0),
            submission::shot_id.eq(new.shot.0),
            submission::revision_id.eq(new.revision.0),
            submission::idem_key.eq(&new.idem_key),
            submission::request_hash.eq(&new.request_hash),
            submission::words.eq(&new.words),
            submission::sent_at.eq(new.at),
            submission::promised_on.eq(new.promised_on),
        ))
        .execute(conn)
        .await?;
    enter(
        conn,
        new.school,
        new.enrolment,
        new.id,
        new.student,
        "spend",
        -1,
        None,
        new.at,
    )
    .await
}

/// The student takes it back; false if the mentor was quicker or it is gone already.
pub async fn withdraw(
    conn: &mut Conn,
    actor: &Actor,
    sent: &Submission,
    at: DateTime<Utc>,
) -> StoreResult<bool> {
    let open = submission::table.filter(
        submission::id
            .eq(sent.id.0)
            .and(submission::opened_at.is_null())
            .and(submission::withdrawn_at.is_null())
            .and(submission::returned_at.is_null()),
    );
    if diesel::update(open)
        .set(submission::withdrawn_at.eq(at))
        .execute(conn)
        .await?
        == 0
    {
        return Ok(false);
    }
    enter(
        conn,
        actor.school,
        sent.enrolment_id,
        sent.id,
        actor.person,
        "return",
        1,
        Some("withdrawn"),
        at,
    )
    .await?;
    Ok(true)
}

/// It is given back, because its footage cannot be prepared; false if it was given back before.
pub async fn give_back(
    conn: &mut Conn,
    actor: &Actor,
    sent: &Submission,
    reason: &str,
    at: DateTime<Utc>,
) -> StoreResult<bool> {
    let reason: String = reason.chars().take(500).collect();
    let open = submission::table.filter(
        submission::id
            .eq(sent.id.0)
            .and(submission::withdrawn_at.is_null())
            .and(submission::returned_at.is_null()),
    );
    let set = (
        submission::returned_at.eq(at),
        submission::return_reason.eq(&reason),
    );
    if diesel::update(open).set(set).execute(conn).await? == 0 {
        return Ok(false);
    }
    enter(
        conn,
        actor.school,
        sent.enrolment_id,
        sent.id,
        actor.person,
        "return",
        1,
        Some(&reason),
        at,
    )
    .await?;
    Ok(true)
}

#[expect(
    clippy::too_many_arguments,
    reason = "the columns of one line of the ledger"
)]
async fn enter(
    conn: &mut Conn,
    school: SchoolId,
    enrolment: EnrolmentId,
    about: SubmissionId,
    by: PersonId,
    kind: &str,
    amount: i32,
    reason: Option<&str>,
    at: DateTime<Utc>,
) -> StoreResult<()> {
    diesel::insert_into(quota_entry::table)
        .values((
            quota_entry::id.eq(Uuid::now_v7()),
            quota_entry::school_id.eq(school.0),
            quota_entry::enrolment_id.eq(enrolment.0),
            quota_entry::kind.eq(kind),
            quota_entry::amount.eq(amount),
            quota_entry::submission_id.eq(about.0),
            quota_entry::reason.eq(reason),
            quota_entry::actor_id.eq(by.0),
            quota_entry::created_at.eq(at),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

/// The mentor opens it: from now on it cannot be withdrawn, and it has a critique, a draft of the asker's. Opening again gives the same one.
/// None: it was withdrawn or given back.
pub async fn open(
    conn: &mut Conn,
    actor: &Actor,
    sent: &Submission,
    at: DateTime<Utc>,
) -> StoreResult<Option<CritiqueId>> {
    let waiting = submission::table.filter(
        submission::id
            .eq(sent.id.0)
            .and(submission::withdrawn_at.is_null())
            .and(submission::returned_at.is_null()),
    );
    let opened = submission::opened_at.eq(diesel::dsl::sql::<Nullable<Timestamptz>>(
        "coalesce(opened_at, ",
    )
    .bind::<Timestamptz, _>(at)
    .sql(")"));
    if diesel::update(waiting).set(opened).execute(conn).await? == 0 {
        return Ok(None);
    }
    statement(
        "INSERT INTO critique (id, school_id, enrolment_id, submission_id, revision_id, shot_id, student_id, mentor_id, created_at)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT (school_id, submission_id) DO NOTHING",
    )
    .bind::<SqlUuid, _>(Uuid::now_v7())
    .bind::<SqlUuid, _>(actor.school)
    .bind::<SqlUuid, _>(sent.enrolment_id)
    .bind::<SqlUuid, _>(sent.id)
    .bind::<SqlUuid, _>(sent.revision_id)
    .bind::<SqlUuid, _>(sent.shot_id)
    .bind::<SqlUuid, _>(sent.student_id)
    .bind::<SqlUuid, _>(actor.person)
    .bind::<Timestamptz, _>(at)
    .execute(conn)
    .await?;
    Ok(get(conn, sent.id).await?.and_then(|sent| sent.critique_id))
}

/// Sent before in this shot?
pub async fn any_of_shot(conn: &mut Conn, shot: ShotId) -> StoreResult<bool> {
    let rows: i64 = revision::table
        .filter(revision::shot_id.eq(shot.0))
        .count()
        .get_result(conn)
        .await?;
    Ok(rows > 0)
}
