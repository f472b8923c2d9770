//! Notes as they are shown, the student's answers, and the mentor's own wordings.

mod answer;
mod phrases;
pub mod types;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(answer::answer_note)
        .service(phrases::find_phrases);
}
