use actix_web::web::Data;
use actix_web::{HttpResponse, put};
use domain::{Action, Facts, permit};
use store::people;

use super::types::{Me, Preferences};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Keeps how one likes to work.
#[utoipa::path(tag = "me", request_body = Preferences, responses((status = 200, body = Me)))]
#[put("/me/preferences")]
pub(super) async fn set_preferences(
    state: Data<State>,
    who: Who,
    input: Valid<Preferences>,
) -> Answer {
    permit(&who.0, Action::UseAccount, &Facts::of_school(who.0.school))?;
    let Valid(preferences) = input;
    let me = state
        .db
        .scoped(&who.0, async |conn| {
            let mut me = super::view(conn, &who.0).await?;
            me.preferences = preferences;
            people::set_own(conn, me.id, &me.name, &me.preferences.write()).await?;
            Ok::<_, Problem>(me)
        })
        .await?;
    Ok(HttpResponse::Ok().json(me))
}
