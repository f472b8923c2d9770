use std::time::Duration;

use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, post};
use domain::Actor;
use store::{StoreError, credentials, people, schools};
use tokio::time::{Instant, sleep_until};

use super::types::NewReset;
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::sessions::caller;
use crate::invitations;
use crate::state::State;

/// Every answer takes at least this long, so that its time does not tell whether there is such an account.
const AT_LEAST: Duration = Duration::from_millis(300);

/// Mails a link to a new password, if there is such an account; the answer is the same if there is not.
#[utoipa::path(tag = "password resets", request_body = NewReset, responses((status = 202)))]
#[post("/password-resets")]
pub(super) async fn create_password_reset(
    state: Data<State>,
    request: HttpRequest,
    input: Valid<NewReset>,
) -> Answer {
    let answer_at = Instant::now() + AT_LEAST;
    let Valid(input) = input;
    let email = input.email.trim();
    state.limits.address(caller(&request))?;
    state.limits.mail(&input.school, email)?;
    let account = state
        .db
        .door::<_, StoreError, _>(async |conn| {
            credentials::find_account(conn, &input.school, email).await
        })
        .await?;
    if let Some(account) = account {
        send(&state, &account.actor).await?;
    }
    sleep_until(answer_at).await;
    Ok(HttpResponse::Accepted().finish())
}

async fn send(state: &State, actor: &Actor) -> Result<(), Problem> {
    state
        .db
        .scoped(actor, async |conn| {
            let school = schools::own(conn).await?;
            if let Some(person) = people::get(conn, actor.person).await? {
                invitations::send_reset(conn, state, &school, &person).await?;
            }
            Ok(())
        })
        .await
}
