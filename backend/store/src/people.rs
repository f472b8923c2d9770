//! Persons: the accounts of a school.

use crate::schema::person;
use crate::statement::{filtered, statement};
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{Array, BigInt, Jsonb, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{PersonId, Role, SchoolId};

/// The constraint that keeps an address unique within a school.
pub const ONE_ADDRESS: &str = "person_school_id_email_key";

/// A person.
#[derive(Clone, Debug, QueryableByName)]
pub struct Person {
    /// Their id.
    #[diesel(sql_type = SqlUuid)]
    pub id: PersonId,
    /// Their address, in small letters.
    #[diesel(sql_type = Text)]
    pub email: String,
    /// Their name.
    #[diesel(sql_type = Text)]
    pub name: String,
    /// What they are here.
    #[diesel(sql_type = Array<Text>)]
    pub roles: Vec<Role>,
    /// How they like to work, as the pages keep it.
    #[diesel(sql_type = Jsonb)]
    pub preferences: serde_json::Value,
    /// When the last invitation was written.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub invited_at: Option<DateTime<Utc>>,
    /// When they first chose a password.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub joined_at: Option<DateTime<Utc>>,
    /// What lists are in the order of: the name in small letters, as the database makes them.
    #[diesel(sql_type = Text)]
    pub sort_key: String,
}

/// Somebody to be added.
#[derive(Clone, Debug)]
pub struct NewPerson {
    /// Their id.
    pub id: PersonId,
    /// The school.
    pub school: SchoolId,
    /// Their address, in small letters.
    pub email: String,
    /// Their name.
    pub name: String,
    /// What they are to be.
    pub roles: Vec<Role>,
    /// Now.
    pub at: DateTime<Utc>,
}

/// Which persons are listed.
#[derive(Clone, Debug, Default)]
pub struct Wanted {
    /// Only those with this role.
    pub role: Option<Role>,
    /// Only those whose name or address holds these words.
    pub words: Option<String>,
    /// Only the students of this mentor.
    pub students_of: Option<PersonId>,
    /// Only those after this sort key and id.
    pub after: Option<(String, PersonId)>,
    /// How many at most.
    pub limit: i64,
}

const SELECT: &str = "SELECT p.id, p.email, p.name, p.roles, p.preferences, p.invited_at, p.joined_at, lower(p.name) AS sort_key FROM person p";

/// One person.
pub async fn get(conn: &mut Conn, id: PersonId) -> StoreResult<Option<Person>> {
    Ok(statement(format!("{SELECT} WHERE p.id = $1"))
        .bind::<SqlUuid, _>(id)
        .get_result(conn)
        .await
        .optional()?)
}

/// Those of these addresses who exist.
pub async fn by_email(conn: &mut Conn, emails: &[String]) -> StoreResult<Vec<Person>> {
    Ok(statement(format!("{SELECT} WHERE p.email = ANY ($1)"))
        .bind::<Array<Text>, _>(emails)
        .load(conn)
        .await?)
}

/// Persons by name.
pub async fn list(conn: &mut Conn, wanted: &Wanted) -> StoreResult<Vec<Person>> {
    let (name, id) = wanted.after.clone().unzip();
    Ok(filtered(format!(
        "{SELECT} WHERE ($1::text IS NULL OR $1 = ANY (p.roles))
           AND ($2::text IS NULL OR strpos(lower(p.name), lower($2)) > 0 OR strpos(p.email, lower($2)) > 0)
           AND ($3::uuid IS NULL OR p.id IN (SELECT e.student_id FROM enrolment e WHERE e.mentor_id = $3))
           AND ($4::text IS NULL OR (lower(p.name), p.id) > ($4, $5))
         ORDER BY lower(p.name), p.id LIMIT $6"
    ))
    .bind::<Nullable<Text>, _>(wanted.role.map(Role::as_str))
    .bind::<Nullable<Text>, _>(wanted.words.as_deref())
    .bind::<Nullable<SqlUuid>, _>(wanted.students_of.map(|person| person.0))
    .bind::<Nullable<Text>, _>(name)
    .bind::<Nullable<SqlUuid>, _>(id.map(|person| person.0))
    .bind::<BigInt, _>(wanted.limit)
    .load(conn)
    .await?)
}

/// Adds persons; refused by [`ONE_ADDRESS`] if one of the addresses is taken.
pub async fn add(conn: &mut Conn, new: &[NewPerson]) -> StoreResult<()> {
    let rows: Vec<_> = new
        .iter()
        .map(|new| {
            let roles: Vec<&str> = new.roles.iter().map(|role| role.as_str()).collect();
            (
                person::id.eq(new.id.0),
                person::school_id.eq(new.school.0),
                person::email.eq(&new.email),
                person::name.eq(&new.name),
                person::roles.eq(roles),
                person::created_at.eq(new.at),
            )
        })
        .collect();
    diesel::insert_into(person::table)
        .values(rows)
        .execute(conn)
        .await?;
    Ok(())
}

/// Corrects name and address; refused by [`ONE_ADDRESS`] if the address is taken.
pub async fn correct(conn: &mut Conn, id: PersonId, name: &str, email: &str) -> StoreResult<()> {
    diesel::update(person::table.find(id.0))
        .set((person::name.eq(name), person::email.eq(email)))
        .execute(conn)
        .await?;
    Ok(())
}

/// Notes that these persons were invited at `at`.
pub async fn set_invited(
    conn: &mut Conn,
    persons: &[PersonId],
    at: DateTime<Utc>,
) -> StoreResult<()> {
    let ids: Vec<uuid::Uuid> = persons.iter().map(|person| person.0).collect();
    diesel::update(person::table.filter(person::id.eq_any(ids)))
        .set(person::invited_at.eq(at))
        .execute(conn)
        .await?;
    Ok(())
}

/// Notes that the person chose a password at `at`, if it was their first.
pub async fn set_joined(conn: &mut Conn, id: PersonId, at: DateTime<Utc>) -> StoreResult<()> {
    diesel::update(person::table.filter(person::id.eq(id.0).and(person::joined_at.is_null())))
        .set(person::joined_at.eq(at))
        .execute(conn)
        .await?;
    Ok(())
}

/// Keeps the person's name and how they like to work.
pub async fn set_own(
    conn: &mut Conn,
    id: PersonId,
    name: &str,
    preferences: &serde_json::Value,
) -> StoreResult<()> {
    diesel::update(person::table.find(id.0))
        .set((person::name.eq(name), person::preferences.eq(preferences)))
        .execute(conn)
        .await?;
    Ok(())
}
