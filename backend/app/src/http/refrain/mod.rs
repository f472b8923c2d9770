//! What recurs: concerns down, revisions across.

mod grid;
mod habits;
mod plan;
mod read;
mod recurring;
pub mod types;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(read::read_refrain)
        .service(read::read_shot_refrain)
        .service(habits::read_habits)
        .service(plan::read_shot_plan);
}
