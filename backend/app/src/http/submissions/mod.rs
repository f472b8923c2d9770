//! Sending, withdrawing and opening.

mod open;
pub mod promise;
mod send;
pub mod types;
mod withdraw;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(send::send_submission)
        .service(withdraw::withdraw_submission)
        .service(open::open_submission);
}
