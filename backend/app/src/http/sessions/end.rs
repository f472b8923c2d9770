use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, delete};
use domain::{Action, Facts, permit};
use store::{StoreError, sessions};

use crate::http::problem::Answer;
use crate::http::who::{Who, no_session_cookie, presented};
use crate::state::State;

/// Signs out here.
#[utoipa::path(tag = "sessions", responses((status = 204)))]
#[delete("/sessions/current")]
pub(super) async fn end_session(state: Data<State>, who: Who, request: HttpRequest) -> Answer {
    permit(&who.0, Action::UseAccount, &Facts::of_school(who.0.school))?;
    if let Some(hash) = presented(&request, &state) {
        state
            .db
            .scoped::<_, StoreError, _>(&who.0, async |conn| sessions::end(conn, &hash).await)
            .await?;
    }
    Ok(HttpResponse::NoContent()
        .cookie(no_session_cookie(&state))
        .finish())
}
