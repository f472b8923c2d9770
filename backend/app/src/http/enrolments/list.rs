use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use domain::{Action, Facts, permit};
use store::{StoreError, enrolments};

use super::types::{Enrolment, EnrolmentQuery};
use crate::http::page::{Page, PageQuery};
use crate::http::problem::Answer;
use crate::http::who::Who;
use crate::state::State;

/// The roster by the student's name: all for the office, their own for mentors and students.
#[utoipa::path(tag = "enrolments", params(EnrolmentQuery), responses((status = 200, body = Page<Enrolment>)))]
#[get("/enrolments")]
pub(super) async fn list_enrolments(
    state: Data<State>,
    who: Who,
    query: Query<EnrolmentQuery>,
) -> Answer {
    permit(
        &who.0,
        Action::ReadEnrolment,
        &Facts::of_school(who.0.school),
    )?;
    let query = query.into_inner();
    let page = PageQuery {
        limit: query.limit,
        cursor: query.cursor,
    };
    let limit = page.limit();
    let wanted = enrolments::Wanted {
        among: None,
        course: query.course,
        mentor: query.mentor,
        student: query.student,
        words: query.q.filter(|words| !words.trim().is_empty()),
        after: page.after()?,
        limit: limit + 1,
    };
    let page = state
        .db
        .scoped::<_, StoreError, _>(&who.0, async |conn| {
            let rows = enrolments::list(conn, &wanted).await?;
            let page = Page::cut(rows, limit, |row| (row.sort_key.clone(), row.id), |row| row);
            Ok(Page {
                items: super::views(conn, &who.0, page.items).await?,
                next_cursor: page.next_cursor,
            })
        })
        .await?;
    Ok(HttpResponse::Ok().json(page))
}
