//! Mails on their way out.

use crate::schema::mail;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use domain::{MailId, PersonId, SchoolId};
use std::collections::HashSet;
use uuid::Uuid;

/// A mail to be written into the outbox.
#[derive(Clone, Copy, Debug)]
pub struct NewMail<'a> {
    /// Its id.
    pub id: MailId,
    /// The school.
    pub school: SchoolId,
    /// The recipient.
    pub person: PersonId,
    /// What sort of mail.
    pub kind: &'a str,
    /// What it is about.
    pub about: Uuid,
    /// Its Message-ID, with the angle brackets.
    pub message_id: &'a str,
    /// The recipient's address.
    pub recipient: &'a str,
    /// The subject line.
    pub subject: &'a str,
    /// The whole mail, as it is sent.
    pub body: &'a [u8],
    /// When it was written.
    pub at: DateTime<Utc>,
}

/// Adds them; one whose Message-ID is known already changes nothing.
pub async fn add(conn: &mut Conn, new: &[NewMail<'_>]) -> StoreResult<()> {
    let rows: Vec<_> = new
        .iter()
        .map(|new| {
            (
                mail::id.eq(new.id.0),
                mail::school_id.eq(new.school.0),
                mail::person_id.eq(new.person.0),
                mail::kind.eq(new.kind),
                mail::about.eq(new.about),
                mail::message_id.eq(new.message_id),
                mail::recipient.eq(new.recipient),
                mail::subject.eq(new.subject),
                mail::body.eq(new.body),
                mail::created_at.eq(new.at),
            )
        })
        .collect();
    diesel::insert_into(mail::table)
        .values(rows)
        .on_conflict_do_nothing()
        .execute(conn)
        .await?;
    Ok(())
}

/// A mail that is still to be sent.
#[derive(Clone, Debug, Queryable)]
pub struct Waiting {
    /// The recipient's address.
    pub recipient: String,
    /// The whole mail, as it is sent.
    pub body: Vec<u8>,
}

/// The mail, if it is the actor's and still to be sent.
pub async fn waiting(conn: &mut Conn, id: MailId) -> StoreResult<Option<Waiting>> {
    Ok(mail::table
        .filter(mail::id.eq(id.0).and(mail::state.eq("queued")))
        .select((mail::recipient, mail::body))
        .first(conn)
        .await
        .optional()?)
}

/// Notes that the mail was handed over at `at`.
pub async fn set_sent(conn: &mut Conn, id: MailId, at: DateTime<Utc>) -> StoreResult<()> {
    diesel::update(mail::table.find(id.0))
        .set((
            mail::state.eq("sent"),
            mail::sent_at.eq(at),
            mail::last_error.eq(None::<String>),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

/// Notes that the mail will never be handed over, and why.
pub async fn set_dead(conn: &mut Conn, id: MailId, error: &str) -> StoreResult<()> {
    diesel::update(mail::table.find(id.0))
        .set((mail::state.eq("dead"), mail::last_error.eq(error)))
        .execute(conn)
        .await?;
    Ok(())
}

/// Those of these things that a mail of that kind was written about already.
pub async fn known(conn: &mut Conn, kind: &str, about: &[Uuid]) -> StoreResult<HashSet<Uuid>> {
    let known: Vec<Uuid> = mail::table
        .filter(mail::kind.eq(kind).and(mail::about.eq_any(about)))
        .select(mail::about)
        .load(conn)
        .await?;
    Ok(known.into_iter().collect())
}
