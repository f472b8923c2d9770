//! The ledger: every submission granted, spent, given back or taken back is a line that stays.

use crate::schema::quota_entry;
use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{
    Array, BigInt, Bool, Integer, Nullable, Text, Timestamptz, Uuid as SqlUuid,
};
use diesel_async::RunQueryDsl;
use domain::{EnrolmentId, PersonId, Quota, QuotaEntryId, QuotaKind, SchoolId, SubmissionId};
use std::collections::HashMap;

/// The constraint that keeps a quota from going below nought.
pub const QUOTA_LEFT: &str = "quota_left";

/// What the office grants or takes back.
#[derive(Clone, Debug)]
pub struct NewEntry {
    /// Its id.
    pub id: QuotaEntryId,
    /// The school.
    pub school: SchoolId,
    /// Whose quota.
    pub enrolment: EnrolmentId,
    /// Submissions more (or fewer, if negative).
    pub amount: i32,
    /// Why; needed except for what an enrolment begins with.
    pub reason: Option<String>,
    /// Who says so.
    pub by: PersonId,
    /// Now.
    pub at: DateTime<Utc>,
}

/// One line of the ledger.
#[derive(Clone, Debug, QueryableByName)]
pub struct Entry {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: QuotaEntryId,
    /// Which.
    #[diesel(sql_type = Text)]
    pub kind: QuotaKind,
    /// Submissions more or fewer.
    #[diesel(sql_type = Integer)]
    pub amount: i32,
    /// Why.
    #[diesel(sql_type = Nullable<Text>)]
    pub reason: Option<String>,
    /// Who did it, if the asker may know them.
    #[diesel(sql_type = Nullable<Text>)]
    pub by: Option<String>,
    /// When.
    #[diesel(sql_type = Timestamptz)]
    pub at: DateTime<Utc>,
    /// The submission it is about.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub submission_id: Option<SubmissionId>,
}

#[derive(QueryableByName)]
struct StandingRow {
    #[diesel(sql_type = SqlUuid)]
    enrolment_id: EnrolmentId,
    #[diesel(sql_type = BigInt)]
    granted: i64,
    #[diesel(sql_type = Array<Bool>)]
    given_back: Vec<bool>,
    #[diesel(sql_type = BigInt)]
    waiting: i64,
}

/// How the quotas of these enrolments stand.
pub async fn of(
    conn: &mut Conn,
    enrolments: &[EnrolmentId],
) -> StoreResult<HashMap<EnrolmentId, Quota>> {
    let rows: Vec<StandingRow> = statement(
        "SELECT e.id AS enrolment_id, count_waiting(e.id) AS waiting,
           (SELECT coalesce(sum(q.amount), 0) FROM quota_entry q WHERE q.school_id = e.school_id AND q.enrolment_id = e.id
              AND q.kind NOT IN ('spend', 'return')) AS granted,
           ARRAY(SELECT EXISTS (SELECT FROM quota_entry r WHERE r.submission_id = q.submission_id AND r.kind = 'return')
              FROM quota_entry q WHERE q.school_id = e.school_id AND q.enrolment_id = e.id AND q.kind = 'spend'
              ORDER BY q.created_at, q.id) AS given_back
         FROM enrolment e WHERE e.id = ANY ($1)",
    )
    .bind::<Array<SqlUuid>, _>(enrolments)
    .load(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| {
            let quota = Quota::new(row.granted, &row.given_back, row.waiting);
            (row.enrolment_id, quota)
        })
        .collect())
}

/// How one enrolment's quota stands; empty if the asker does not see it.
pub async fn of_one(conn: &mut Conn, enrolment: EnrolmentId) -> StoreResult<Quota> {
    let mut all = of(conn, &[enrolment]).await?;
    Ok(all.remove(&enrolment).unwrap_or_default())
}

/// Grants (an amount of nought or more) or takes back; refused by [`QUOTA_LEFT`] if more would be taken than is left.
pub async fn enter(conn: &mut Conn, new: &[NewEntry]) -> StoreResult<()> {
    let rows: Vec<_> = new
        .iter()
        .map(|new| {
            (
                quota_entry::id.eq(new.id.0),
                quota_entry::school_id.eq(new.school.0),
                quota_entry::enrolment_id.eq(new.enrolment.0),
                quota_entry::kind.eq(if new.amount < 0 { "adjust" } else { "grant" }),
                quota_entry::amount.eq(new.amount),
                quota_entry::reason.eq(new.reason.as_deref()),
                quota_entry::actor_id.eq(new.by.0),
                quota_entry::created_at.eq(new.at),
            )
        })
        .collect();
    diesel::insert_into(quota_entry::table)
        .values(rows)
        .execute(conn)
        .await?;
    Ok(())
}

/// The lines of an enrolment's ledger, newest first.
pub async fn entries(
    conn: &mut Conn,
    enrolment: EnrolmentId,
    after: Option<(DateTime<Utc>, QuotaEntryId)>,
    limit: i64,
) -> StoreResult<Vec<Entry>> {
    let (at, id) = after.unzip();
    Ok(statement(
        "SELECT q.id, q.kind, q.amount, q.reason, p.name AS by, q.created_at AS at, q.submission_id
         FROM quota_entry q LEFT JOIN person p ON p.id = q.actor_id
         WHERE q.enrolment_id = $1 AND ($2::timestamptz IS NULL OR (q.created_at, q.id) < ($2, $3))
         ORDER BY q.created_at DESC, q.id DESC LIMIT $4",
    )
    .bind::<SqlUuid, _>(enrolment)
    .bind::<Nullable<Timestamptz>, _>(at)
    .bind::<Nullable<SqlUuid>, _>(id.map(|id| id.0))
    .bind::<BigInt, _>(limit)
    .load(conn)
    .await?)
}
