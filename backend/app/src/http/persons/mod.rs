//! The people of a school.

mod correct;
mod create;
mod invite;
mod list;
pub mod types;

use domain::ProblemCode;
use store::{StoreError, people};
use utoipa_actix_web::service_config::ServiceConfig;

use super::problem::Problem;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(list::list_persons)
        .service(create::create_person)
        .service(correct::correct_person)
        .service(invite::invite_person);
}

/// What the database's refusal of a person means.
pub(super) fn explain(error: StoreError) -> Problem {
    if error.is_refused_by(people::ONE_ADDRESS) {
        return Problem::new(ProblemCode::Duplicate)
            .detail("Somebody of this school has this mail address already.")
            .field(
                "email",
                "is somebody's already",
                "Look for them in the list of people.",
            );
    }
    error.into()
}
