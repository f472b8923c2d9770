//! The critique: read as one page, written piece by piece, released, amended.

mod amend;
mod checks;
mod concerns;
mod draft;
mod drawing;
mod note;
mod page;
mod read;
mod release;
mod summary;
mod take_back;
pub mod types;
mod verdict;

pub(super) use checks::misplaced;
pub use concerns::concern;
pub(super) use draft::{draft, own, stands};
pub(super) use page::frame_map_between;

use utoipa_actix_web::service_config::ServiceConfig;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(read::read_critique)
        .service(note::put_note)
        .service(note::delete_note)
        .service(verdict::put_verdict)
        .service(drawing::put_stroke)
        .service(drawing::delete_stroke)
        .service(drawing::put_trace)
        .service(drawing::delete_trace)
        .service(summary::put_summary)
        .service(release::release_critique)
        .service(take_back::take_back_critique)
        .service(amend::amend_critique);
}
