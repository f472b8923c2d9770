//! Shapes of people.

use chrono::{DateTime, Utc};
use domain::{PersonId, Role};
use validator::ValidationError;

/// A person.
#[derive(Debug, Clone, serde::Serialize, utoipa::ToSchema)]
pub struct Person {
    /// Their id.
    pub id: PersonId,
    /// Their name.
    pub name: String,
    /// Their address.
    pub email: String,
    /// What they are here.
    pub roles: Vec<Role>,
    /// When the last invitation was written.
    #[schema(required)]
    pub invited_at: Option<DateTime<Utc>>,
    /// When they first chose a password.
    #[schema(required)]
    pub joined_at: Option<DateTime<Utc>>,
}

impl From<store::people::Person> for Person {
    fn from(row: store::people::Person) -> Person {
        Person {
            id: row.id,
            name: row.name,
            email: row.email,
            roles: row.roles,
            invited_at: row.invited_at,
            joined_at: row.joined_at,
        }
    }
}

/// Somebody to be added and invited.
#[derive(Debug, serde::Deserialize, validator::Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewPerson {
    /// Their name.
    #[validate(length(min = 1, max = 120), custom(function = has_words))]
    pub name: String,
    /// Their address.
    #[validate(custom(function = is_mail_address))]
    pub email: String,
    /// What they are to be.
    #[validate(length(min = 1, max = 3))]
    pub roles: Vec<Role>,
}

/// What is corrected about somebody.
#[derive(Debug, serde::Deserialize, validator::Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Correction {
    /// Their name.
    #[serde(default)]
    #[validate(length(min = 1, max = 120), custom(function = has_words))]
    pub name: Option<String>,
    /// Their address.
    #[serde(default)]
    #[validate(custom(function = is_mail_address))]
    pub email: Option<String>,
}

/// Which persons are listed.
#[derive(Debug, serde::Deserialize, utoipa::IntoParams)]
pub struct PersonQuery {
    /// Only those with this role.
    pub role: Option<Role>,
    /// Only those whose name or address holds these words.
    pub q: Option<String>,
    /// Rows wanted, 1..=200.
    pub limit: Option<i64>,
    /// From the page before.
    pub cursor: Option<String>,
}

/// Not blank, and nothing that breaks a line.
///
/// # Errors
/// If it is.
pub fn has_words(given: &str) -> Result<(), ValidationError> {
    if given.trim().is_empty() || given.chars().any(char::is_control) {
        return Err(ValidationError::new("words").with_message("must be a line of words".into()));
    }
    Ok(())
}

/// An address that every mail server takes: ASCII, at most 254 characters (RFC 5321, 4.5.3.1.3).
///
/// # Errors
/// If it is not.
pub fn is_mail_address(given: &str) -> Result<(), ValidationError> {
    let address = given.trim();
    let fits = (3..=254).contains(&address.len()) && address.is_ascii();
    if fits && address.parse::<lettre::Address>().is_ok() {
        return Ok(());
    }
    Err(ValidationError::new("email").with_message("is not a mail address".into()))
}

/// An address as it is kept: without spaces around it, in small letters.
#[must_use]
pub fn as_kept(email: &str) -> String {
    email.trim().to_ascii_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses() {
        for good in [
            "a@b.example",
            " Mara.Iv@school.example ",
            "o'x+tag@b.example",
        ] {
            assert!(is_mail_address(good).is_ok(), "{good}");
        }
        for bad in [
            "",
            "a",
            "a@",
            "@b",
            "a b@c.example",
            "a@b.example\r\nBcc: x@y.example",
            "å@b.example",
        ] {
            assert!(is_mail_address(bad).is_err(), "{bad}");
        }
        assert_eq!(as_kept(" Mara@School.Example "), "mara@school.example");
    }
}
