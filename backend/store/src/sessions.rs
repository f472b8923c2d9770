//! Who is signed in.

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
    let row: Option<ActorRow> = diesel::sql_query("SELECT * FROM find_session($1, $2, $3, $4)")
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
