//! The queue: enqueued in the transaction of the change that wants it, claimed under a lease, worked on outside any transaction,
//! finished by compare-and-set in the transaction of its effect.

use crate::schema::job;
use crate::sql::Number;
use crate::statement::statement;
use crate::{Conn, StoreError, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{Array, BigInt, Integer, Jsonb, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::jobs::Payload;
use domain::{Actor, PersonId, Role, SchoolId};
use uuid::Uuid;

/// A job in hand: nobody else has it while the lease lasts.
#[derive(Clone, Debug)]
pub struct Claimed {
    /// Its number.
    pub id: i64,
    /// On whose behalf it works.
    pub actor: Actor,
    /// What to do.
    pub payload: Payload,
    /// The how-manieth try this is, from 1.
    pub attempt: i32,
    /// After how many it has failed for good.
    pub max_attempts: i32,
    /// Proof of the claim.
    pub lease: Uuid,
}

#[derive(QueryableByName)]
struct ClaimedRow {
    #[diesel(sql_type = BigInt)]
    id: i64,
    #[diesel(sql_type = SqlUuid)]
    school_id: SchoolId,
    #[diesel(sql_type = SqlUuid)]
    person_id: PersonId,
    #[diesel(sql_type = Array<Text>)]
    roles: Vec<Role>,
    #[diesel(sql_type = Jsonb)]
    payload: serde_json::Value,
    #[diesel(sql_type = Integer)]
    attempt: i32,
    #[diesel(sql_type = Integer)]
    max_attempts: i32,
    #[diesel(sql_type = SqlUuid)]
    lease_token: Uuid,
}

/// Adds a job acting as `person`, due at `run_at`, unless there is one of the same kind about the same thing.
pub async fn enqueue(
    conn: &mut Conn,
    school: SchoolId,
    person: PersonId,
    payload: &Payload,
    run_at: DateTime<Utc>,
) -> StoreResult<()> {
    enqueue_all(conn, school, &[(person, payload.clone())], run_at).await
}

/// The same for many.
pub async fn enqueue_all(
    conn: &mut Conn,
    school: SchoolId,
    all: &[(PersonId, Payload)],
    run_at: DateTime<Utc>,
) -> StoreResult<()> {
    let rows = all
        .iter()
        .map(|(person, payload)| {
            let value =
                serde_json::to_value(payload).map_err(|e| StoreError::Nonsense(e.to_string()))?;
            Ok((
                job::school_id.eq(school.0),
                job::person_id.eq(person.0),
                job::kind.eq(payload.kind()),
                job::key.eq(payload.key()),
                job::payload.eq(value),
                job::run_at.eq(run_at),
                job::max_attempts.eq(payload.max_attempts()),
            ))
        })
        .collect::<StoreResult<Vec<_>>>()?;
    diesel::insert_into(job::table)
        .values(rows)
        .on_conflict_do_nothing()
        .execute(conn)
        .await?;
    Ok(())
}

/// Makes a job that was cancelled, finished or has failed ready once more, due at `run_at`; false if there is none of the actor's.
pub async fn revive(
    conn: &mut Conn,
    payload: &Payload,
    run_at: DateTime<Utc>,
) -> StoreResult<bool> {
    let rows = diesel::update(
        job::table.filter(
            job::kind
                .eq(payload.kind())
                .and(job::key.eq(payload.key()))
                .and(job::state.ne("running")),
        ),
    )
    .set((
        job::state.eq("ready"),
        job::attempt.eq(0),
        job::run_at.eq(run_at),
        job::last_error.eq(None::<String>),
    ))
    .execute(conn)
    .await?;
    Ok(rows > 0)
}

/// Cancels a job that has not finished; whoever works on it finds its lease gone.
pub async fn cancel(conn: &mut Conn, payload: &Payload) -> StoreResult<bool> {
    let rows = diesel::update(
        job::table.filter(
            job::kind
                .eq(payload.kind())
                .and(job::key.eq(payload.key()))
                .and(job::state.eq_any(["ready", "running"])),
        ),
    )
    .set((
        job::state.eq("cancelled"),
        job::lease_token.eq(None::<Uuid>),
        job::lease_until.eq(None::<DateTime<Utc>>),
    ))
    .execute(conn)
    .await?;
    Ok(rows > 0)
}

/// Takes the oldest due job of one of `kinds`, through the door `claim_job`. A payload this version does not know is left to a
/// newer worker.
pub async fn claim(
    conn: &mut Conn,
    worker: &str,
    lease_ms: i32,
    kinds: &[&str],
) -> StoreResult<Option<Claimed>> {
    let row: Option<ClaimedRow> = statement("SELECT * FROM claim_job($1, $2, $3)")
        .bind::<Text, _>(worker)
        .bind::<Integer, _>(lease_ms)
        .bind::<Array<Text>, _>(kinds)
        .get_result(conn)
        .await
        .optional()?;
    let Some(row) = row else { return Ok(None) };
    let payload = serde_json::from_value(row.payload)
        .map_err(|e| StoreError::Nonsense(format!("payload of job {}: {e}", row.id)))?;
    let actor = Actor {
        school: row.school_id,
        person: row.person_id,
        roles: row.roles.into_iter().collect(),
    };
    Ok(Some(Claimed {
        id: row.id,
        actor,
        payload,
        attempt: row.attempt,
        max_attempts: row.max_attempts,
        lease: row.lease_token,
    }))
}

/// Prolongs the lease; false when it was lost (cancelled, or retaken after it ran out): stop working.
pub async fn renew(conn: &mut Conn, claimed: &Claimed, lease_ms: i32) -> StoreResult<bool> {
    let rows: Number = statement(
        "WITH kept AS (UPDATE job SET lease_until = clock_timestamp() + $3 * interval '1 millisecond'
           WHERE id = $1 AND lease_token = $2 AND state = 'running' RETURNING 1) SELECT count(*) AS n FROM kept",
    )
    .bind::<BigInt, _>(claimed.id)
    .bind::<SqlUuid, _>(claimed.lease)
    .bind::<Integer, _>(lease_ms)
    .get_result(conn)
    .await?;
    Ok(rows.n == 1)
}

/// Marks it done, in the transaction of its effect. False: the lease was lost, and the caller must roll its effect back.
pub async fn finish(conn: &mut Conn, claimed: &Claimed) -> StoreResult<bool> {
    let rows = diesel::update(held(claimed))
        .set((
            job::state.eq("done"),
            job::lease_token.eq(None::<Uuid>),
            job::lease_until.eq(None::<DateTime<Utc>>),
            job::finished_at.eq(diesel::dsl::now.into_sql::<Timestamptz>().nullable()),
        ))
        .execute(conn)
        .await?;
    Ok(rows == 1)
}

/// Gives it back to be tried again at `run_at`, with what went wrong. False: the lease was lost.
pub async fn retry(
    conn: &mut Conn,
    claimed: &Claimed,
    run_at: DateTime<Utc>,
    error: &str,
) -> StoreResult<bool> {
    put_down(conn, claimed, "ready", Some(run_at), error).await
}

/// Marks it failed for good. False: the lease was lost.
pub async fn fail(conn: &mut Conn, claimed: &Claimed, error: &str) -> StoreResult<bool> {
    put_down(conn, claimed, "failed", None, error).await
}

async fn put_down(
    conn: &mut Conn,
    claimed: &Claimed,
    state: &str,
    run_at: Option<DateTime<Utc>>,
    error: &str,
) -> StoreResult<bool> {
    let error: String = error.chars().take(2000).collect();
    let rows = diesel::update(held(claimed))
        .set((
            job::state.eq(state),
            run_at.map(|at| job::run_at.eq(at)),
            job::last_error.eq(error),
            job::lease_token.eq(None::<Uuid>),
            job::lease_until.eq(None::<DateTime<Utc>>),
        ))
        .execute(conn)
        .await?;
    Ok(rows == 1)
}

#[diesel::dsl::auto_type(no_type_alias)]
fn held<'a>(claimed: &'a Claimed) -> _ {
    let (id, lease): (i64, Uuid) = (claimed.id, claimed.lease);
    job::table.filter(
        job::id
            .eq(id)
            .and(job::lease_token.eq(lease))
            .and(job::state.eq("running")),
    )
}
