use actix_web::web::Data;
use actix_web::{HttpResponse, patch};
use domain::{Action, Facts, permit};
use store::people;

use super::types::{Me, MeChange};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Changes one's name or keys.
#[utoipa::path(tag = "me", request_body = MeChange, responses((status = 200, body = Me)))]
#[patch("/me")]
pub(super) async fn change_me(state: Data<State>, who: Who, input: Valid<MeChange>) -> Answer {
    permit(&who.0, Action::UseAccount, &Facts::of_school(who.0.school))?;
    let Valid(change) = input;
    let me = state
        .db
        .scoped(&who.0, async |conn| {
            let mut me = super::view(conn, &who.0).await?;
            if let Some(name) = change.name {
                me.name = name.trim().to_owned();
            }
            if let Some(keys) = change.keys {
                me.preferences.keys = keys;
            }
            people::set_own(conn, me.id, &me.name, &me.preferences.write()).await?;
            Ok::<_, Problem>(me)
        })
        .await?;
    Ok(HttpResponse::Ok().json(me))
}
