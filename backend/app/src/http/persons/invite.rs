use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use domain::{Action, Facts, PersonId, ProblemCode, permit};
use store::{people, schools};

use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::invitations;
use crate::state::State;

/// Invites somebody again; the link of the earlier invitation no longer works.
#[utoipa::path(tag = "persons", responses((status = 202)))]
#[post("/persons/{id}/invitations")]
pub(super) async fn invite_person(state: Data<State>, who: Who, id: Path<PersonId>) -> Answer {
    permit(
        &who.0,
        Action::ManagePeople,
        &Facts::of_school(who.0.school),
    )?;
    state
        .db
        .scoped(&who.0, async |conn| {
            let person = people::get(conn, *id).await?.ok_or_else(Problem::not_found)?;
            if person.joined_at.is_some() {
                return Err(Problem::new(ProblemCode::Conflict)
                    .detail("They have signed in already. A forgotten password is chosen anew from the sign-in page."));
            }
            let school = schools::own(conn).await?;
            invitations::invite(conn, &state, &school, &[person]).await?;
            Ok(())
        })
        .await?;
    Ok(HttpResponse::Accepted().finish())
}
