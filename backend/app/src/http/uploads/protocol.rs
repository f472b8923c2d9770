//! Headers and codes of the protocol.

use std::path::PathBuf;

use actix_web::body::{EitherBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::header::{HeaderName, HeaderValue};
use actix_web::http::{Method, StatusCode};
use actix_web::middleware::Next;
use actix_web::{Error, HttpRequest, HttpResponse, HttpResponseBuilder, ResponseError};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, Utc};
use domain::UploadId;

use crate::http::problem::Problem;
use crate::state::State;

/// The one version spoken.
pub const VERSION: &str = "1.0.0";
/// What the addresses of uploads begin with.
pub const UPLOADS: &str = "/api/v1/uploads";

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

/// What is kept of an upload's metadata, in the protocol's form.
pub fn metadata_of(filename: &str) -> String {
    format!("filename {}", STANDARD.encode(filename))
}

/// Middleware for every request below `/uploads`: the method is the one that `X-HTTP-Method-Override` names, if it is there, and the
/// answer says which version is spoken, whoever gives it. (Core protocol, "Headers".)
///
/// # Errors
/// Those of the request itself.
pub async fn speak_protocol<B: MessageBody>(
    mut request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    if !request.path().starts_with(UPLOADS) {
        return Ok(next.call(request).await?.map_into_left_body());
    }
    let mut response = match meant(&request) {
        Ok(method) => {
            request.head_mut().method = method;
            next.call(request).await?.map_into_left_body()
        }
        Err(unknown) => request.into_response(unknown.error_response().map_into_right_body()),
    };
    response.headers_mut().insert(
        HeaderName::from_static("tus-resumable"),
        HeaderValue::from_static(VERSION),
    );
    Ok(response)
}

/// The method that is meant.
fn meant(request: &ServiceRequest) -> Result<Method, Problem> {
    const OVERRIDE: &str = "X-HTTP-Method-Override";
    let Some(named) = request.headers().get(OVERRIDE) else {
        return Ok(request.method().clone());
    };
    Method::from_bytes(named.as_bytes())
        .map_err(|_| Problem::invalid(OVERRIDE, "is no method", "Name one, as in PATCH."))
}

/// A date as HTTP writes it (RFC 9110, 5.6.7).
pub fn http_date(at: DateTime<Utc>) -> String {
    at.format("%a, %d %b %Y %H:%M:%S GMT").to_string()
}

/// Where the bytes of an upload lie.
pub fn file_of(state: &State, id: UploadId) -> PathBuf {
    state.config.var.uploads().join(id.to_string())
}
