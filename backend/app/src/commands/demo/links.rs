//! Links by which the invented people choose their password, without opening their mail.

use chrono::{DateTime, Duration, Utc};
use store::found_school::{NewLink, write_link};

use super::DemoError;
use crate::config::Secret;
use crate::token::Token;

/// Writes links past the policies, as the database's superuser.
pub(super) struct Links {
    pub admin_url: Secret,
    pub school: &'static str,
}

impl Links {
    /// A link of that purpose for the person of that address; gives its token.
    pub async fn write(
        &self,
        email: &'static str,
        purpose: &'static str,
        at: DateTime<Utc>,
    ) -> Result<String, DemoError> {
        let token = Token::random();
        let hash = token.hash();
        let (admin_url, school) = (self.admin_url.clone(), self.school);
        tokio::task::spawn_blocking(move || {
            write_link(
                admin_url.reveal(),
                &NewLink {
                    school,
                    email,
                    purpose,
                    hash: &hash,
                    at,
                    expires: at + Duration::hours(1),
                },
            )
        })
        .await??;
        Ok(token.to_string())
    }
}
