use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use domain::{Action, CourseId, Facts, permit};
use store::courses::{self, AssignmentWords};
use uuid::Uuid;

use super::types::{Assignment, NewAssignment};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Sets an assignment.
#[utoipa::path(tag = "courses", request_body = NewAssignment, responses((status = 201, body = Assignment)))]
#[post("/courses/{id}/assignments")]
pub(super) async fn create_assignment(
    state: Data<State>,
    who: Who,
    id: Path<CourseId>,
    input: Valid<NewAssignment>,
) -> Answer {
    permit(
        &who.0,
        Action::ManageCourses,
        &Facts::of_school(who.0.school),
    )?;
    let new = courses::Assignment {
        id: Uuid::now_v7().into(),
        course_id: *id,
        words: AssignmentWords {
            title: input.0.title.trim().to_owned(),
            brief: input.0.brief,
        },
    };
    state
        .db
        .scoped(&who.0, async |conn| {
            courses::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            courses::add_assignment(conn, who.0.school, &new, state.clock.now()).await?;
            Ok::<_, Problem>(())
        })
        .await?;
    Ok(HttpResponse::Created().json(Assignment::from(new)))
}
