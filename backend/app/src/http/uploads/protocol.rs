//! Headers and codes of the protocol.

use std::path::PathBuf;

use actix_web::http::StatusCode;
use actix_web::http::header::{HeaderName, HeaderValue};
use actix_web::{HttpRequest, HttpResponse, HttpResponseBuilder};
use chrono::{DateTime, Utc};
use domain::UploadId;

use crate::state::State;

/// The one version spoken.
pub const VERSION: &str = "1.0.0";

/// An answer with the header that every answer carries.
pub fn answer(status: u16) -> HttpResponseBuilder {
    let mut answer = HttpResponse::build(
        StatusCode::from_u16(status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR),
    );
    answer
        .insert_header(("Tus-Resumable", VERSION))
        .insert_header(("Cache-Control", "no-store"));
    answer
}

/// An answer that says no, in plain words.
pub fn refusal(status: u16, words: &str) -> HttpResponse {
    answer(status)
        .content_type("text/plain; charset=utf-8")
        .body(format!("{words}\n"))
}

/// A header as text.
pub fn header<'a>(request: &'a HttpRequest, name: &str) -> Option<&'a str> {
    request.headers().get(name)?.to_str().ok()
}

/// A header as a count.
pub fn count(request: &HttpRequest, name: &str) -> Option<u64> {
    header(request, name)?.parse().ok()
}

/// What a client hears that speaks another version; nothing if it speaks this one.
pub fn wrong_version(request: &HttpRequest) -> Option<HttpResponse> {
    if header(request, "Tus-Resumable") == Some(VERSION) {
        return None;
    }
    let mut refused = refusal(412, "This server speaks tus 1.0.0.");
    refused.headers_mut().insert(
        HeaderName::from_static("tus-version"),
        HeaderValue::from_static(VERSION),
    );
    Some(refused)
}

/// A date as HTTP writes it (RFC 9110, 5.6.7).
pub fn http_date(at: DateTime<Utc>) -> String {
    at.format("%a, %d %b %Y %H:%M:%S GMT").to_string()
}

/// Where the bytes of an upload lie.
pub fn file_of(state: &State, id: UploadId) -> PathBuf {
    state.config.var.uploads().join(id.to_string())
}
