//! Uploads by tus 1.0 (tus.io, resumable upload protocol 1.0.0): core, creation, expiration, checksum, termination.

mod append;
mod create;
mod describe;
mod end;
mod look;
mod options;
mod protocol;
mod types;
mod whole;

pub use protocol::speak_protocol;
use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(options::tus_options)
        .service(create::create_upload)
        .service(look::look_at_upload)
        .service(append::append_to_upload)
        .service(end::end_upload)
        .service(describe::get_upload);
}
