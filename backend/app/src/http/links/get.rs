use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, get};
use store::{StoreError, links};

use super::types::AccessLink;
use crate::http::me;
use crate::http::problem::Answer;
use crate::http::sessions::caller;
use crate::state::State;
use crate::token::hash_of;

/// What a link is for, while it works.
#[utoipa::path(tag = "access links", responses((status = 200, body = AccessLink)))]
#[get("/access-links/{token}")]
pub(super) async fn get_access_link(
    state: Data<State>,
    request: HttpRequest,
    token: Path<String>,
) -> Answer {
    state.limits.address(caller(&request))?;
    let hash = hash_of(&token);
    let found = state
        .db
        .door::<_, StoreError, _>(async |conn| links::find(conn, &hash, state.clock.now()).await)
        .await?;
    let link = found.ok_or_else(super::spent)?;
    let me = state
        .db
        .scoped(&link.actor, async |conn| me::view(conn, &link.actor).await)
        .await?;
    Ok(HttpResponse::Ok().json(AccessLink {
        purpose: link.purpose,
        school: me.school,
        name: me.name,
        email: me.email,
    }))
}
