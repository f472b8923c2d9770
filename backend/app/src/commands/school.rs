//! `refrain school`: founds a school. Everything else about it is then done by its office, in the pages.

use chrono::Duration;
use store::found_school::{Founded, NewLink, NewSchool, found_school, write_link};
use store::prepare_database::PrepareError;

use super::ground::Ground;
use crate::clock::Clock;
use crate::config::Config;
use crate::token::Token;

/// How long the first link holds.
const LINK_HOLDS: Duration = Duration::days(7);

/// What the command line gives.
#[derive(Debug, clap::Args)]
pub struct SchoolArgs {
    /// What the school's address ends in: lower-case letters, digits and hyphens.
    #[arg(value_parser = slug)]
    slug: String,
    /// Its name.
    name: String,
    /// The address of the first person of its office.
    office_email: String,
    /// Their name.
    #[arg(long, default_value = "Office", value_name = "NAME")]
    office_name: String,
    /// The time zone its days are counted in, as in Europe/Vienna.
    #[arg(long, default_value = "UTC", value_name = "ZONE")]
    time_zone: chrono_tz::Tz,
}

/// Why there is no new school.
#[derive(Debug, thiserror::Error)]
pub enum SchoolError {
    /// The slug is taken.
    #[error("there is a school {0} already")]
    Taken(String),
    /// The database refused.
    #[error(transparent)]
    Refused(#[from] PrepareError),
}

/// Founds it; gives the link by which its office comes in.
pub(super) fn found(
    config: &Config,
    ground: &Ground,
    args: &SchoolArgs,
) -> Result<String, SchoolError> {
    let at = Clock::default().now();
    let admin = ground.addresses.admin.reveal();
    let school = NewSchool {
        slug: &args.slug,
        name: &args.name,
        time_zone: args.time_zone.name(),
        office_name: &args.office_name,
        office_email: &args.office_email,
        at,
    };
    if found_school(admin, &school)? != Founded::Now {
        return Err(SchoolError::Taken(args.slug.clone()));
    }
    let token = Token::random();
    let link = NewLink {
        school: &args.slug,
        email: &args.office_email,
        purpose: "invitation",
        hash: &token.hash(),
        at,
        expires: at + LINK_HOLDS,
    };
    write_link(admin, &link)?;
    Ok(format!(
        "{}/link/{token}",
        config.server.public_url(config.server.listen)
    ))
}

/// As the database demands it.
fn slug(given: &str) -> Result<String, String> {
    let is_plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit();
    let fits = (2..=63).contains(&given.len())
        && given.starts_with(is_plain)
        && given.chars().all(|c| is_plain(c) || c == '-');
    if fits {
        Ok(given.to_owned())
    } else {
        Err(
            "give 2 to 63 lower-case letters, digits and hyphens, beginning with a letter or digit"
                .into(),
        )
    }
}
