//! Single-use links by which a person chooses a password.

mod get;
pub mod types;
mod use_up;

use domain::ProblemCode;
use utoipa_actix_web::service_config::ServiceConfig;

use super::problem::Problem;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(get::get_access_link)
        .service(use_up::use_access_link);
}

fn spent() -> Problem {
    Problem::new(ProblemCode::LinkSpent).detail(
        "Each link works once, and for a limited time. The school's office can send a new invitation; a forgotten password is chosen anew from the sign-in page.",
    )
}
