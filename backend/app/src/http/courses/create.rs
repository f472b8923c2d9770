use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use domain::{Action, Facts, permit};
use store::courses::{self, CourseWords};
use uuid::Uuid;

use super::types::{Course, NewCourse};
use crate::http::input::Valid;
use crate::http::problem::Answer;
use crate::http::who::Who;
use crate::state::State;

/// Offers a course.
#[utoipa::path(tag = "courses", request_body = NewCourse, responses((status = 201, body = Course)))]
#[post("/courses")]
pub(super) async fn create_course(state: Data<State>, who: Who, input: Valid<NewCourse>) -> Answer {
    permit(
        &who.0,
        Action::ManageCourses,
        &Facts::of_school(who.0.school),
    )?;
    let words = CourseWords::from(input.0);
    let id = Uuid::now_v7().into();
    state
        .db
        .scoped(&who.0, async |conn| {
            courses::add(conn, who.0.school, id, &words, state.clock.now())
                .await
                .map_err(super::explain)
        })
        .await?;
    let course = courses::Course { id, words };
    Ok(HttpResponse::Created().json(Course::new(course, vec![])))
}
