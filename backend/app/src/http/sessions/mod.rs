//! Signing in and out.

mod create;
mod end;
mod end_all;
pub mod types;

use std::net::IpAddr;

use actix_web::HttpRequest;
use domain::ProblemCode;
use utoipa_actix_web::service_config::ServiceConfig;

use super::problem::Problem;
use crate::limits::TooMany;
pub(super) use create::begin;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(create::create_session)
        .service(end::end_session)
        .service(end_all::end_sessions);
}

/// Where a request comes from. A server on the same machine that passes requests on is believed in what it added last
/// (`X-Forwarded-For`); nobody else is.
#[must_use]
pub fn caller(request: &HttpRequest) -> Option<IpAddr> {
    let peer = request.peer_addr()?.ip();
    let passed_on = request.headers().get_all("x-forwarded-for").last();
    let named = passed_on
        .and_then(|value| value.to_str().ok()?.rsplit(',').next()?.trim().parse().ok())
        .filter(|_| peer.is_loopback());
    Some(named.unwrap_or(peer))
}

impl From<TooMany> for Problem {
    fn from(too_many: TooMany) -> Problem {
        Problem::new(ProblemCode::TooManyAttempts)
            .detail(format!(
                "There were too many attempts. Try again in {} seconds.",
                too_many.wait_s
            ))
            .retry_after(too_many.wait_s)
    }
}
