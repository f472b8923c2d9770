//! New passwords for those who forgot theirs.

mod create;
pub mod types;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(create::create_password_reset);
}
