//! What holds for every request: nothing that changes something comes from another site, and every answer carries its headers.

use actix_web::body::{EitherBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::header::{HeaderName, HeaderValue};
use actix_web::middleware::Next;
use actix_web::web::Data;
use actix_web::{Error, ResponseError};
use domain::ProblemCode;

use super::problem::Problem;
use super::site::Site;

/// A request that changes something must carry our header, which another site's page cannot add without being refused by the browser,
/// and an `Origin`, if it has one, that is the address it was sent to (the custom-header and origin checks of OWASP's CSRF cheat sheet).
///
/// # Errors
/// Those of the request itself.
pub async fn same_site_only<B: MessageBody>(
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    let harmless = request.method().is_safe();
    if harmless || (request.headers().contains_key("refrain-request") && origin_matches(&request)) {
        return Ok(next.call(request).await?.map_into_left_body());
    }
    let problem = Problem::new(ProblemCode::RequestForged).detail(
        "It lacks the header Refrain-Request, or comes from another address. Nothing was changed.",
    );
    Ok(request.into_response(problem.error_response().map_into_right_body()))
}

fn origin_matches(request: &ServiceRequest) -> bool {
    let Some(origin) = request.headers().get("origin") else {
        return true;
    };
    let host = request.connection_info().host().to_owned();
    origin.to_str().is_ok_and(|origin| {
        origin
            .split_once("://")
            .is_some_and(|(_, rest)| rest == host)
    })
}

/// The headers of every answer: a page may load from here alone and be framed by nobody.
///
/// # Errors
/// Those of the request itself.
pub async fn headers<B: MessageBody>(
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<B>, Error> {
    let policy = request
        .app_data::<Data<Site>>()
        .map(|site| site.content_policy().clone());
    let api = request.path().starts_with("/api/");
    let mut response = next.call(request).await?;
    let headers = response.headers_mut();
    if let Some(policy) = policy {
        headers.insert(HeaderName::from_static("content-security-policy"), policy);
    }
    for (name, value) in [
        ("x-content-type-options", "nosniff"),
        ("referrer-policy", "same-origin"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
        (
            "permissions-policy",
            "camera=(), geolocation=(), payment=()",
        ),
    ] {
        headers.insert(
            HeaderName::from_static(name),
            HeaderValue::from_static(value),
        );
    }
    if api && !headers.contains_key("cache-control") {
        headers.insert(
            HeaderName::from_static("cache-control"),
            HeaderValue::from_static("no-store"),
        );
    }
    Ok(response)
}
