//! What the mentor said of carried concerns.

use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::sql_types::{Integer, Text, Timestamptz, Uuid as SqlUuid};
use diesel::{OptionalExtension, QueryableByName};
use diesel_async::RunQueryDsl;
use domain::{ConcernId, CritiqueId, SchoolId, ShotId, Verdict};

/// One verdict.
#[derive(Clone, Debug, PartialEq, Eq, QueryableByName)]
pub struct Given {
    /// Of which concern.
    #[diesel(sql_type = SqlUuid)]
    pub concern_id: ConcernId,
    /// What.
    #[diesel(sql_type = Text)]
    pub judged: Verdict,
    /// From 1.
    #[diesel(sql_type = Integer)]
    pub version: i32,
}

/// Those of a critique.
pub async fn of(conn: &mut Conn, critique: CritiqueId) -> StoreResult<Vec<Given>> {
    Ok(statement(
        "SELECT v.concern_id, v.judged, v.version FROM verdict v WHERE v.critique_id = $1",
    )
    .bind::<SqlUuid, _>(critique)
    .load(conn)
    .await?)
}

/// The one of a critique about a concern.
pub async fn get(
    conn: &mut Conn,
    critique: CritiqueId,
    concern: ConcernId,
) -> StoreResult<Option<Given>> {
    Ok(statement("SELECT v.concern_id, v.judged, v.version FROM verdict v WHERE v.critique_id = $1 AND v.concern_id = $2")
        .bind::<SqlUuid, _>(critique)
        .bind::<SqlUuid, _>(concern)
        .get_result(conn)
        .await
        .optional()?)
}

/// Gives or changes it.
pub async fn set(
    conn: &mut Conn,
    school: SchoolId,
    critique: CritiqueId,
    shot: ShotId,
    concern: ConcernId,
    verdict: Verdict,
    at: DateTime<Utc>,
) -> StoreResult<()> {
    statement(
        "INSERT INTO verdict (critique_id, concern_id, school_id, shot_id, judged, updated_at) VALUES ($1, $2, $3, $4, $5, $6)
         ON CONFLICT (critique_id, concern_id) DO UPDATE SET judged = excluded.judged, version = verdict.version + 1, updated_at = excluded.updated_at",
    )
    .bind::<SqlUuid, _>(critique)
    .bind::<SqlUuid, _>(concern)
    .bind::<SqlUuid, _>(school)
    .bind::<SqlUuid, _>(shot)
    .bind::<Text, _>(verdict)
    .bind::<Timestamptz, _>(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Takes it away.
pub async fn clear(conn: &mut Conn, critique: CritiqueId, concern: ConcernId) -> StoreResult<()> {
    statement("DELETE FROM verdict WHERE critique_id = $1 AND concern_id = $2")
        .bind::<SqlUuid, _>(critique)
        .bind::<SqlUuid, _>(concern)
        .execute(conn)
        .await?;
    Ok(())
}
