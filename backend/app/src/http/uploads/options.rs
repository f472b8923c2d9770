use actix_web::web::Data;
use actix_web::{HttpResponse, options};

use super::protocol::{VERSION, answer};
use crate::state::State;

/// What of the protocol this server speaks, and how large a file may be.
#[utoipa::path(tag = "uploads", responses((status = 204, description = "Tus-Version, Tus-Extension, Tus-Max-Size")))]
#[options("/uploads")]
pub(super) async fn tus_options(state: Data<State>) -> HttpResponse {
    answer(204)
        .insert_header(("Tus-Version", VERSION))
        .insert_header(("Tus-Extension", "creation,expiration,checksum,termination"))
        .insert_header(("Tus-Max-Size", state.config.uploads.bytes.to_string()))
        .insert_header(("Tus-Checksum-Algorithm", "sha256"))
        .finish()
}
