use actix_web::HttpResponse;
use actix_web::get;
use actix_web::web::{Data, Path};
use store::{StoreError, schools};

use super::types::School;
use crate::http::problem::{Answer, Problem};
use crate::state::State;

/// The school of a sign-in address.
#[utoipa::path(tag = "schools", responses((status = 200, body = School)))]
#[get("/schools/{slug}")]
pub(super) async fn get_school(state: Data<State>, slug: Path<String>) -> Answer {
    let found = state
        .db
        .door::<_, StoreError, _>(async |conn| schools::find(conn, &slug).await)
        .await?;
    let school = found.ok_or_else(Problem::not_found)?;
    Ok(HttpResponse::Ok().json(School::from(school)))
}
