use actix_web::web::Data;
use actix_web::{HttpResponse, get};
use domain::{Action, Facts, permit};

use super::types::Me;
use crate::http::problem::Answer;
use crate::http::who::Who;
use crate::state::State;

/// Who is signed in.
#[utoipa::path(tag = "me", responses((status = 200, body = Me)))]
#[get("/me")]
pub(super) async fn get_me(state: Data<State>, who: Who) -> Answer {
    permit(&who.0, Action::UseAccount, &Facts::of_school(who.0.school))?;
    let me = state
        .db
        .scoped(&who.0, async |conn| super::view(conn, &who.0).await)
        .await?;
    Ok(HttpResponse::Ok().json(me))
}
