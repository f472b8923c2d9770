//! What recurs: concerns down, revisions across.

mod grid;
mod read;
pub mod types;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(read::read_refrain)
        .service(read::read_shot_refrain);
}
