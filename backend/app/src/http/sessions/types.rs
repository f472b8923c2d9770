//! Shapes of signing in.

/// Who wants to sign in, and where.
#[derive(serde::Deserialize, validator::Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SignIn {
    /// The school's slug.
    #[validate(length(min = 1, max = 63))]
    pub school: String,
    /// The address of the account.
    #[validate(length(min = 1, max = 254))]
    pub email: String,
    /// The password.
    #[validate(length(min = 1, max = 256))]
    pub password: String,
}
