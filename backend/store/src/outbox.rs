//! Mails on their way out.

use crate::schema::mail;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use domain::{MailId, PersonId, SchoolId};
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

/// Adds it; the same Message-ID again changes nothing.
pub async fn add(conn: &mut Conn, new: &NewMail<'_>) -> StoreResult<()> {
    diesel::insert_into(mail::table)
        .values((
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
        ))
        .on_conflict_do_nothing()
        .execute(conn)
        .await?;
    Ok(())
}
