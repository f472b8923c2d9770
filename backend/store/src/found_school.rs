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
    /// Hash of the token of the link by which they choose a password.
    pub link_hash: &'a [u8],
    /// When that link ends.
    pub link_expires: DateTime<Utc>,
    /// Now.
    pub at: DateTime<Utc>,
}

/// Writes school, person and link; nothing of it if the slug is taken, which is told by `None`.
///
/// # Errors
/// What Postgres refused.
pub fn found_school(admin_url: &str, new: &NewSchool<'_>) -> Result<Option<Uuid>, PrepareError> {
    let refused = |doing| move |source| PrepareError::Statement { doing, source };
    let mut admin =
        postgres::Client::connect(admin_url, postgres::NoTls).map_err(refused("sign in"))?;
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
        return Ok(None);
    }
    let person = Uuid::now_v7();
    transaction
        .execute(
            "INSERT INTO person (id, school_id, email, name, roles, invited_at, created_at)
             VALUES ($1, $2, lower($3), $4, '{office}', $5, $5)",
            &[&person, &school, &new.office_email, &new.office_name, &new.at],
        )
        .map_err(refused("add the office"))?;
    transaction
        .execute(
            "INSERT INTO access_link (token_hash, school_id, person_id, purpose, created_at, expires_at)
             VALUES ($1, $2, $3, 'invitation', $4, $5)",
            &[&new.link_hash, &school, &person, &new.at, &new.link_expires],
        )
        .map_err(refused("invite the office"))?;
    transaction.commit().map_err(refused("commit"))?;
    Ok(Some(school))
}
