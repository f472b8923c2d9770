//! What was proposed while notes were typed, and what became of it.

use crate::schema::suggestion;
use crate::statement::statement;
use crate::{Conn, StoreError, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{CritiqueId, NoteId, PersonId, SchoolId};

/// One proposal as it stood before the mentor.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// What of a note it is about, as the table names it.
    pub field: &'static str,
    /// What was proposed.
    pub value: serde_json::Value,
    /// What the note said there before; none: nothing.
    pub before: Option<serde_json::Value>,
    /// How sure, 0..1, where a number says so.
    pub score: Option<f32>,
}

/// By what the proposals were made.
#[derive(Clone, Copy, Debug)]
pub struct Versions<'a> {
    /// Of the words.
    pub lexicon: &'a str,
    /// Of what was learned.
    pub weights: &'a str,
}

/// What was proposed in one field, in released critiques.
#[derive(Clone, Debug, PartialEq, Eq, QueryableByName)]
pub struct Count {
    /// Which field.
    #[diesel(sql_type = Text)]
    pub field: String,
    /// The note says it.
    #[diesel(sql_type = BigInt)]
    pub taken: i64,
    /// It says something else instead.
    #[diesel(sql_type = BigInt)]
    pub changed: i64,
    /// It says nothing of it.
    #[diesel(sql_type = BigInt)]
    pub refused: i64,
    /// When the first was proposed.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub since: Option<DateTime<Utc>>,
}

/// Keeps what was proposed for a note; what is kept already stays as it is.
pub async fn keep(
    conn: &mut Conn,
    (school, mentor): (SchoolId, PersonId),
    (critique, note): (CritiqueId, NoteId),
    versions: Versions<'_>,
    shown: &[Shown],
    at: DateTime<Utc>,
) -> StoreResult<()> {
    let rows: Vec<_> = shown
        .iter()
        .map(|shown| {
            (
                suggestion::note_id.eq(note.0),
                suggestion::field.eq(shown.field),
                suggestion::value.eq(&shown.value),
                suggestion::school_id.eq(school.0),
                suggestion::critique_id.eq(critique.0),
                suggestion::mentor_id.eq(mentor.0),
                suggestion::before.eq(&shown.before),
                suggestion::score.eq(shown.score),
                suggestion::lexicon.eq(versions.lexicon),
                suggestion::weights.eq(versions.weights),
                suggestion::created_at.eq(at),
            )
        })
        .collect();
    diesel::insert_into(suggestion::table)
        .values(rows)
        .on_conflict_do_nothing()
        .execute(conn)
        .await?;
    Ok(())
}

/// What became of what was proposed to this mentor, field by field.
pub async fn counts(conn: &mut Conn, mentor: PersonId) -> StoreResult<Vec<Count>> {
    statement(
        "SELECT field, count(*) FILTER (WHERE outcome = 'taken') AS taken, count(*) FILTER (WHERE outcome = 'changed') AS changed,
           count(*) FILTER (WHERE outcome = 'refused') AS refused, min(created_at) AS since
         FROM suggestion_outcome WHERE mentor_id = $1 GROUP BY field",
    )
    .bind::<SqlUuid, _>(mentor)
    .load(conn)
    .await
    .map_err(StoreError::from)
}
