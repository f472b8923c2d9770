use actix_web::get;
use actix_web::web::{Data, Json, Path, Query};
use chrono::{DateTime, Utc};
use domain::{Action, Facts, PersonId, Role, ShotId, permit};
use store::shots;

use super::grid::grids;
use super::types::{RefrainQuery, RefrainShot};
use crate::http::page::{Page, PageQuery};
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// The grids of a student's shots, newest shot first.
#[utoipa::path(tag = "refrain", params(RefrainQuery), responses((status = 200, body = Page<RefrainShot>)))]
#[get("/refrain")]
pub(super) async fn read_refrain(
    state: Data<State>,
    who: Who,
    query: Query<RefrainQuery>,
) -> Answer<Json<Page<RefrainShot>>> {
    permit(&who.0, Action::ReadRefrain, &Facts::of_school(who.0.school))?;
    let query = query.into_inner();
    let own = who.0.is(Role::Student).then_some(who.0.person);
    let student: PersonId =
        query.student.map(PersonId).or(own).ok_or_else(|| {
            Problem::invalid("student", "is missing", "Say whose shots you mean.")
        })?;
    let page = PageQuery {
        limit: query.limit,
        cursor: query.cursor,
    };
    let (limit, after, now) = (
        page.limit().min(20),
        page.after::<(DateTime<Utc>, ShotId)>()?,
        state.clock.now(),
    );
    let page = state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            let rows = shots::list(conn, Some(student), after, limit + 1).await?;
            let page = Page::cut(rows, limit, |row| (row.created_at, row.id), |row| row);
            let visible = page
                .items
                .into_iter()
                .filter(|row| {
                    permit(
                        &who.0,
                        Action::ReadRefrain,
                        &Facts::between(who.0.school, row.student_id, row.mentor_id),
                    )
                    .is_ok()
                })
                .collect();
            Ok(Page {
                items: grids(conn, visible, now).await?,
                next_cursor: page.next_cursor,
            })
        })
        .await?;
    Ok(Json(page))
}

/// One shot's grid.
#[utoipa::path(tag = "refrain", responses((status = 200, body = RefrainShot)))]
#[get("/shots/{id}/refrain")]
pub(super) async fn read_shot_refrain(
    state: Data<State>,
    who: Who,
    id: Path<ShotId>,
) -> Answer<Json<RefrainShot>> {
    let now = state.clock.now();
    let grid = state
        .db
        .scoped(&who.0, async |conn| {
            let row = shots::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            permit(
                &who.0,
                Action::ReadRefrain,
                &Facts::between(who.0.school, row.student_id, row.mentor_id),
            )?;
            grids(conn, vec![row], now)
                .await?
                .pop()
                .ok_or_else(Problem::not_found)
        })
        .await?;
    Ok(Json(grid))
}
