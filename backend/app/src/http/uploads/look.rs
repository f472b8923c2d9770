use std::io;
use std::time::Duration;

use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, head};
use domain::{Action, Facts, UploadId, UploadState, permit};

use super::protocol::{answer, file_of, http_date, metadata_of, refusal, wrong_version};
use super::whole::{find, hold};
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// How long a request that may have lost its client gets to write what it still holds.
const PATIENCE: Duration = Duration::from_secs(1);

/// Where the file ends. A client that lost its connection asks at once, while the request that was cut off may still be
/// writing what came: then where that ends, or the client would go on from a place that is none any more.
async fn arrived_so_far(state: &State, id: UploadId) -> io::Result<u64> {
    let metadata = match hold(state, id, PATIENCE).await? {
        Some(file) => file.metadata().await?,
        None => tokio::fs::metadata(file_of(state, id)).await?,
    };
    Ok(metadata.len())
}

/// How much has arrived, so that the client goes on from there.
#[utoipa::path(tag = "uploads", responses((status = 200, description = "Upload-Offset and Upload-Length")))]
#[head("/uploads/{id}")]
pub(super) async fn look_at_upload(
    state: Data<State>,
    who: Who,
    id: Path<UploadId>,
    request: HttpRequest,
) -> Answer {
    permit(&who.0, Action::Send, &Facts::of_school(who.0.school))?;
    if let Some(refused) = wrong_version(&request) {
        return Ok(refused);
    }
    let upload = find(&state, &who.0, *id).await?;
    let offset = match upload.state {
        UploadState::Receiving if upload.expires_at <= state.clock.now() => {
            return Ok(refusal(410, "This upload has expired. Begin again."));
        }
        UploadState::Receiving => arrived_so_far(&state, *id)
            .await
            .map_err(|e| Problem::internal(&e))?,
        _ => u64::try_from(upload.length).unwrap_or(0),
    };
    Ok(answer(200)
        .insert_header(("Upload-Offset", offset.to_string()))
        .insert_header(("Upload-Length", upload.length.to_string()))
        .insert_header(("Upload-Metadata", metadata_of(&upload.filename)))
        .insert_header(("Upload-Expires", http_date(upload.expires_at)))
        .finish())
}
