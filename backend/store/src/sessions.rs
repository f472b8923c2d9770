//! Who is signed in.

use crate::schema::session;
use crate::sql::Number;
use crate::statement::statement;
use crate::{Conn, StoreError, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{Array, Binary, Interval, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{Actor, PersonId, Role, SchoolId};
use std::time::Duration;

#[derive(QueryableByName)]
struct ActorRow {
    #[diesel(sql_type = SqlUuid)]
    school_id: SchoolId,
    #[diesel(sql_type = SqlUuid)]
    person_id: PersonId,
    #[diesel(sql_type = Array<Text>)]
    roles: Vec<Role>,
}

impl From<ActorRow> for Actor {
    fn from(row: ActorRow) -> Actor {
        Actor {
            school: row.school_id,
            person: row.person_id,
            roles: row.roles.into_iter().collect(),
        }
    }
}

/// The person behind a session's token, through the door `find_session`; none when it has run out at `at`.
pub async fn find(
    conn: &mut Conn,
    hash: &[u8; 32],
    at: DateTime<Utc>,
    idle: Duration,
    absolute: Duration,
) -> StoreResult<Option<Actor>> {
    let row: Option<ActorRow> = statement("SELECT * FROM find_session($1, $2, $3, $4)")
        .bind::<Binary, _>(hash.as_slice())
        .bind::<Timestamptz, _>(at)
        .bind::<Interval, _>(interval(idle)?)
        .bind::<Interval, _>(interval(absolute)?)
        .get_result(conn)
        .await
        .optional()?;
    Ok(row.map(Actor::from))
}

fn interval(duration: Duration) -> StoreResult<diesel::data_types::PgInterval> {
    let micros =
        i64::try_from(duration.as_micros()).map_err(|e| StoreError::Nonsense(e.to_string()))?;
    Ok(diesel::data_types::PgInterval::from_microseconds(micros))
}

/// Begins a session of the actor.
pub async fn add(
    conn: &mut Conn,
    actor: &Actor,
    hash: &[u8; 32],
    at: DateTime<Utc>,
) -> StoreResult<()> {
    diesel::insert_into(session::table)
        .values((
            session::token_hash.eq(hash.as_slice()),
            session::school_id.eq(actor.school.0),
            session::person_id.eq(actor.person.0),
            session::created_at.eq(at),
            session::seen_at.eq(at),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

/// Ends one session of the actor.
pub async fn end(conn: &mut Conn, hash: &[u8; 32]) -> StoreResult<()> {
    diesel::delete(session::table.filter(session::token_hash.eq(hash.as_slice())))
        .execute(conn)
        .await?;
    Ok(())
}

/// Ends every session of the person, who is the actor.
pub async fn end_all(conn: &mut Conn, person: PersonId) -> StoreResult<()> {
    diesel::delete(session::table.filter(session::person_id.eq(person.0)))
        .execute(conn)
        .await?;
    Ok(())
}

/// Removes the sessions that have run out at `at`, through the door `end_old_sessions`; gives their number.
pub async fn end_old(
    conn: &mut Conn,
    at: DateTime<Utc>,
    idle: Duration,
    absolute: Duration,
) -> StoreResult<i64> {
    let ended: Number = statement("SELECT end_old_sessions($1, $2, $3) AS n")
        .bind::<Timestamptz, _>(at)
        .bind::<Interval, _>(interval(idle)?)
        .bind::<Interval, _>(interval(absolute)?)
        .get_result(conn)
        .await?;
    Ok(ended.n)
}
