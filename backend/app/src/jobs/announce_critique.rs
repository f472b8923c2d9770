//! Tells the student that a critique is out, once the time to take it back has passed.

use domain::CritiqueId;
use store::jobs::Claimed;
use store::{critiques, notes, people, schools, shots};

use super::probe::finish;
use super::{JobError, Lease};
use crate::mail::{Letter, post};
use crate::state::State;

/// Writes the mail; a critique that was taken back needs none.
pub(super) async fn run(
    state: &State,
    claimed: &Claimed,
    _lease: &Lease,
    id: CritiqueId,
) -> Result<(), JobError> {
    let now = state.clock.now();
    state
        .db
        .scoped(&claimed.actor, async |conn| {
            let out = critiques::get(conn, id)
                .await?
                .filter(|critique| critique.released_at.is_some());
            if let Some(critique) = out {
                if critique.released_at.is_some_and(|at| at > now) {
                    return Err(JobError::Again("it is not out yet".into()));
                }
                let letter = letter(conn, state, &critique).await?;
                post(conn, state, claimed.actor.school, &letter).await?;
            }
            finish(conn, claimed).await
        })
        .await
}

async fn letter(
    conn: &mut store::Conn,
    state: &State,
    critique: &critiques::Critique,
) -> Result<Letter, JobError> {
    let lost = || JobError::Again("a critique without its student or shot".into());
    let student = people::get(conn, critique.student_id)
        .await?
        .ok_or_else(lost)?;
    let shot = shots::get(conn, critique.shot_id).await?.ok_or_else(lost)?;
    let school = schools::own(conn).await?;
    let count = notes::of_shots(conn, &[critique.shot_id])
        .await?
        .iter()
        .filter(|note| note.critique == critique.id)
        .count();
    let notes = if count == 1 {
        "1 note".to_owned()
    } else {
        format!("{count} notes")
    };
    Ok(Letter {
        kind: "critique",
        about: critique.id.0,
        person: student.id,
        name: student.name,
        to: student.email,
        subject: format!("Critique of {}, r{}", shot.title, critique.number),
        paragraphs: vec![
            format!(
                "Your critique of {}, r{}, is ready to read: {notes}.",
                shot.title, critique.number
            ),
            school.name,
        ],
        link: Some((
            "Read it".into(),
            format!("{}/read/{}", state.public_url, critique.id),
        )),
        at: critique.released_at.unwrap_or_else(|| state.clock.now()),
    })
}
