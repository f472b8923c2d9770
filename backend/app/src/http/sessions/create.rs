use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, post};
use domain::{Actor, ProblemCode};
use store::{Conn, StoreError, credentials, sessions};

use super::caller;
use super::types::SignIn;
use crate::http::input::Valid;
use crate::http::me::{self, types::Me};
use crate::http::problem::{Answer, Problem};
use crate::http::who::session_cookie;
use crate::passwords::Verdict;
use crate::state::State;
use crate::token::Token;

/// Signs in. An unknown address and a wrong password are answered alike, after the same time.
#[utoipa::path(tag = "sessions", request_body = SignIn, responses((status = 201, body = Me)))]
#[post("/sessions")]
pub(super) async fn create_session(
    state: Data<State>,
    request: HttpRequest,
    input: Valid<SignIn>,
) -> Answer {
    let Valid(input) = input;
    let email = input.email.trim();
    state.limits.address(caller(&request))?;
    state.limits.account(&input.school, email)?;
    let account = state
        .db
        .door::<_, StoreError, _>(async |conn| {
            credentials::find_account(conn, &input.school, email).await
        })
        .await?;
    let kept = account.as_ref().and_then(|a| a.password_hash.as_deref());
    let verdict = state.passwords.verify(&input.password, kept).await?;
    let Some(account) = account.filter(|_| verdict != Verdict::Wrong) else {
        return Err(refused());
    };
    let anew = match verdict {
        Verdict::RightButStale => Some(state.passwords.hash(&input.password).await?),
        _ => None,
    };
    let actor = account.actor;
    let (me, token) = state
        .db
        .scoped(&actor, async |conn| {
            if let Some(hash) = &anew {
                credentials::set(conn, &actor, hash, state.clock.now()).await?;
            }
            let token = begin(conn, &state, &actor).await?;
            Ok::<_, Problem>((me::view(conn, &actor).await?, token))
        })
        .await?;
    Ok(HttpResponse::Created()
        .cookie(session_cookie(&state, &token))
        .json(me))
}

/// A new session of the actor; gives what goes into the cookie.
pub(in crate::http) async fn begin(
    conn: &mut Conn,
    state: &State,
    actor: &Actor,
) -> Result<Token, StoreError> {
    let token = Token::random();
    sessions::add(conn, actor, &token.hash(), state.clock.now()).await?;
    Ok(token)
}

fn refused() -> Problem {
    Problem::new(ProblemCode::SignInRefused)
        .detail("This address and password do not belong together. Check both; if you have forgotten your password, a new one can be chosen by mail.")
}
