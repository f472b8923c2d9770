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
    for person in persons {
        let address = hand_out(conn, state, school.id, person.id, INVITATION, at).await?;
        let letter = Letter {
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
            link: Some(("Choose a password".into(), address.url)),
            ..letter_to(person, address.about, at)
        };
        mail::post(conn, state, school.id, &letter).await?;
    }
    people::set_invited(conn, &ids, at).await
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
    let address = hand_out(conn, state, school.id, person.id, RESET, at).await?;
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
        link: Some(("Choose a new password".into(), address.url)),
        ..letter_to(person, address.about, at)
    };
    mail::post(conn, state, school.id, &letter).await?;
    Ok(())
}

struct HandedOut {
    url: String,
    /// Names the link in the Message-ID without giving it away.
    about: Uuid,
}

async fn hand_out(
    conn: &mut Conn,
    state: &State,
    school: SchoolId,
    person: PersonId,
    purpose: &str,
    at: DateTime<Utc>,
) -> StoreResult<HandedOut> {
    let token = Token::random();
    let hash = token.hash();
    let holds = if purpose == RESET {
        RESET_HOLDS
    } else {
        INVITATION_HOLDS
    };
    let link = NewLink {
        hash: &hash,
        school,
        person,
        purpose,
        at,
        expires: at + holds,
    };
    links::add(conn, &link).await?;
    Ok(HandedOut {
        url: format!("{}/link/{token}", state.public_url),
        about: Uuid::new_v5(&person.0, &hash),
    })
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
