//! Single-use links by which a person chooses a password. Only the hash of a link's token is kept.

use crate::schema::access_link;
use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{Array, Binary, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{Actor, PersonId, Role, SchoolId};

/// What a link is for, as the table writes it.
pub const INVITATION: &str = "invitation";
/// What a link is for, as the table writes it.
pub const RESET: &str = "reset";

/// A link that still works.
#[derive(Clone, Debug)]
pub struct Link {
    /// Whose it is.
    pub actor: Actor,
    /// [`INVITATION`] or [`RESET`].
    pub purpose: String,
}

#[derive(QueryableByName)]
struct LinkRow {
    #[diesel(sql_type = SqlUuid)]
    school_id: SchoolId,
    #[diesel(sql_type = SqlUuid)]
    person_id: PersonId,
    #[diesel(sql_type = Array<Text>)]
    roles: Vec<Role>,
    #[diesel(sql_type = Text)]
    purpose: String,
}

/// A link to be handed out.
#[derive(Clone, Copy, Debug)]
pub struct NewLink<'a> {
    /// Hash of its token.
    pub hash: &'a [u8; 32],
    /// The school.
    pub school: SchoolId,
    /// Who may use it.
    pub person: PersonId,
    /// [`INVITATION`] or [`RESET`].
    pub purpose: &'a str,
    /// Now.
    pub at: DateTime<Utc>,
    /// When it ends.
    pub expires: DateTime<Utc>,
}

/// The link of that token, through the door `find_link`; none when it was used or has run out at `at`.
pub async fn find(
    conn: &mut Conn,
    hash: &[u8; 32],
    at: DateTime<Utc>,
) -> StoreResult<Option<Link>> {
    let row: Option<LinkRow> = statement("SELECT * FROM find_link($1, $2)")
        .bind::<Binary, _>(hash.as_slice())
        .bind::<Timestamptz, _>(at)
        .get_result(conn)
        .await
        .optional()?;
    Ok(row.map(|row| Link {
        actor: Actor {
            school: row.school_id,
            person: row.person_id,
            roles: row.roles.into_iter().collect(),
        },
        purpose: row.purpose,
    }))
}

/// Adds links.
pub async fn add(conn: &mut Conn, new: &[NewLink<'_>]) -> StoreResult<()> {
    let rows: Vec<_> = new
        .iter()
        .map(|new| {
            (
                access_link::token_hash.eq(new.hash.as_slice()),
                access_link::school_id.eq(new.school.0),
                access_link::person_id.eq(new.person.0),
                access_link::purpose.eq(new.purpose),
                access_link::created_at.eq(new.at),
                access_link::expires_at.eq(new.expires),
            )
        })
        .collect();
    diesel::insert_into(access_link::table)
        .values(rows)
        .execute(conn)
        .await?;
    Ok(())
}

/// Uses the actor's link up; false if somebody was first.
pub async fn use_up(conn: &mut Conn, hash: &[u8; 32], at: DateTime<Utc>) -> StoreResult<bool> {
    let rows = diesel::update(
        access_link::table.filter(
            access_link::token_hash
                .eq(hash.as_slice())
                .and(access_link::used_at.is_null())
                .and(access_link::expires_at.gt(at)),
        ),
    )
    .set(access_link::used_at.eq(at))
    .execute(conn)
    .await?;
    Ok(rows == 1)
}

/// Makes all links of these persons for that purpose void, used ones too.
pub async fn void(conn: &mut Conn, persons: &[PersonId], purpose: &str) -> StoreResult<()> {
    let ids: Vec<uuid::Uuid> = persons.iter().map(|person| person.0).collect();
    diesel::delete(
        access_link::table.filter(
            access_link::person_id
                .eq_any(ids)
                .and(access_link::purpose.eq(purpose)),
        ),
    )
    .execute(conn)
    .await?;
    Ok(())
}
