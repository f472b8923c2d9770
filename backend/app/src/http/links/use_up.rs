use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, post};
use store::links::{self, INVITATION, RESET};
use store::{StoreError, credentials, people, sessions};

use super::types::NewPassword;
use crate::http::input::Valid;
use crate::http::me::{self, types::Me};
use crate::http::problem::{Answer, Problem};
use crate::http::sessions::{begin, caller};
use crate::http::who::session_cookie;
use crate::state::State;
use crate::token::hash_of;

/// Chooses a password and signs in. All other sessions and links of the person end.
#[utoipa::path(tag = "access links", request_body = NewPassword, responses((status = 201, body = Me)))]
#[post("/access-links/{token}")]
pub(super) async fn use_access_link(
    state: Data<State>,
    request: HttpRequest,
    token: Path<String>,
    input: Valid<NewPassword>,
) -> Answer {
    state.limits.address(caller(&request))?;
    let (hash, at) = (hash_of(&token), state.clock.now());
    let found = state
        .db
        .door::<_, StoreError, _>(async |conn| links::find(conn, &hash, at).await)
        .await?;
    let actor = found.ok_or_else(super::spent)?.actor;
    let password_hash = state.passwords.hash(&input.0.password).await?;
    let (me, token) = state
        .db
        .scoped(&actor, async |conn| {
            if !links::use_up(conn, &hash, at).await? {
                return Err(super::spent());
            }
            for purpose in [INVITATION, RESET] {
                links::void(conn, &[actor.person], purpose).await?;
            }
            credentials::set(conn, &actor, &password_hash, at).await?;
            people::set_joined(conn, actor.person, at).await?;
            sessions::end_all(conn, actor.person).await?;
            let token = begin(conn, &state, &actor).await?;
            Ok::<_, Problem>((me::view(conn, &actor).await?, token))
        })
        .await?;
    Ok(HttpResponse::Created()
        .cookie(session_cookie(&state, &token))
        .json(me))
}
