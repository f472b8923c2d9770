use actix_web::get;
use actix_web::web::{Data, Json, Path};
use domain::{Action, Actor, Facts, FootageId, permit};
use store::{Conn, footage};

use super::types::Footage;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// How a piece of footage stands, with its frame table once it is ready.
#[utoipa::path(tag = "footage", responses((status = 200, body = Footage)))]
#[get("/footage/{id}")]
pub(super) async fn get_footage(
    state: Data<State>,
    who: Who,
    id: Path<FootageId>,
) -> Answer<Json<Footage>> {
    Ok(Json(
        find(&state, &who.0, *id, Action::ReadFootage).await?.into(),
    ))
}

/// The footage, if the asker may do `action` to it.
pub(super) async fn find(
    state: &State,
    actor: &Actor,
    id: FootageId,
    action: Action,
) -> Answer<footage::Footage> {
    state
        .db
        .scoped(actor, async |conn| allowed(conn, actor, id, action).await)
        .await
}

/// The same within a transaction.
pub(super) async fn allowed(
    conn: &mut Conn,
    actor: &Actor,
    id: FootageId,
    action: Action,
) -> Answer<footage::Footage> {
    let found = footage::get(conn, id)
        .await?
        .ok_or_else(Problem::not_found)?;
    permit(actor, action, &facts(actor, &found))?;
    Ok(found)
}

/// Its student, their mentor once it was sent, and who told them of it.
pub(super) fn facts(actor: &Actor, found: &footage::Footage) -> Facts {
    Facts {
        school: actor.school,
        student: Some(found.student_id),
        mentor: found.mentor_id,
        author: found.author_id,
        released: found.sent,
    }
}
