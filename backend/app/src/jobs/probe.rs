//! Looks at a file that has arrived whole: refused with its reason, or kept as footage and handed on to preparation.

use domain::jobs::Payload;
use domain::{FootageId, UploadId, UploadState};
use media::Refusal;
use store::footage::NewFootage;
use store::jobs::Claimed;
use store::{footage, jobs, uploads};
use uuid::Uuid;

use super::{JobError, Lease};
use crate::footage::{Item, key, put_file, refused};
use crate::state::State;

/// Probes the upload.
pub(super) async fn run(
    state: &State,
    claimed: &Claimed,
    lease: &Lease,
    id: UploadId,
) -> Result<(), JobError> {
    let upload = state
        .db
        .scoped(&claimed.actor, async |conn| uploads::get(conn, id).await)
        .await?;
    let Some(upload) = upload.filter(|upload| upload.state == UploadState::Probing) else {
        return done(state, claimed).await;
    };
    let file = state.config.var.uploads().join(id.to_string());
    let limits = state.limits_of_footage();
    let probed = tokio::select! {
        probed = media::probe(&state.sandbox, &file, &limits) => probed,
        () = lease.lost() => return Err(JobError::Gone),
    };
    match probed {
        Ok(probe) => {
            let new = new_footage(state, claimed, &upload, probe)?;
            let source = key(new.id, Item::Source);
            put_file(state.footage.as_ref(), &source, &file)
                .await
                .map_err(|e| JobError::Again(e.to_string()))?;
            accept(state, claimed, id, &new).await?;
        }
        Err(refusal) if refusal.may_pass_later() => {
            return Err(JobError::Again(refusal.to_string()));
        }
        Err(refusal) => refuse(state, claimed, id, &refusal).await?,
    }
    if let Err(error) = tokio::fs::remove_file(&file).await {
        tracing::warn!(%error, upload = %id, "a probed upload could not be removed");
    }
    Ok(())
}

/// It was tried as often as it may be.
pub(super) async fn give_up(conn: &mut store::Conn, id: UploadId) -> Result<(), JobError> {
    let words = "It could not be looked at here, however often it was tried. Your file is not at fault; please upload it again later. Nothing is spent.";
    let problem = Some(refused("gave-up", words));
    Ok(uploads::set_state(conn, id, UploadState::Refused, problem).await?)
}

fn new_footage(
    state: &State,
    claimed: &Claimed,
    upload: &uploads::Upload,
    probe: media::Probe,
) -> Result<NewFootage, JobError> {
    // The same upload probed twice, after a killed worker, is the same footage.
    let id = FootageId(Uuid::new_v5(&upload.id.0, b"footage"));
    let int = |n: u32| i32::try_from(n).map_err(|e| JobError::Failed(e.to_string()));
    Ok(NewFootage {
        id,
        school: claimed.actor.school,
        student: claimed.actor.person,
        upload: upload.id,
        filename: upload.filename.clone(),
        source_key: key(id, Item::Source).to_string(),
        source_bytes: upload.length,
        size: (int(probe.shown.width)?, int(probe.shown.height)?),
        frames: int(probe.packets)?,
        fps: (int(probe.rate_num)?.max(1), int(probe.rate_den)?.max(1)),
        probe: serde_json::to_value(&probe).map_err(|e| JobError::Failed(e.to_string()))?,
        at: state.clock.now(),
    })
}

async fn accept(
    state: &State,
    claimed: &Claimed,
    id: UploadId,
    new: &NewFootage,
) -> Result<(), JobError> {
    state
        .db
        .scoped(&claimed.actor, async |conn| {
            footage::add(conn, new).await?;
            uploads::set_state(conn, id, UploadState::Accepted, None).await?;
            let prepare = Payload::Prepare { footage: new.id };
            jobs::enqueue(
                conn,
                claimed.actor.school,
                claimed.actor.person,
                &prepare,
                new.at,
            )
            .await?;
            finish(conn, claimed).await
        })
        .await
}

async fn refuse(
    state: &State,
    claimed: &Claimed,
    id: UploadId,
    refusal: &Refusal,
) -> Result<(), JobError> {
    let problem = refused(refusal.code(), &refusal.to_string());
    state
        .db
        .scoped(&claimed.actor, async |conn| {
            uploads::set_state(conn, id, UploadState::Refused, Some(problem)).await?;
            finish(conn, claimed).await
        })
        .await
}

async fn done(state: &State, claimed: &Claimed) -> Result<(), JobError> {
    state
        .db
        .scoped(&claimed.actor, async |conn| finish(conn, claimed).await)
        .await
}

/// Finishes the job in the transaction of its effect; a lost lease rolls the effect back.
pub(super) async fn finish(conn: &mut store::Conn, claimed: &Claimed) -> Result<(), JobError> {
    match jobs::finish(conn, claimed).await? {
        true => Ok(()),
        false => Err(JobError::Gone),
    }
}
