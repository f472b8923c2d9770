use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, patch};
use domain::{Action, CourseId, Facts, permit};
use store::courses;

use super::types::{Assignment, Course, CourseChange};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Amends a course; what was granted to those in it stays.
#[utoipa::path(tag = "courses", request_body = CourseChange, responses((status = 200, body = Course)))]
#[patch("/courses/{id}")]
pub(super) async fn amend_course(
    state: Data<State>,
    who: Who,
    id: Path<CourseId>,
    input: Valid<CourseChange>,
) -> Answer {
    permit(
        &who.0,
        Action::ManageCourses,
        &Facts::of_school(who.0.school),
    )?;
    let Valid(change) = input;
    let (course, assignments) = state
        .db
        .scoped(&who.0, async |conn| {
            let before = courses::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            let words = change.of(before.words);
            courses::amend(conn, *id, &words)
                .await
                .map_err(super::explain)?;
            let assignments = courses::assignments(conn, &[*id]).await?;
            Ok::<_, Problem>((courses::Course { id: *id, words }, assignments))
        })
        .await?;
    let assignments = assignments.into_iter().map(Assignment::from).collect();
    Ok(HttpResponse::Ok().json(Course::new(course, assignments)))
}
