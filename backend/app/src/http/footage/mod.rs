//! Footage: how its preparation stands, and its files.

mod cancel;
mod file;
mod get;
mod prepare_again;
pub mod range;
pub mod types;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(get::get_footage)
        .service(cancel::cancel_footage)
        .service(prepare_again::prepare_footage);
}

/// Adds the routes of its files.
pub fn configure_files(api: &mut ServiceConfig) {
    api.service(file::get_footage_copy)
        .service(file::get_footage_strip)
        .service(file::get_footage_poster)
        .service(file::get_footage_sound);
}
