//! Shapes of links.

use crate::http::schools::types::School;

/// A link that still works.
#[derive(Debug, Clone, serde::Serialize, utoipa::ToSchema)]
pub struct AccessLink {
    /// `invitation` or `reset`.
    #[schema(value_type = domain::LinkPurpose)]
    pub purpose: String,
    /// The school.
    pub school: School,
    /// Whose link it is.
    pub name: String,
    /// Their address.
    pub email: String,
}

/// The password that is chosen. Length alone is asked for (NIST SP 800-63B, 5.1.1.2).
#[derive(serde::Deserialize, validator::Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewPassword {
    /// 12 to 256 characters.
    #[validate(length(min = 12, max = 256, message = "must be 12 to 256 characters long"))]
    pub password: String,
}
