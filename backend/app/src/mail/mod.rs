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
) -> StoreResult<()> {
    post_all(conn, state, school, std::slice::from_ref(letter), letter.at).await
}

/// The same for many, due at `at`, in two queries.
///
/// # Errors
/// As for [`post`].
pub async fn post_all(
    conn: &mut Conn,
    state: &State,
    school: SchoolId,
    letters: &[Letter],
    at: DateTime<Utc>,
) -> StoreResult<()> {
    let from = &state.config.mail.from;
    let written = letters
        .iter()
        .map(|letter| Written::new(letter, from))
        .collect::<StoreResult<Vec<_>>>()?;
    let mails: Vec<NewMail<'_>> = written.iter().map(|mail| mail.row(school)).collect();
    outbox::add(conn, &mails).await?;
    let deliveries: Vec<(PersonId, Payload)> = mails
        .iter()
        .map(|mail| (mail.person, Payload::SendMail { mail: mail.id }))
        .collect();
    jobs::enqueue_all(conn, school, &deliveries, at).await
}

/// A letter as it goes into the outbox.
struct Written<'a> {
    letter: &'a Letter,
    message_id: String,
    body: Vec<u8>,
}

impl<'a> Written<'a> {
    fn new(letter: &'a Letter, from: &str) -> StoreResult<Self> {
        let message_id = compose::message_id(letter, from);
        let body = compose::bytes(letter, &message_id, from)
            .map_err(|e| store::StoreError::Nonsense(e.to_string()))?;
        Ok(Self {
            letter,
            message_id,
            body,
        })
    }

    fn row(&self, school: SchoolId) -> NewMail<'_> {
        NewMail {
            id: MailId(Uuid::new_v5(
                &Uuid::NAMESPACE_URL,
                self.message_id.as_bytes(),
            )),
            school,
            person: self.letter.person,
            kind: self.letter.kind,
            about: self.letter.about,
            message_id: &self.message_id,
            recipient: &self.letter.to,
            subject: &self.letter.subject,
            body: &self.body,
            at: self.letter.at,
        }
    }
}
