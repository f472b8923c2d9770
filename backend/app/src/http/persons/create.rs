use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use domain::{Action, Facts, permit};
use store::{people, schools};
use uuid::Uuid;

use super::types::{NewPerson, Person, as_kept};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::invitations;
use crate::state::State;

/// Adds somebody and invites them by mail.
#[utoipa::path(tag = "persons", request_body = NewPerson, responses((status = 201, body = Person)))]
#[post("/persons")]
pub(super) async fn create_person(state: Data<State>, who: Who, input: Valid<NewPerson>) -> Answer {
    permit(
        &who.0,
        Action::ManagePeople,
        &Facts::of_school(who.0.school),
    )?;
    let new = people::NewPerson {
        id: Uuid::now_v7().into(),
        school: who.0.school,
        email: as_kept(&input.0.email),
        name: input.0.name.trim().to_owned(),
        roles: input.0.roles,
        at: state.clock.now(),
    };
    let id = new.id;
    let person = state
        .db
        .scoped(&who.0, async |conn| {
            people::add(conn, &[new]).await.map_err(super::explain)?;
            let school = schools::own(conn).await?;
            let person = people::get(conn, id)
                .await?
                .ok_or_else(Problem::not_found)?;
            invitations::invite(conn, &state, &school, &[person]).await?;
            people::get(conn, id).await?.ok_or_else(Problem::not_found)
        })
        .await?;
    Ok(HttpResponse::Created().json(Person::from(person)))
}
