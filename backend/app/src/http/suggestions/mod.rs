//! What a note seems to say and to be about while it is typed, what was proposed, and what became of that.

mod count;
mod earlier;
mod keep;
mod suggest;
pub mod types;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(suggest::suggest)
        .service(keep::keep_suggestions)
        .service(count::count_suggestions);
}
