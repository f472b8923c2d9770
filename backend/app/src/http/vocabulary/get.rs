use actix_web::{HttpResponse, get};

use super::types::Vocabulary;

/// Principles, parts and stages.
#[utoipa::path(tag = "vocabulary", responses((status = 200, body = Vocabulary)))]
#[get("/vocabulary")]
pub(super) async fn get_vocabulary() -> HttpResponse {
    HttpResponse::Ok()
        .insert_header(("Cache-Control", "public, max-age=3600"))
        .json(Vocabulary::whole())
}
