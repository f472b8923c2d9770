//! Courses and their assignments.

mod amend;
mod amend_assignment;
mod create;
mod create_assignment;
mod list;
pub mod types;

use domain::ProblemCode;
use store::{StoreError, courses};
use utoipa_actix_web::service_config::ServiceConfig;

use super::problem::Problem;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(list::list_courses)
        .service(create::create_course)
        .service(amend::amend_course)
        .service(create_assignment::create_assignment)
        .service(amend_assignment::amend_assignment);
}

/// What the database's refusal of a course means.
fn explain(error: StoreError) -> Problem {
    if error.is_refused_by(courses::ONE_NAME) {
        return Problem::new(ProblemCode::Duplicate)
            .detail("This school has a course of this name already.")
            .field("name", "is another course's", "Add what tells them apart.");
    }
    error.into()
}
