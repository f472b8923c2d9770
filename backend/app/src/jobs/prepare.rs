//! Makes the frame table, the review copies and the strip; what fails for good gives the submission back.

use std::path::Path;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::Duration;

use domain::{FootageId, FootageState};
use media::{PrepareError, Prepared, Sound};
use serde_json::json;
use store::footage::{Footage, Made};
use store::jobs::Claimed;
use store::{footage, jobs, people, schools, shots, submissions};

use super::probe::finish;
use super::{JobError, Lease};
use crate::footage::{Item, fetch_file, key, put_file, refused};
use crate::mail::{Letter, post};
use crate::state::State;

/// How often progress is written down.
const TELL_EVERY: Duration = Duration::from_millis(500);

/// Prepares the footage.
pub(super) async fn run(
    state: &State,
    claimed: &Claimed,
    lease: &Lease,
    id: FootageId,
) -> Result<(), JobError> {
    let found = state
        .db
        .scoped(&claimed.actor, async |conn| footage::get(conn, id).await)
        .await?;
    let Some(found) = found.filter(|found| found.state == FootageState::Preparing) else {
        return state
            .db
            .scoped(&claimed.actor, async |conn| finish(conn, claimed).await)
            .await;
    };
    let scratch = tempfile::Builder::new()
        .prefix("prepare-")
        .tempdir_in(state.config.var.scratch())
        .map_err(|e| JobError::Again(e.to_string()))?;
    let source = scratch.path().join("source");
    fetch_file(state.footage.as_ref(), &key(id, Item::Source), &source)
        .await
        .map_err(|e| JobError::Again(e.to_string()))?;
    let made = scratch.path().join("made");
    tokio::fs::create_dir(&made)
        .await
        .map_err(|e| JobError::Again(e.to_string()))?;
    match prepare(state, claimed, lease, &found, &source, &made).await {
        Ok(prepared) => keep(state, claimed, id, &prepared).await,
        Err(PrepareError::Cancelled) => Err(JobError::Gone),
        Err(PrepareError::ForGood(refusal)) => {
            fail_for_good(
                state,
                claimed,
                id,
                &refusal.to_string(),
                refused(refusal.code(), &refusal.to_string()),
            )
            .await
        }
        Err(PrepareError::Again(why)) => Err(JobError::Again(why.to_string())),
    }
}

/// It was tried as often as it may be.
pub(super) async fn give_up(
    conn: &mut store::Conn,
    state: &State,
    claimed: &Claimed,
    id: FootageId,
) -> Result<(), JobError> {
    let found = footage::get(conn, id).await?;
    if found.is_none_or(|found| found.state != FootageState::Preparing) {
        return Ok(());
    }
    let words = "It could not be prepared here, however often it was tried. Your file is not at fault; please send it again later.";
    set_failed(conn, state, claimed, id, words, refused("gave-up", words)).await
}

async fn prepare(
    state: &State,
    claimed: &Claimed,
    lease: &Lease,
    found: &Footage,
    source: &Path,
    made: &Path,
) -> Result<Prepared, PrepareError> {
    let probe: media::Probe = serde_json::from_value(found.probe.clone())
        .map_err(|e| PrepareError::Again(media::TryAgain::System(std::io::Error::other(e))))?;
    let limits = state.limits_of_footage();
    let permille = AtomicU32::new(0);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of 0..1 in thousandths"
    )]
    let note =
        |share: f32| permille.store((share.clamp(0.0, 1.0) * 1000.0) as u32, Ordering::Relaxed);
    let work = media::prepare(
        &state.sandbox,
        source,
        &probe,
        made,
        &limits,
        note,
        lease.lost(),
    );
    tokio::pin!(work);
    let mut told = 0;
    loop {
        tokio::select! {
            outcome = &mut work => return outcome,
            () = tokio::time::sleep(TELL_EVERY) => {
                let now = permille.load(Ordering::Relaxed);
                if now > told {
                    told = now;
                    tell(state, claimed, found.id, now).await;
                }
            }
        }
    }
}

/// Progress is a courtesy: a database that does not answer now must not end the work.
async fn tell(state: &State, claimed: &Claimed, id: FootageId, permille: u32) {
    #[expect(clippy::cast_precision_loss, reason = "at most 1000")]
    let share = permille as f32 / 1000.0;
    let told = state
        .db
        .scoped(&claimed.actor, async |conn| {
            footage::set_progress(conn, id, share).await
        })
        .await;
    if let Err(error) = told {
        tracing::warn!(
            error = &error as &dyn std::error::Error,
            "progress could not be written"
        );
    }
}

async fn keep(
    state: &State,
    claimed: &Claimed,
    id: FootageId,
    prepared: &Prepared,
) -> Result<(), JobError> {
    let mut files = vec![
        (Item::Copy, &prepared.copy.path),
        (Item::Strip, &prepared.strip.path),
        (Item::Poster, &prepared.poster.path),
    ];
    files.extend(
        prepared
            .large
            .as_ref()
            .map(|large| (Item::Large, &large.path)),
    );
    files.extend(prepared.sound_path.as_ref().map(|path| (Item::Sound, path)));
    for (item, path) in files {
        put_file(state.footage.as_ref(), &key(id, item), path)
            .await
            .map_err(|e| JobError::Again(e.to_string()))?;
    }
    let made = facts(state, prepared)?;
    state
        .db
        .scoped(&claimed.actor, async |conn| {
            footage::set_ready(conn, id, &made).await?;
            finish(conn, claimed).await
        })
        .await
}

fn facts(state: &State, prepared: &Prepared) -> Result<Made, JobError> {
    let int = |n: u32| i32::try_from(n).map_err(|e| JobError::Failed(e.to_string()));
    let table = &prepared.table;
    let size = |copy: &media::Copy| json!({ "width": copy.size.width, "height": copy.size.height });
    Ok(Made {
        time_base: (int(table.time_base_num)?, int(table.time_base_den)?),
        pts: table.pts.clone(),
        last_duration: table.last_duration,
        variable: table.is_variable(),
        derived: json!({
            "copy": size(&prepared.copy),
            "large": prepared.large.as_ref().map(size),
            "strip": { "cells": prepared.strip.frames.len(), "cell_width": prepared.strip.cell.width,
                "cell_height": prepared.strip.cell.height, "frames": prepared.strip.frames },
            "sound": prepared.sound == Sound::Kept,
        }),
        recipe: int(prepared.recipe_version)?,
        at: state.clock.now(),
    })
}

/// One transaction: the footage failed, the submission (if it was sent) is given back, the student is told why.
async fn fail_for_good(
    state: &State,
    claimed: &Claimed,
    id: FootageId,
    why: &str,
    problem: serde_json::Value,
) -> Result<(), JobError> {
    state
        .db
        .scoped(&claimed.actor, async |conn| {
            set_failed(conn, state, claimed, id, why, problem).await?;
            match jobs::fail(conn, claimed, why).await? {
                true => Ok(()),
                false => Err(JobError::Gone),
            }
        })
        .await
}

async fn set_failed(
    conn: &mut store::Conn,
    state: &State,
    claimed: &Claimed,
    id: FootageId,
    why: &str,
    problem: serde_json::Value,
) -> Result<(), JobError> {
    footage::set_state(conn, id, FootageState::Failed, Some(problem)).await?;
    if let Some(sent) = submissions::by_footage(conn, id).await?
        && submissions::give_back(conn, &claimed.actor, &sent, why, state.clock.now()).await?
    {
        let letter = returned_letter(conn, state, &sent, why).await?;
        post(conn, state, claimed.actor.school, &letter).await?;
    }
    Ok(())
}

async fn returned_letter(
    conn: &mut store::Conn,
    state: &State,
    sent: &submissions::Submission,
    why: &str,
) -> Result<Letter, JobError> {
    let lost = || JobError::Again("a submission without its student or shot".into());
    let student = people::get(conn, sent.student_id).await?.ok_or_else(lost)?;
    let shot = shots::get(conn, sent.shot_id).await?.ok_or_else(lost)?;
    let school = schools::own(conn).await?;
    Ok(Letter {
        kind: "returned",
        about: sent.id.0,
        person: student.id,
        name: student.name,
        to: student.email,
        subject: format!("{}, r{} is back with you", shot.title, sent.number),
        paragraphs: vec![
            format!(
                "{}, r{}, could not be prepared for your mentor, so the submission was given back to you. Nothing is spent.",
                shot.title, sent.number
            ),
            why.to_owned(),
            school.name,
        ],
        link: Some((
            "Send it again".into(),
            format!("{}/shots/{}", state.public_url, shot.id),
        )),
        at: state.clock.now(),
    })
}
