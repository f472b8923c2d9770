use actix_web::web::Data;
use actix_web::{HttpResponse, delete};
use domain::{Action, Facts, permit};
use store::{StoreError, sessions};

use crate::http::problem::Answer;
use crate::http::who::{Who, no_session_cookie};
use crate::state::State;

/// Signs out everywhere.
#[utoipa::path(tag = "sessions", responses((status = 204)))]
#[delete("/sessions")]
pub(super) async fn end_sessions(state: Data<State>, who: Who) -> Answer {
    permit(&who.0, Action::UseAccount, &Facts::of_school(who.0.school))?;
    state
        .db
        .scoped::<_, StoreError, _>(&who.0, async |conn| {
            sessions::end_all(conn, who.0.person).await
        })
        .await?;
    Ok(HttpResponse::NoContent()
        .cookie(no_session_cookie(&state))
        .finish())
}
