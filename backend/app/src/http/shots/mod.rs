//! Shots and their chains.

mod change;
mod create;
mod get;
mod list;
pub mod types;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(list::list_shots)
        .service(create::create_shot)
        .service(get::get_shot)
        .service(change::change_shot);
}
