use std::collections::HashMap;

use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use domain::{Action, CourseId, Facts, permit};
use store::{StoreError, courses};

use super::types::{Assignment, Course};
use crate::http::page::{Page, PageQuery};
use crate::http::problem::Answer;
use crate::http::who::Who;
use crate::state::State;

/// The courses by name: all for the office, their own for others.
#[utoipa::path(tag = "courses", params(PageQuery), responses((status = 200, body = Page<Course>)))]
#[get("/courses")]
pub(super) async fn list_courses(state: Data<State>, who: Who, page: Query<PageQuery>) -> Answer {
    permit(&who.0, Action::ReadCourses, &Facts::of_school(who.0.school))?;
    let (limit, after) = (page.limit(), page.after::<String>()?);
    let (rows, assignments) = state
        .db
        .scoped::<_, StoreError, _>(&who.0, async |conn| {
            let rows = courses::list(conn, after.as_deref(), limit + 1).await?;
            let ids: Vec<CourseId> = rows.iter().map(|row| row.id).collect();
            let assignments = courses::assignments(conn, &ids).await?;
            Ok((rows, assignments))
        })
        .await?;
    let mut by_course: HashMap<CourseId, Vec<Assignment>> = HashMap::new();
    for row in assignments {
        by_course.entry(row.course_id).or_default().push(row.into());
    }
    let page = Page::cut(
        rows,
        limit,
        |row| row.words.name.clone(),
        |row| {
            let assignments = by_course.remove(&row.id).unwrap_or_default();
            Course::new(row, assignments)
        },
    );
    Ok(HttpResponse::Ok().json(page))
}
