use actix_web::web::{Bytes, Data};
use actix_web::{HttpResponse, post};
use domain::{Action, Facts, ProblemCode, permit};
use store::schools;

use super::enrol::enrol;
use super::preview::{plan, whole};
use super::types::CsvResult;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Enrols everybody of a roster file, or nobody. The same file again changes nothing.
#[utoipa::path(tag = "enrolments", request_body(content = String, content_type = "text/csv"), responses((status = 200, body = CsvResult)))]
#[post("/enrolments/import")]
pub(super) async fn import_roster(
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
    let result = state
        .db
        .scoped(&who.0, async |conn| {
            let plan = plan(conn, &state, &bytes).await?;
            if !plan.problems.is_empty() {
                return Err(Problem::new(ProblemCode::InvalidInput)
                    .detail("Nobody was enrolled. Mend the file and send it again.")
                    .fields(plan.problems));
            }
            let school = schools::own(conn).await?;
            if !plan.enrol.is_empty() {
                enrol(conn, &state, &who.0, &school, &plan.enrol)
                    .await
                    .map_err(super::explain)?;
            }
            Ok(CsvResult {
                enrolled: plan.enrol.len(),
                unchanged: plan.unchanged(),
            })
        })
        .await?;
    Ok(HttpResponse::Ok().json(result))
}
