//! Passwords, as hashes.

use crate::schema::credential;
use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{Array, Nullable, Text, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{Actor, PersonId, Role, SchoolId};

/// An account that somebody wants to sign in to.
#[derive(Clone, Debug)]
pub struct Account {
    /// Whom signing in makes.
    pub actor: Actor,
    /// The hash of the password; none until one was chosen.
    pub password_hash: Option<String>,
}

#[derive(QueryableByName)]
struct AccountRow {
    #[diesel(sql_type = SqlUuid)]
    school_id: SchoolId,
    #[diesel(sql_type = SqlUuid)]
    person_id: PersonId,
    #[diesel(sql_type = Array<Text>)]
    roles: Vec<Role>,
    #[diesel(sql_type = Nullable<Text>)]
    password_hash: Option<String>,
}

/// The account of an address at a school, through the door `find_account`.
pub async fn find_account(
    conn: &mut Conn,
    slug: &str,
    email: &str,
) -> StoreResult<Option<Account>> {
    let row: Option<AccountRow> = statement("SELECT * FROM find_account($1, $2)")
        .bind::<Text, _>(slug)
        .bind::<Text, _>(email)
        .get_result(conn)
        .await
        .optional()?;
    Ok(row.map(|row| Account {
        actor: Actor {
            school: row.school_id,
            person: row.person_id,
            roles: row.roles.into_iter().collect(),
        },
        password_hash: row.password_hash,
    }))
}

/// Keeps the hash of the actor's new password.
pub async fn set(
    conn: &mut Conn,
    actor: &Actor,
    password_hash: &str,
    at: DateTime<Utc>,
) -> StoreResult<()> {
    let changed = (
        credential::password_hash.eq(password_hash),
        credential::changed_at.eq(at),
    );
    diesel::insert_into(credential::table)
        .values((
            credential::person_id.eq(actor.person.0),
            credential::school_id.eq(actor.school.0),
            changed,
        ))
        .on_conflict(credential::person_id)
        .do_update()
        .set(changed)
        .execute(conn)
        .await?;
    Ok(())
}
