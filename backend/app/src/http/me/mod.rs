//! The person who is asking.

mod change;
mod get;
mod set_preferences;
pub mod types;

use domain::Actor;
use store::{Conn, people, schools};
use utoipa_actix_web::service_config::ServiceConfig;

use super::problem::Problem;
use types::{Me, Preferences};

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(get::get_me)
        .service(change::change_me)
        .service(set_preferences::set_preferences);
}

/// What the actor is told about themselves.
///
/// # Errors
/// If the database refuses, or the person is gone.
pub async fn view(conn: &mut Conn, actor: &Actor) -> Result<Me, Problem> {
    let person = people::get(conn, actor.person)
        .await?
        .ok_or_else(Problem::not_found)?;
    let school = schools::own(conn).await?;
    Ok(Me {
        id: person.id,
        name: person.name,
        email: person.email,
        roles: person.roles,
        school: school.into(),
        preferences: Preferences::read(&person.preferences),
    })
}
