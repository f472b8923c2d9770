//! Strokes on frames, and paths of dots set by hand.

use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::QueryableByName;
use diesel::sql_types::{
    Array, Bool, Float, Integer, Jsonb, Nullable, Text, Timestamptz, Uuid as SqlUuid,
};
use diesel_async::RunQueryDsl;
use domain::{CritiqueId, NoteId, SchoolId, StrokeId, TraceId};

use crate::sql::Number;

/// The constraint that keeps a stroke's note within its critique.
pub const NOTE_OF_CRITIQUE: &str = "stroke_school_id_critique_id_note_id_fkey";

/// A stroke.
#[derive(Clone, Debug, QueryableByName)]
pub struct Stroke {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: StrokeId,
    /// Of which critique.
    #[diesel(sql_type = SqlUuid)]
    pub critique_id: CritiqueId,
    /// The frame it is drawn on.
    #[diesel(sql_type = Integer)]
    pub frame: i32,
    /// The last frame it is held over.
    #[diesel(sql_type = Integer)]
    pub hold_to: i32,
    /// The note it belongs to.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub note_id: Option<NoteId>,
    /// `#rrggbb`.
    #[diesel(sql_type = Text)]
    pub color: String,
    /// In picture heights.
    #[diesel(sql_type = Float)]
    pub size: f32,
    /// Drawn with a pen, so that its pressures are real.
    #[diesel(sql_type = Bool)]
    pub pen: bool,
    /// x, y, pressure.
    #[diesel(sql_type = Jsonb)]
    pub points: serde_json::Value,
}

/// A path of dots.
#[derive(Clone, Debug, QueryableByName)]
pub struct Trace {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: TraceId,
    /// The part it follows.
    #[diesel(sql_type = Nullable<Jsonb>)]
    pub part: Option<serde_json::Value>,
    /// `#rrggbb`.
    #[diesel(sql_type = Text)]
    pub color: String,
    /// frame, x, y.
    #[diesel(sql_type = Jsonb)]
    pub dots: serde_json::Value,
}

/// The strokes of these critiques, in the order they were drawn.
pub async fn strokes(conn: &mut Conn, critiques: &[CritiqueId]) -> StoreResult<Vec<Stroke>> {
    Ok(statement(
        "SELECT s.id, s.critique_id, s.frame, s.hold_to, s.note_id, s.color, s.size, s.pen, s.points FROM stroke s
         WHERE s.critique_id = ANY ($1) ORDER BY s.created_at, s.id",
    )
    .bind::<Array<SqlUuid>, _>(critiques)
    .load(conn)
    .await?)
}

/// The paths of a critique.
pub async fn traces(conn: &mut Conn, critique: CritiqueId) -> StoreResult<Vec<Trace>> {
    Ok(statement("SELECT t.id, t.part, t.color, t.dots FROM trace t WHERE t.critique_id = $1 ORDER BY t.created_at, t.id")
        .bind::<SqlUuid, _>(critique)
        .load(conn)
        .await?)
}

/// How many strokes a critique has beside that one.
pub async fn count_other_strokes(
    conn: &mut Conn,
    critique: CritiqueId,
    id: StrokeId,
) -> StoreResult<i64> {
    let row: Number =
        statement("SELECT count(*) AS n FROM stroke s WHERE s.critique_id = $1 AND s.id <> $2")
            .bind::<SqlUuid, _>(critique)
            .bind::<SqlUuid, _>(id)
            .get_result(conn)
            .await?;
    Ok(row.n)
}

/// How many paths of dots a critique has beside that one.
pub async fn count_other_traces(
    conn: &mut Conn,
    critique: CritiqueId,
    id: TraceId,
) -> StoreResult<i64> {
    let row: Number =
        statement("SELECT count(*) AS n FROM trace t WHERE t.critique_id = $1 AND t.id <> $2")
            .bind::<SqlUuid, _>(critique)
            .bind::<SqlUuid, _>(id)
            .get_result(conn)
            .await?;
    Ok(row.n)
}

/// Draws it, or redraws it under the same id; false if that id is another critique's.
pub async fn put_stroke(
    conn: &mut Conn,
    school: SchoolId,
    stroke: &Stroke,
    at: DateTime<Utc>,
) -> StoreResult<bool> {
    let rows = statement(
        "INSERT INTO stroke (id, school_id, critique_id, note_id, frame, hold_to, color, size, pen, points, created_at)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)
         ON CONFLICT (id) DO UPDATE SET note_id = excluded.note_id, frame = excluded.frame, hold_to = excluded.hold_to, color = excluded.color,
           size = excluded.size, pen = excluded.pen, points = excluded.points WHERE stroke.critique_id = excluded.critique_id",
    )
    .bind::<SqlUuid, _>(stroke.id)
    .bind::<SqlUuid, _>(school)
    .bind::<SqlUuid, _>(stroke.critique_id)
    .bind::<Nullable<SqlUuid>, _>(stroke.note_id)
    .bind::<Integer, _>(stroke.frame)
    .bind::<Integer, _>(stroke.hold_to)
    .bind::<Text, _>(&stroke.color)
    .bind::<Float, _>(stroke.size)
    .bind::<Bool, _>(stroke.pen)
    .bind::<Jsonb, _>(&stroke.points)
    .bind::<Timestamptz, _>(at)
    .execute(conn)
    .await?;
    Ok(rows == 1)
}

/// Sets the dots, or sets them otherwise under the same id; false if that id is another critique's.
pub async fn put_trace(
    conn: &mut Conn,
    school: SchoolId,
    critique: CritiqueId,
    trace: &Trace,
    at: DateTime<Utc>,
) -> StoreResult<bool> {
    let rows = statement(
        "INSERT INTO trace (id, school_id, critique_id, part, color, dots, created_at, updated_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $7)
         ON CONFLICT (id) DO UPDATE SET part = excluded.part, color = excluded.color, dots = excluded.dots, updated_at = excluded.updated_at
           WHERE trace.critique_id = excluded.critique_id",
    )
    .bind::<SqlUuid, _>(trace.id)
    .bind::<SqlUuid, _>(school)
    .bind::<SqlUuid, _>(critique)
    .bind::<Nullable<Jsonb>, _>(&trace.part)
    .bind::<Text, _>(&trace.color)
    .bind::<Jsonb, _>(&trace.dots)
    .bind::<Timestamptz, _>(at)
    .execute(conn)
    .await?;
    Ok(rows == 1)
}

/// Wipes a stroke of the critique; one that is gone already is gone.
pub async fn remove_stroke(conn: &mut Conn, critique: CritiqueId, id: StrokeId) -> StoreResult<()> {
    statement("DELETE FROM stroke WHERE critique_id = $1 AND id = $2")
        .bind::<SqlUuid, _>(critique)
        .bind::<SqlUuid, _>(id)
        .execute(conn)
        .await?;
    Ok(())
}

/// Wipes a path of the critique.
pub async fn remove_trace(conn: &mut Conn, critique: CritiqueId, id: TraceId) -> StoreResult<()> {
    statement("DELETE FROM trace WHERE critique_id = $1 AND id = $2")
        .bind::<SqlUuid, _>(critique)
        .bind::<SqlUuid, _>(id)
        .execute(conn)
        .await?;
    Ok(())
}
