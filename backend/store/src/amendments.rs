//! Dated additions to a released critique.

use crate::schema::amendment;
use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{AmendmentId, CritiqueId, NoteId, PersonId, SchoolId};

/// One addition.
#[derive(Clone, Debug, QueryableByName)]
pub struct Amendment {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: AmendmentId,
    /// The note it is about; none: the whole.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub note_id: Option<NoteId>,
    /// The words.
    #[diesel(sql_type = Text)]
    pub words: String,
    /// Who wrote it.
    #[diesel(sql_type = Text)]
    pub by: String,
    /// When.
    #[diesel(sql_type = Timestamptz)]
    pub at: DateTime<Utc>,
}

/// Those of a critique, oldest first.
pub async fn of(conn: &mut Conn, critique: CritiqueId) -> StoreResult<Vec<Amendment>> {
    Ok(statement(
        "SELECT a.id, a.note_id, a.words, coalesce(p.name, '') AS by, a.created_at AS at FROM amendment a LEFT JOIN person p ON p.id = a.author_id
         WHERE a.critique_id = $1 ORDER BY a.created_at, a.id",
    )
    .bind::<SqlUuid, _>(critique)
    .load(conn)
    .await?)
}

/// Adds one.
#[expect(clippy::too_many_arguments, reason = "the columns of the row")]
pub async fn add(
    conn: &mut Conn,
    school: SchoolId,
    critique: CritiqueId,
    author: PersonId,
    id: AmendmentId,
    note: Option<NoteId>,
    words: &str,
    at: DateTime<Utc>,
) -> StoreResult<()> {
    diesel::insert_into(amendment::table)
        .values((
            amendment::id.eq(id.0),
            amendment::school_id.eq(school.0),
            amendment::critique_id.eq(critique.0),
            amendment::note_id.eq(note.map(|note| note.0)),
            amendment::author_id.eq(author.0),
            amendment::words.eq(words),
            amendment::created_at.eq(at),
        ))
        .execute(conn)
        .await?;
    Ok(())
}
