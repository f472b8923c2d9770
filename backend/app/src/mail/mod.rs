//! Letters: from what is to be said to the bytes of a mail in the outbox.

mod compose;

use chrono::{DateTime, Utc};
use domain::{MailId, PersonId, SchoolId, jobs::Payload};
use store::outbox::{self, NewMail};
use store::{Conn, StoreResult, jobs};
use uuid::Uuid;

use crate::state::State;
pub use compose::ComposeError;

/// What is to be said to one person.
#[derive(Debug, Clone)]
pub struct Letter {
    /// What sort of mail it is; with `about` it makes the Message-ID.
    pub kind: &'static str,
    /// What it is about.
    pub about: Uuid,
    /// Whom it is for.
    pub person: PersonId,
    /// Their name.
    pub name: String,
    /// Their address.
    pub to: String,
    /// The subject line.
    pub subject: String,
    /// What it says, a paragraph each, plain text.
    pub paragraphs: Vec<String>,
    /// A link to follow: its words and its address.
    pub link: Option<(String, String)>,
    /// When it is written.
    pub at: DateTime<Utc>,
}

/// Writes the letter into the outbox and asks for its delivery, in the caller's transaction. The same letter twice is one mail.
///
/// # Errors
/// If the database refuses, or the address cannot be written into a mail.
pub async fn post(
    conn: &mut Conn,
    state: &State,
    school: SchoolId,
    letter: &Letter,
) -> StoreResult<MailId> {
    let message_id = compose::message_id(letter, &state.config.mail.from);
    let id = MailId(Uuid::new_v5(&Uuid::NAMESPACE_URL, message_id.as_bytes()));
    let body = compose::bytes(letter, &message_id, &state.config.mail.from)
        .map_err(|e| store::StoreError::Nonsense(e.to_string()))?;
    let mail = NewMail {
        id,
        school,
        person: letter.person,
        kind: letter.kind,
        about: letter.about,
        message_id: &message_id,
        recipient: &letter.to,
        subject: &letter.subject,
        body: &body,
        at: letter.at,
    };
    outbox::add(conn, &mail).await?;
    jobs::enqueue(
        conn,
        school,
        letter.person,
        &Payload::SendMail { mail: id },
        letter.at,
    )
    .await?;
    Ok(id)
}
