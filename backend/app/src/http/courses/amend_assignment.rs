use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, patch};
use domain::{Action, AssignmentId, Facts, permit};
use store::courses;

use super::types::{Assignment, AssignmentChange};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Amends an assignment.
#[utoipa::path(tag = "courses", request_body = AssignmentChange, responses((status = 200, body = Assignment)))]
#[patch("/assignments/{id}")]
pub(super) async fn amend_assignment(
    state: Data<State>,
    who: Who,
    id: Path<AssignmentId>,
    input: Valid<AssignmentChange>,
) -> Answer {
    permit(
        &who.0,
        Action::ManageCourses,
        &Facts::of_school(who.0.school),
    )?;
    let Valid(change) = input;
    let assignment = state
        .db
        .scoped(&who.0, async |conn| {
            let before = courses::get_assignment(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            let words = change.of(before.words);
            courses::amend_assignment(conn, *id, &words).await?;
            Ok::<_, Problem>(courses::Assignment {
                id: *id,
                course_id: before.course_id,
                words,
            })
        })
        .await?;
    Ok(HttpResponse::Ok().json(Assignment::from(assignment)))
}
