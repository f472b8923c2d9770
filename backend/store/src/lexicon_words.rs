//! A school's own words over the lexicon.

use crate::schema::lexicon_word;
use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{LexiconWordId, PersonId, SchoolId, WordTable};

/// The constraint on the same word with the same meaning.
pub const ONCE: &str = "lexicon_word_once";
/// The constraint on one meaning for a phrase where it may have one.
pub const SINGLE: &str = "lexicon_word_single";

/// A word of a school.
#[derive(Clone, Debug, QueryableByName)]
pub struct LexiconWord {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: LexiconWordId,
    /// The table it stands in.
    #[diesel(sql_type = Text)]
    pub held_in: WordTable,
    /// As it is said.
    #[diesel(sql_type = Text)]
    pub phrase: String,
    /// What it means there.
    #[diesel(sql_type = Text)]
    pub meaning: String,
    /// Who added it.
    #[diesel(sql_type = SqlUuid)]
    pub added_by: PersonId,
    /// Their name; none if the asker may not know them.
    #[diesel(sql_type = Nullable<Text>)]
    pub added_by_name: Option<String>,
    /// When.
    #[diesel(sql_type = Timestamptz)]
    pub added_at: DateTime<Utc>,
}

/// Which words a school has, as two numbers that change with every word added or removed, whoever did it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, QueryableByName)]
pub struct LexiconVersion {
    /// How many there are.
    #[diesel(sql_type = BigInt)]
    pub words: i64,
    /// All their ids mixed.
    #[diesel(sql_type = BigInt)]
    pub mixed: i64,
}

/// Which words the asker's school has; for those who may see them.
pub async fn version(conn: &mut Conn) -> StoreResult<LexiconVersion> {
    Ok(statement(
        "SELECT count(*) AS words, coalesce(bit_xor(hashtextextended(id::text, 0)), 0) AS mixed FROM lexicon_word",
    )
    .get_result(conn)
    .await?)
}

/// The words of the asker's school, by table and phrase.
pub async fn list(conn: &mut Conn) -> StoreResult<Vec<LexiconWord>> {
    Ok(statement(
        "SELECT w.id, w.held_in, w.phrase, w.meaning, w.added_by, p.name AS added_by_name, w.added_at
         FROM lexicon_word w LEFT JOIN person p ON p.id = w.added_by ORDER BY w.held_in, w.phrase, w.meaning",
    )
    .load(conn)
    .await?)
}

/// Holds off everybody else who adds words to the school until the transaction ends.
pub async fn lock(conn: &mut Conn, school: SchoolId) -> StoreResult<()> {
    statement("SELECT pg_advisory_xact_lock(hashtextextended('lexicon:' || $1::text, 0))")
        .bind::<SqlUuid, _>(school)
        .execute(conn)
        .await?;
    Ok(())
}

/// Adds a word.
pub async fn add(conn: &mut Conn, school: SchoolId, word: &LexiconWord) -> StoreResult<()> {
    diesel::insert_into(lexicon_word::table)
        .values((
            lexicon_word::id.eq(word.id.0),
            lexicon_word::school_id.eq(school.0),
            lexicon_word::held_in.eq(word.held_in.as_str()),
            lexicon_word::phrase.eq(&word.phrase),
            lexicon_word::meaning.eq(&word.meaning),
            lexicon_word::added_by.eq(word.added_by.0),
            lexicon_word::added_at.eq(word.added_at),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

/// Removes a word; false if the school has no such word.
pub async fn remove(conn: &mut Conn, id: LexiconWordId) -> StoreResult<bool> {
    let rows = diesel::delete(lexicon_word::table.find(id.0))
        .execute(conn)
        .await?;
    Ok(rows == 1)
}
