use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, patch};
use domain::{Action, Facts, PersonId, permit};
use store::{people, schools};

use super::types::{Correction, Person, as_kept};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::invitations;
use crate::state::State;

/// Corrects a name or an address. Somebody who never signed in is invited anew at the new address.
#[utoipa::path(tag = "persons", request_body = Correction, responses((status = 200, body = Person)))]
#[patch("/persons/{id}")]
pub(super) async fn correct_person(
    state: Data<State>,
    who: Who,
    id: Path<PersonId>,
    input: Valid<Correction>,
) -> Answer {
    permit(
        &who.0,
        Action::ManagePeople,
        &Facts::of_school(who.0.school),
    )?;
    let (id, Valid(correction)) = (id.into_inner(), input);
    let person = state
        .db
        .scoped(&who.0, async |conn| {
            let before = people::get(conn, id)
                .await?
                .ok_or_else(Problem::not_found)?;
            let name = correction
                .name
                .map_or(before.name, |name| name.trim().to_owned());
            let email = correction
                .email
                .map_or(before.email.clone(), |email| as_kept(&email));
            people::correct(conn, id, &name, &email)
                .await
                .map_err(super::explain)?;
            let person = people::get(conn, id)
                .await?
                .ok_or_else(Problem::not_found)?;
            if email == before.email || before.joined_at.is_some() {
                return Ok(person);
            }
            let school = schools::own(conn).await?;
            invitations::invite(conn, &state, &school, &[person]).await?;
            people::get(conn, id).await?.ok_or_else(Problem::not_found)
        })
        .await?;
    Ok(HttpResponse::Ok().json(Person::from(person)))
}
