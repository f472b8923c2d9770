use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use domain::{Action, EnrolmentId, permit};
use store::{enrolments, quota};

use super::types::QuotaEntry;
use crate::http::page::{Page, PageQuery};
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// The ledger of an enrolment, newest first.
#[utoipa::path(tag = "enrolments", params(PageQuery), responses((status = 200, body = Page<QuotaEntry>)))]
#[get("/enrolments/{id}/quota-entries")]
pub(super) async fn list_quota_entries(
    state: Data<State>,
    who: Who,
    id: Path<EnrolmentId>,
    page: Query<PageQuery>,
) -> Answer {
    let (limit, after) = (page.limit(), page.after()?);
    let rows = state
        .db
        .scoped(&who.0, async |conn| {
            let row = enrolments::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            permit(&who.0, Action::ReadEnrolment, &super::facts(&who.0, &row))?;
            Ok::<_, Problem>(quota::entries(conn, *id, after, limit + 1).await?)
        })
        .await?;
    let page = Page::cut(rows, limit, |row| (row.at, row.id), QuotaEntry::from);
    Ok(HttpResponse::Ok().json(page))
}
