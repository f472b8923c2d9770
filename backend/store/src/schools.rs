//! Schools: found by anybody through a door, seen in full by their own people.

use crate::statement::statement;
use crate::{Conn, StoreResult};
use diesel::OptionalExtension;
use diesel::sql_types::{Text, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::SchoolId;

/// A school.
#[derive(Clone, Debug, diesel::QueryableByName)]
pub struct School {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: SchoolId,
    /// What its sign-in address ends in.
    #[diesel(sql_type = Text)]
    pub slug: String,
    /// Its name.
    #[diesel(sql_type = Text)]
    pub name: String,
    /// The time zone its days are counted in.
    #[diesel(sql_type = Text)]
    pub time_zone: String,
}

/// The school of that slug, through the door `find_school`.
pub async fn find(conn: &mut Conn, slug: &str) -> StoreResult<Option<School>> {
    Ok(statement("SELECT * FROM find_school($1)")
        .bind::<Text, _>(slug)
        .get_result(conn)
        .await
        .optional()?)
}

/// The asker's own school.
pub async fn own(conn: &mut Conn) -> StoreResult<School> {
    Ok(statement("SELECT id, slug, name, time_zone FROM school")
        .get_result(conn)
        .await?)
}
