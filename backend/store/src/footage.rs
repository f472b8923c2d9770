//! Footage: the file sent and what was made of it.

use crate::schema::footage;
use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{
    Array, BigInt, Bool, Float, Integer, Jsonb, Nullable, Text, Uuid as SqlUuid,
};
use diesel_async::RunQueryDsl;
use domain::{FootageId, FootageState, PersonId, SchoolId, UploadId};

/// One piece of footage.
#[derive(Clone, Debug, QueryableByName)]
pub struct Footage {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: FootageId,
    /// Whose it is.
    #[diesel(sql_type = SqlUuid)]
    pub student_id: PersonId,
    /// The name the file had.
    #[diesel(sql_type = Text)]
    pub filename: String,
    /// Where its preparation stands.
    #[diesel(sql_type = Text)]
    pub state: FootageState,
    /// Why it failed.
    #[diesel(sql_type = Nullable<Jsonb>)]
    pub problem: Option<serde_json::Value>,
    /// 0..1.
    #[diesel(sql_type = Float)]
    pub progress: f32,
    /// Width shown, square pixels.
    #[diesel(sql_type = Integer)]
    pub width: i32,
    /// Height shown.
    #[diesel(sql_type = Integer)]
    pub height: i32,
    /// Frames; until it is prepared, what the container says.
    #[diesel(sql_type = Integer)]
    pub frames: i32,
    /// Nominal frames a second, numerator.
    #[diesel(sql_type = Integer)]
    pub fps_num: i32,
    /// Nominal frames a second, denominator.
    #[diesel(sql_type = Integer)]
    pub fps_den: i32,
    /// Whether frames differ in how long they are shown.
    #[diesel(sql_type = Bool)]
    pub variable: bool,
    /// Numerator of a tick, seconds.
    #[diesel(sql_type = Nullable<Integer>)]
    pub time_base_num: Option<i32>,
    /// Denominator of a tick.
    #[diesel(sql_type = Nullable<Integer>)]
    pub time_base_den: Option<i32>,
    /// Time of each frame, ticks.
    #[diesel(sql_type = Nullable<Array<BigInt>>)]
    pub frame_pts: Option<Vec<i64>>,
    /// How long the last is shown, ticks.
    #[diesel(sql_type = Nullable<BigInt>)]
    pub last_duration: Option<i64>,
    /// What was made of it: sizes and the strip's cells.
    #[diesel(sql_type = Nullable<Jsonb>)]
    pub derived: Option<serde_json::Value>,
    /// What the probe found.
    #[diesel(sql_type = Jsonb)]
    pub probe: serde_json::Value,
    /// Where the source is kept.
    #[diesel(sql_type = Text)]
    pub source_key: String,
    /// Whether it was sent.
    #[diesel(sql_type = Bool)]
    pub sent: bool,
    /// The present mentor of its student's enrolment, once it was sent; nobody (nil) if the asker may not know them.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub mentor_id: Option<PersonId>,
    /// Who wrote its critique, if that is out and the asker may see it.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub author_id: Option<PersonId>,
}

/// A file that passed its probe.
#[derive(Clone, Debug)]
pub struct NewFootage {
    /// Its id.
    pub id: FootageId,
    /// The school.
    pub school: SchoolId,
    /// Whose it is.
    pub student: PersonId,
    /// The upload it came by.
    pub upload: UploadId,
    /// The name the file had.
    pub filename: String,
    /// Where the source is kept.
    pub source_key: String,
    /// Its length, bytes.
    pub source_bytes: i64,
    /// What the probe found.
    pub probe: serde_json::Value,
    /// Width and height shown.
    pub size: (i32, i32),
    /// Frames by the container.
    pub frames: i32,
    /// Nominal rate.
    pub fps: (i32, i32),
    /// Now.
    pub at: DateTime<Utc>,
}

/// What preparation made.
#[derive(Clone, Debug)]
pub struct Made {
    /// Ticks, seconds.
    pub time_base: (i32, i32),
    /// Time of each frame.
    pub pts: Vec<i64>,
    /// How long the last is shown.
    pub last_duration: i64,
    /// Whether frames differ in how long they are shown.
    pub variable: bool,
    /// Sizes and the strip's cells.
    pub derived: serde_json::Value,
    /// The recipe's version.
    pub recipe: i32,
    /// Now.
    pub at: DateTime<Utc>,
}

const SELECT: &str = "SELECT f.id, f.student_id, f.filename, f.state, f.problem, f.progress, f.width, f.height, f.frames, f.fps_num, f.fps_den,
   f.variable, f.time_base_num, f.time_base_den, f.frame_pts, f.last_duration, f.derived, f.probe, f.source_key,
   r.id IS NOT NULL AS sent, CASE WHEN r.id IS NOT NULL THEN coalesce(e.mentor_id, '00000000-0000-0000-0000-000000000000') END AS mentor_id,
   k.mentor_id AS author_id
 FROM footage f LEFT JOIN revision r ON r.school_id = f.school_id AND r.footage_id = f.id
 LEFT JOIN shot s ON s.id = r.shot_id LEFT JOIN enrolment e ON e.id = s.enrolment_id
 LEFT JOIN critique k ON k.school_id = r.school_id AND k.shot_id = r.shot_id AND k.revision_id = r.id AND k.released_at <= now()";

/// Adds it, being prepared.
pub async fn add(conn: &mut Conn, new: &NewFootage) -> StoreResult<()> {
    diesel::insert_into(footage::table)
        .values((
            footage::id.eq(new.id.0),
            footage::school_id.eq(new.school.0),
            footage::student_id.eq(new.student.0),
            footage::upload_id.eq(new.upload.0),
            footage::filename.eq(&new.filename),
            footage::source_key.eq(&new.source_key),
            footage::source_bytes.eq(new.source_bytes),
            footage::probe.eq(&new.probe),
            (
                footage::width.eq(new.size.0),
                footage::height.eq(new.size.1),
            ),
            footage::frames.eq(new.frames),
            (
                footage::fps_num.eq(new.fps.0),
                footage::fps_den.eq(new.fps.1),
            ),
            footage::created_at.eq(new.at),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

/// Holds its row, so that what is decided by its state stays true until the transaction ends; false if it is not the asker's own.
pub async fn hold(conn: &mut Conn, id: FootageId) -> StoreResult<bool> {
    let row = footage::table.find(id.0).select(footage::id).for_update();
    Ok(row.first::<uuid::Uuid>(conn).await.optional()?.is_some())
}

/// The footage, if the asker may see it.
pub async fn get(conn: &mut Conn, id: FootageId) -> StoreResult<Option<Footage>> {
    Ok(by_ids(conn, &[id]).await?.pop())
}

/// Those of `ids` that the asker may see, in no order.
pub async fn by_ids(conn: &mut Conn, ids: &[FootageId]) -> StoreResult<Vec<Footage>> {
    Ok(statement(format!("{SELECT} WHERE f.id = ANY ($1)"))
        .bind::<Array<SqlUuid>, _>(ids)
        .load(conn)
        .await?)
}

/// Says how far preparation has come.
pub async fn set_progress(conn: &mut Conn, id: FootageId, progress: f32) -> StoreResult<()> {
    diesel::update(footage::table.filter(footage::id.eq(id.0).and(footage::state.eq("preparing"))))
        .set(footage::progress.eq(progress))
        .execute(conn)
        .await?;
    Ok(())
}

/// It is ready.
pub async fn set_ready(conn: &mut Conn, id: FootageId, made: &Made) -> StoreResult<()> {
    let frames = i32::try_from(made.pts.len()).unwrap_or(i32::MAX);
    diesel::update(footage::table.find(id.0))
        .set((
            footage::state.eq("ready"),
            footage::progress.eq(1.0_f32),
            footage::problem.eq(None::<serde_json::Value>),
            footage::frames.eq(frames),
            (
                footage::time_base_num.eq(made.time_base.0),
                footage::time_base_den.eq(made.time_base.1),
            ),
            footage::frame_pts.eq(&made.pts),
            footage::last_duration.eq(made.last_duration),
            footage::variable.eq(made.variable),
            footage::derived.eq(&made.derived),
            footage::recipe.eq(made.recipe),
            footage::ready_at.eq(made.at),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

/// It failed for good, was cancelled, or is to be prepared once more.
pub async fn set_state(
    conn: &mut Conn,
    id: FootageId,
    state: FootageState,
    problem: Option<serde_json::Value>,
) -> StoreResult<()> {
    diesel::update(footage::table.find(id.0))
        .set((
            footage::state.eq(state.as_str()),
            footage::problem.eq(problem),
            footage::progress.eq(0.0_f32),
        ))
        .execute(conn)
        .await?;
    Ok(())
}
