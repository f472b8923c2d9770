use actix_web::get;
use actix_web::web::{Data, Json, Path};
use chrono::{DateTime, Utc};
use domain::{Action, Actor, Facts, ShotId, permit};
use store::{Conn, quota, shots};

use super::list::summaries;
use super::types::Shot;
use crate::http::enrolments::types::Named;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// A shot with its chain.
#[utoipa::path(tag = "shots", responses((status = 200, body = Shot)))]
#[get("/shots/{id}")]
pub(super) async fn get_shot(state: Data<State>, who: Who, id: Path<ShotId>) -> Answer<Json<Shot>> {
    let now = state.clock.now();
    Ok(Json(
        state
            .db
            .scoped(&who.0, async |conn| find(conn, &who.0, *id, now).await)
            .await?,
    ))
}

/// The shot as its page shows it, if the asker may see it.
pub(super) async fn find(
    conn: &mut Conn,
    actor: &Actor,
    id: ShotId,
    now: DateTime<Utc>,
) -> Answer<Shot> {
    let row = shots::get(conn, id).await?.ok_or_else(Problem::not_found)?;
    permit(
        actor,
        Action::ReadShot,
        &Facts::between(actor.school, row.student_id, row.mentor_id),
    )?;
    let assignment = row
        .assignment_id
        .zip(row.assignment.clone())
        .map(|(id, name)| Named { id: id.0, name });
    let enrolment_quota = quota::of_one(conn, row.enrolment_id).await?;
    let summary = summaries(conn, vec![row], now)
        .await?
        .pop()
        .ok_or_else(Problem::not_found)?;
    Ok(Shot {
        summary,
        assignment,
        enrolment_quota,
    })
}
