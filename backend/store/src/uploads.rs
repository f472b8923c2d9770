//! Files on their way in. How much has arrived is the file's own length; the row says what was promised and who writes.

use crate::schema::upload;
use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Jsonb, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{FootageId, PersonId, SchoolId, UploadId, UploadState};
use uuid::Uuid;

/// One upload, as its owner sees it.
#[derive(Clone, Debug, QueryableByName)]
pub struct Upload {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: UploadId,
    /// The name the file had.
    #[diesel(sql_type = Text)]
    pub filename: String,
    /// Its whole length, bytes.
    #[diesel(sql_type = BigInt)]
    pub length: i64,
    /// What had arrived when it was last noted.
    #[diesel(sql_type = BigInt)]
    pub received: i64,
    /// Where it stands.
    #[diesel(sql_type = Text)]
    pub state: UploadState,
    /// Why it was refused.
    #[diesel(sql_type = Nullable<Jsonb>)]
    pub problem: Option<serde_json::Value>,
    /// The footage made of it.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub footage_id: Option<FootageId>,
    /// When it is thrown away if it has not arrived whole.
    #[diesel(sql_type = Timestamptz)]
    pub expires_at: DateTime<Utc>,
}

/// A file that is announced.
#[derive(Clone, Debug)]
pub struct NewUpload {
    /// Its id.
    pub id: UploadId,
    /// The school.
    pub school: SchoolId,
    /// Whose it is.
    pub person: PersonId,
    /// The name the file has.
    pub filename: String,
    /// Its length, bytes.
    pub length: i64,
    /// Now.
    pub at: DateTime<Utc>,
    /// When it is thrown away.
    pub expires_at: DateTime<Utc>,
}

/// Announces a file.
pub async fn add(conn: &mut Conn, new: &NewUpload) -> StoreResult<()> {
    diesel::insert_into(upload::table)
        .values((
            upload::id.eq(new.id.0),
            upload::school_id.eq(new.school.0),
            upload::person_id.eq(new.person.0),
            upload::filename.eq(&new.filename),
            upload::length.eq(new.length),
            upload::created_at.eq(new.at),
            upload::expires_at.eq(new.expires_at),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

/// The upload, if it is the asker's.
pub async fn get(conn: &mut Conn, id: UploadId) -> StoreResult<Option<Upload>> {
    Ok(statement(
        "SELECT u.id, u.filename, u.length, u.received, u.state, u.problem, f.id AS footage_id, u.expires_at
         FROM upload u LEFT JOIN footage f ON f.upload_id = u.id WHERE u.id = $1",
    )
    .bind::<SqlUuid, _>(id)
    .get_result(conn)
    .await
    .optional()?)
}

/// Makes `writer` the one who appends; a writer before it finds itself replaced at its next [`note_received`].
pub async fn take_over(conn: &mut Conn, id: UploadId, writer: Uuid) -> StoreResult<bool> {
    let rows = diesel::update(
        upload::table.filter(upload::id.eq(id.0).and(upload::state.eq("receiving"))),
    )
    .set(upload::writer.eq(writer))
    .execute(conn)
    .await?;
    Ok(rows == 1)
}

/// Notes what has arrived; false if another writer has taken over.
pub async fn note_received(
    conn: &mut Conn,
    id: UploadId,
    writer: Uuid,
    received: i64,
) -> StoreResult<bool> {
    let mine = upload::table.filter(upload::id.eq(id.0).and(upload::writer.eq(writer)));
    Ok(diesel::update(mine)
        .set(upload::received.eq(received))
        .execute(conn)
        .await?
        == 1)
}

/// Its last byte has arrived; false if that was said before.
pub async fn arrived(conn: &mut Conn, id: UploadId) -> StoreResult<bool> {
    let receiving = upload::table.filter(upload::id.eq(id.0).and(upload::state.eq("receiving")));
    let whole = (
        upload::state.eq("probing"),
        upload::received.eq(upload::length),
    );
    Ok(diesel::update(receiving).set(whole).execute(conn).await? == 1)
}

/// Moves it on; a refusal carries its problem.
pub async fn set_state(
    conn: &mut Conn,
    id: UploadId,
    state: UploadState,
    problem: Option<serde_json::Value>,
) -> StoreResult<()> {
    diesel::update(upload::table.find(id.0))
        .set((
            upload::state.eq(state.as_str()),
            upload::problem.eq(problem),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

/// Forgets it; false if there was none.
pub async fn remove(conn: &mut Conn, id: UploadId) -> StoreResult<bool> {
    let unfinished = upload::table.filter(
        upload::id
            .eq(id.0)
            .and(upload::state.eq_any(["receiving", "refused"])),
    );
    Ok(diesel::delete(unfinished).execute(conn).await? == 1)
}
