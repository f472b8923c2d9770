//! Who is asking: the person behind the session cookie.

use std::future::Future;
use std::pin::Pin;

use actix_web::cookie::{Cookie, SameSite};
use actix_web::dev::Payload;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest};
use domain::{Actor, ProblemCode};
use store::sessions;

use super::problem::Problem;
use crate::state::State;
use crate::token::{Token, hash_of};

/// The signed-in person; a request without one ends in `sign-in-required`.
#[derive(Debug, Clone, Copy)]
pub struct Who(pub Actor);

impl FromRequest for Who {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let state = request.app_data::<Data<State>>().cloned();
        let hash = state.as_ref().and_then(|state| presented(request, state));
        Box::pin(async move {
            let (Some(state), Some(hash)) = (state, hash) else {
                return Err(required());
            };
            let limits = &state.config.sessions;
            let found = state
                .db
                .door(async |conn| {
                    sessions::find(conn, &hash, state.clock.now(), limits.idle, limits.absolute)
                        .await
                })
                .await?;
            found.map(Who).ok_or_else(required)
        })
    }
}

fn required() -> Problem {
    Problem::new(ProblemCode::SignInRequired)
        .detail("Nobody is signed in here, or the sign-in has run out.")
}

/// The hash of the session token that the request carries.
#[must_use]
pub fn presented(request: &HttpRequest, state: &State) -> Option<[u8; 32]> {
    request
        .cookie(cookie_name(state))
        .map(|cookie| hash_of(cookie.value()))
}

fn cookie_name(state: &State) -> &'static str {
    if state.over_tls() {
        "__Host-refrain"
    } else {
        "refrain"
    }
}

/// The cookie of a new session: for this host alone, never read by a script, never sent along by another site's request.
#[must_use]
pub fn session_cookie(state: &State, token: &Token) -> Cookie<'static> {
    let seconds = i64::try_from(state.config.sessions.absolute.as_secs()).unwrap_or(i64::MAX);
    Cookie::build(cookie_name(state), token.to_string())
        .path("/")
        .http_only(true)
        .secure(state.over_tls())
        .same_site(SameSite::Lax)
        .max_age(actix_web::cookie::time::Duration::seconds(seconds))
        .finish()
}

/// The cookie that takes it away.
#[must_use]
pub fn no_session_cookie(state: &State) -> Cookie<'static> {
    let mut cookie = Cookie::build(cookie_name(state), "")
        .path("/")
        .http_only(true)
        .secure(state.over_tls())
        .same_site(SameSite::Lax)
        .finish();
    cookie.make_removal();
    cookie
}
