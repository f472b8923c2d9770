//! What every change to a draft begins with.

use chrono::{DateTime, Utc};
use domain::{Action, Actor, CritiqueId, Facts, ProblemCode, permit};
use store::critiques::{self, Critique};
use store::{Conn, StoreError, footage};

use crate::http::problem::{Answer, Problem};

/// The draft, held as by [`held`], if it is the asker's to write.
pub(in crate::http) async fn draft(
    conn: &mut Conn,
    actor: &Actor,
    id: CritiqueId,
    now: DateTime<Utc>,
) -> Answer<Critique> {
    let critique = held(conn, actor, id, now).await?;
    if critique.released_at.is_some() {
        return Err(stands());
    }
    Ok(critique)
}

/// What the rule has to know about a critique.
pub(super) fn facts(actor: &Actor, critique: &Critique, now: DateTime<Utc>) -> Facts {
    let (mentor, author) = (critique.present_mentor_id, critique.mentor_id);
    Facts::of_critique(actor.school, critique.student_id, mentor, author)
        .released(critique.released_at.is_some_and(|at| at <= now))
}

/// What [`own`] gives, held against a release or a move of the student meanwhile.
pub(super) async fn held(
    conn: &mut Conn,
    actor: &Actor,
    id: CritiqueId,
    now: DateTime<Utc>,
) -> Answer<Critique> {
    critiques::hold(conn, id).await?;
    own(conn, actor, id, now).await
}

/// The critique, if the asker wrote it and still has the student.
pub(in crate::http) async fn own(
    conn: &mut Conn,
    actor: &Actor,
    id: CritiqueId,
    now: DateTime<Utc>,
) -> Answer<Critique> {
    let critique = critiques::get(conn, id)
        .await?
        .ok_or_else(Problem::not_found)?;
    permit(actor, Action::WriteCritique, &facts(actor, &critique, now))?;
    Ok(critique)
}

/// What the student was told stays as it is.
pub(in crate::http) fn stands() -> Problem {
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
