use actix_web::web::{Bytes, Data};
use actix_web::{HttpResponse, post};
use domain::{Action, Facts, ProblemCode, permit};
use store::{Conn, schools};

use super::roster_file;
use super::roster_plan::{Known, Plan};
use super::types::CsvPreview;
use crate::http::input::BODY_LIMIT;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Says what a roster file would do, and does nothing.
#[utoipa::path(tag = "enrolments", request_body(content = String, content_type = "text/csv"), responses((status = 200, body = CsvPreview)))]
#[post("/enrolments/preview")]
pub(super) async fn preview_roster(
    state: Data<State>,
    who: Who,
    body: Result<Bytes, actix_web::Error>,
) -> Answer {
    permit(
        &who.0,
        Action::ManageCourses,
        &Facts::of_school(who.0.school),
    )?;
    let bytes = whole(body)?;
    let plan = state
        .db
        .scoped(&who.0, async |conn| plan(conn, &state, &bytes).await)
        .await?;
    Ok(HttpResponse::Ok().json(CsvPreview {
        rows: plan.rows,
        problems: plan.problems,
    }))
}

/// What a file would do to the actor's school.
pub(super) async fn plan(conn: &mut Conn, state: &State, bytes: &[u8]) -> Result<Plan, Problem> {
    let file = roster_file::read(bytes);
    let known = Known::read(conn, &file).await?;
    let school = schools::own(conn).await?;
    let today = super::today(state.clock.now(), &school.time_zone);
    Ok(Plan::make(file, &known, today))
}

/// The body, if it came whole and is not too large.
pub(super) fn whole(body: Result<Bytes, actix_web::Error>) -> Result<Bytes, Problem> {
    body.map_err(
        |error| match error.as_response_error().status_code().as_u16() {
            413 => Problem::new(ProblemCode::TooLarge).detail(format!(
                "A roster file may have {} KiB. Split it; nobody was enrolled.",
                BODY_LIMIT / 1024
            )),
            _ => Problem::new(ProblemCode::InvalidInput)
                .detail("The file was cut off on its way. Nobody was enrolled; send it again."),
        },
    )
}
