//! Links by mail: invitations, and new passwords for those who forgot theirs.

use chrono::{DateTime, TimeDelta, Utc};
use domain::{PersonId, SchoolId};
use store::links::{self, INVITATION, NewLink, RESET};
use store::people::{self, Person};
use store::schools::School;
use store::{Conn, StoreResult};
use uuid::Uuid;

use crate::mail::{self, Letter};
use crate::state::State;
use crate::token::Token;

/// How long an invitation holds.
const INVITATION_HOLDS: TimeDelta = TimeDelta::days(14);
/// How long a link to a new password holds.
const RESET_HOLDS: TimeDelta = TimeDelta::hours(1);

/// Invites persons, or invites them again: each gets a mail with a link, and the links they had before are void.
///
/// # Errors
/// If the database refuses.
pub async fn invite(
    conn: &mut Conn,
    state: &State,
    school: &School,
    persons: &[Person],
) -> StoreResult<()> {
    let at = state.clock.now();
    let ids: Vec<PersonId> = persons.iter().map(|person| person.id).collect();
    links::void(conn, &ids, INVITATION).await?;
    let handed: Vec<HandedOut> = persons
        .iter()
        .map(|person| HandedOut::new(state, person.id))
        .collect();
    let new: Vec<NewLink> = persons
        .iter()
        .zip(&handed)
        .map(|(person, handed)| handed.link(school.id, person.id, INVITATION, at))
        .collect();
    links::add(conn, &new).await?;
    let letters: Vec<Letter> = persons
        .iter()
        .zip(handed)
        .map(|(person, handed)| invitation(school, person, handed, at))
        .collect();
    mail::post_all(conn, state, school.id, &letters, at).await?;
    people::set_invited(conn, &ids, at).await
}

fn invitation(school: &School, person: &Person, handed: HandedOut, at: DateTime<Utc>) -> Letter {
    Letter {
        kind: INVITATION,
        subject: format!("{} invites you", school.name),
        paragraphs: vec![
            format!("Dear {},", person.name),
            format!(
                "{} has made an account for you, under {}. Follow the link to choose a password; then you are in.",
                school.name, person.email
            ),
            "The link works once, within 14 days. If it has run out, the school's office can send another.".into(),
        ],
        link: Some(("Choose a password".into(), handed.url)),
        ..letter_to(person, handed.about, at)
    }
}

/// Sends a link to a new password to the person, who is the asker; those sent before are void.
///
/// # Errors
/// If the database refuses.
pub async fn send_reset(
    conn: &mut Conn,
    state: &State,
    school: &School,
    person: &Person,
) -> StoreResult<()> {
    let at = state.clock.now();
    links::void(conn, &[person.id], RESET).await?;
    let handed = HandedOut::new(state, person.id);
    links::add(conn, &[handed.link(school.id, person.id, RESET, at)]).await?;
    let letter = Letter {
        kind: RESET,
        subject: format!("A new password for {}", school.name),
        paragraphs: vec![
            format!("Dear {},", person.name),
            format!(
                "Somebody asked for a new password for your account at {}. If it was you, follow the link.",
                school.name
            ),
            "The link works once, within an hour. If it was not you, do nothing: your password stays as it is.".into(),
        ],
        link: Some(("Choose a new password".into(), handed.url)),
        ..letter_to(person, handed.about, at)
    };
    mail::post(conn, state, school.id, &letter).await?;
    Ok(())
}

/// A link of which only the hash is kept.
struct HandedOut {
    hash: [u8; 32],
    url: String,
    /// Names the link in the Message-ID without giving it away.
    about: Uuid,
}

impl HandedOut {
    fn new(state: &State, person: PersonId) -> Self {
        let token = Token::random();
        let hash = token.hash();
        Self {
            url: format!("{}/link/{token}", state.public_url),
            about: Uuid::new_v5(&person.0, &hash),
            hash,
        }
    }

    fn link<'a>(
        &'a self,
        school: SchoolId,
        person: PersonId,
        purpose: &'a str,
        at: DateTime<Utc>,
    ) -> NewLink<'a> {
        let holds = if purpose == RESET {
            RESET_HOLDS
        } else {
            INVITATION_HOLDS
        };
        NewLink {
            hash: &self.hash,
            school,
            person,
            purpose,
            at,
            expires: at + holds,
        }
    }
}

fn letter_to(person: &Person, about: Uuid, at: DateTime<Utc>) -> Letter {
    Letter {
        kind: "",
        about,
        person: person.id,
        name: person.name.clone(),
        to: person.email.clone(),
        subject: String::new(),
        paragraphs: vec![],
        link: None,
        at,
    }
}
