use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use domain::{Action, Facts, Role, permit};
use store::{StoreError, people};

use super::types::{Person, PersonQuery};
use crate::http::page::{Page, PageQuery};
use crate::http::problem::Answer;
use crate::http::who::Who;
use crate::state::State;

/// The people of the school by name; for a mentor, their students.
#[utoipa::path(tag = "persons", params(PersonQuery), responses((status = 200, body = Page<Person>)))]
#[get("/persons")]
pub(super) async fn list_persons(
    state: Data<State>,
    who: Who,
    query: Query<PersonQuery>,
) -> Answer {
    permit(&who.0, Action::ListPersons, &Facts::of_school(who.0.school))?;
    let query = query.into_inner();
    let page = PageQuery {
        limit: query.limit,
        cursor: query.cursor,
    };
    let limit = page.limit();
    let wanted = people::Wanted {
        role: query.role,
        words: query.q.filter(|words| !words.trim().is_empty()),
        students_of: (!who.0.is(Role::Office)).then_some(who.0.person),
        after: page.after()?,
        limit: limit + 1,
    };
    let rows = state
        .db
        .scoped::<_, StoreError, _>(&who.0, async |conn| people::list(conn, &wanted).await)
        .await?;
    let page = Page::cut(
        rows,
        limit,
        |row| (row.sort_key.clone(), row.id),
        Person::from,
    );
    Ok(HttpResponse::Ok().json(page))
}
