//! Founding a school: the one thing that no person of a school can do, so it takes a superuser. Blocking.

use chrono::{DateTime, Utc};
use uuid::Uuid;

use crate::prepare_database::PrepareError;

/// A school to be, and the first person of its office.
#[derive(Debug, Clone)]
pub struct NewSchool<'a> {
    /// What its address ends in: lower-case letters, digits and hyphens.
    pub slug: &'a str,
    /// Its name.
    pub name: &'a str,
    /// The time zone its days are counted in, as in `Europe/Vienna`.
    pub time_zone: &'a str,
    /// Name of the first person of the office.
    pub office_name: &'a str,
    /// Their address.
    pub office_email: &'a str,
    /// Now.
    pub at: DateTime<Utc>,
}

/// A link by which a person chooses a password.
#[derive(Debug, Clone)]
pub struct NewLink<'a> {
    /// The school's slug.
    pub school: &'a str,
    /// The person's address.
    pub email: &'a str,
    /// `invitation` or `reset`.
    pub purpose: &'a str,
    /// Hash of the link's token.
    pub hash: &'a [u8],
    /// Now.
    pub at: DateTime<Utc>,
    /// When it ends.
    pub expires: DateTime<Utc>,
}

/// What came of founding a school.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Founded {
    /// It is new.
    Now,
    /// There was one of that slug already, founded then; nothing was written.
    Before(DateTime<Utc>),
}

/// Writes the school and the first person of its office.
///
/// # Errors
/// What Postgres refused.
pub fn found_school(admin_url: &str, new: &NewSchool<'_>) -> Result<Founded, PrepareError> {
    let mut admin = sign_in(admin_url)?;
    let mut transaction = admin.transaction().map_err(refused("begin"))?;
    let school = Uuid::now_v7();
    let written = transaction
        .execute(
            "INSERT INTO school (id, slug, name, time_zone, created_at) VALUES ($1, $2, $3, $4, $5)
             ON CONFLICT (slug) DO NOTHING",
            &[&school, &new.slug, &new.name, &new.time_zone, &new.at],
        )
        .map_err(refused("found the school"))?;
    if written == 0 {
        let row = transaction
            .query_one(
                "SELECT created_at FROM school WHERE slug = $1",
                &[&new.slug],
            )
            .map_err(refused("look at the school"))?;
        return Ok(Founded::Before(row.get(0)));
    }
    transaction
        .execute(
            "INSERT INTO person (id, school_id, email, name, roles, invited_at, created_at)
             VALUES ($1, $2, lower($3), $4, '{office}', $5, $5)",
            &[
                &Uuid::now_v7(),
                &school,
                &new.office_email,
                &new.office_name,
                &new.at,
            ],
        )
        .map_err(refused("add the office"))?;
    transaction.commit().map_err(refused("commit"))?;
    Ok(Founded::Now)
}

/// Writes a link for a person; false if there is no such person.
///
/// # Errors
/// What Postgres refused.
pub fn write_link(admin_url: &str, new: &NewLink<'_>) -> Result<bool, PrepareError> {
    let written = sign_in(admin_url)?
        .execute(
            "INSERT INTO access_link (token_hash, school_id, person_id, purpose, created_at, expires_at)
             SELECT $1, s.id, p.id, $2, $3, $4 FROM school s JOIN person p ON p.school_id = s.id
             WHERE s.slug = $5 AND p.email = lower($6)",
            &[&new.hash, &new.purpose, &new.at, &new.expires, &new.school, &new.email],
        )
        .map_err(refused("write the link"))?;
    Ok(written == 1)
}

fn sign_in(url: &str) -> Result<postgres::Client, PrepareError> {
    postgres::Client::connect(url, postgres::NoTls).map_err(refused("sign in"))
}

fn refused(doing: &'static str) -> impl FnOnce(postgres::Error) -> PrepareError {
    move |source| PrepareError::Statement { doing, source }
}
