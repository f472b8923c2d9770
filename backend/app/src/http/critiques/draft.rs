//! What every change to a draft begins with.

use domain::{Action, Actor, CritiqueId, Facts, ProblemCode, permit};
use store::critiques::{self, Critique};
use store::{Conn, StoreError, footage};

use crate::http::problem::{Answer, Problem};

/// The draft, held against a release meanwhile, if it is the asker's to write.
pub(super) async fn draft(conn: &mut Conn, actor: &Actor, id: CritiqueId) -> Answer<Critique> {
    critiques::hold(conn, id).await?;
    let critique = own(conn, actor, id).await?;
    if critique.released_at.is_some() {
        return Err(stands());
    }
    Ok(critique)
}

/// The critique, if the asker wrote it.
pub(super) async fn own(conn: &mut Conn, actor: &Actor, id: CritiqueId) -> Answer<Critique> {
    let critique = critiques::get(conn, id)
        .await?
        .ok_or_else(Problem::not_found)?;
    let facts =
        Facts::between(actor.school, critique.student_id, critique.mentor_id).released(true);
    permit(actor, Action::WriteCritique, &facts)?;
    Ok(critique)
}

/// What the student was told stays as it is.
pub(super) fn stands() -> Problem {
    Problem::new(ProblemCode::AlreadyReleased).detail("It is released, so it stays as it is. Take it back while that is possible, or add an amendment.")
}

/// A released critique that the database itself refused to change.
pub(super) fn explain(error: StoreError) -> Problem {
    if error.is_refused_by("critique_stands") {
        stands()
    } else {
        error.into()
    }
}

/// How many frames the critique's footage has.
pub(super) async fn frames(conn: &mut Conn, critique: &Critique) -> Answer<i32> {
    Ok(footage::get(conn, critique.footage_id)
        .await?
        .map_or(0, |found| found.frames))
}
