use std::time::Duration;

use actix_web::web::{Data, Path, Payload};
use actix_web::{HttpRequest, HttpResponse, patch};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use domain::{Action, Actor, Facts, UploadId, UploadState, permit};
use futures_util::StreamExt;
use sha2::{Digest, Sha256};
use store::uploads::{self, Upload};
use tokio::fs::File;
use tokio::io::{AsyncSeekExt, AsyncWriteExt};
use tokio::time::{Instant, timeout};
use uuid::Uuid;

use super::protocol::{answer, count, header, http_date, refusal, wrong_version};
use super::whole::{arrived, hold};
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// How often a writer looks whether another request has taken over.
const LOOK_EVERY: Duration = Duration::from_millis(500);
/// How long a request waits for the writer before it to let go of the file.
const PATIENCE: Duration = Duration::from_secs(4);

/// Appends bytes at the offset. The newest request is the writer: the one before it, perhaps of a connection that is long dead, finds
/// itself replaced, settles what it has and lets go of the file. When the last byte has arrived the file is looked at.
#[utoipa::path(tag = "uploads", params(("Upload-Offset" = u64, Header), ("Upload-Checksum" = Option<String>, Header)),
    request_body(content = Vec<u8>, content_type = "application/offset+octet-stream"),
    responses((status = 204, description = "Upload-Offset after it")))]
#[patch("/uploads/{id}")]
pub(super) async fn append_to_upload(
    state: Data<State>,
    who: Who,
    id: Path<UploadId>,
    request: HttpRequest,
    body: Payload,
) -> Answer {
    permit(&who.0, Action::Send, &Facts::of_school(who.0.school))?;
    let (upload, asked) = match check(&state, &who.0, *id, &request).await? {
        Ok(checked) => checked,
        Err(refused) => return Ok(refused),
    };
    let writer = Uuid::new_v4();
    let taken = state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            Ok(uploads::take_over(conn, upload.id, writer).await?)
        })
        .await?;
    if !taken {
        return Ok(refusal(409, "It has arrived whole already."));
    }
    let held = hold(&state, upload.id, PATIENCE).await;
    let Some(file) = held.map_err(|e| Problem::internal(&e))? else {
        return Ok(refusal(423, "Another request is still writing."));
    };
    let have = file
        .metadata()
        .await
        .map_err(|e| Problem::internal(&e))?
        .len();
    if asked.offset != have {
        return Ok(refusal(409, "The offset is not where the file ends."));
    }
    let mut appending = Appending {
        state: &state,
        actor: who.0,
        upload: &upload,
        writer,
        file,
        have,
        now: have,
        hash: asked.checksum.as_ref().map(|_| Sha256::new()),
    };
    let cut = appending.receive(body).await?;
    appending.settle(asked.checksum, cut).await
}

/// What a request asks for.
struct Asked {
    offset: u64,
    checksum: Option<Vec<u8>>,
}

/// The upload, and what is asked; the inner error is the protocol's own refusal.
async fn check(
    state: &State,
    actor: &Actor,
    id: UploadId,
    request: &HttpRequest,
) -> Answer<Result<(Upload, Asked), HttpResponse>> {
    if let Some(refused) = wrong_version(request) {
        return Ok(Err(refused));
    }
    if header(request, "Content-Type") != Some("application/offset+octet-stream") {
        return Ok(Err(refusal(
            415,
            "The content type must be application/offset+octet-stream.",
        )));
    }
    let Some(offset) = count(request, "Upload-Offset") else {
        return Ok(Err(refusal(400, "Upload-Offset is missing.")));
    };
    let checksum = match header(request, "Upload-Checksum").map(|value| value.split_once(' ')) {
        None => None,
        Some(Some(("sha256", sum))) => match STANDARD.decode(sum) {
            Ok(sum) => Some(sum),
            Err(_) => return Ok(Err(refusal(400, "Upload-Checksum is not base64."))),
        },
        Some(_) => {
            return Ok(Err(refusal(
                400,
                "Only sha256 is known for Upload-Checksum.",
            )));
        }
    };
    let upload = state
        .db
        .scoped::<_, Problem, _>(actor, async |conn| Ok(uploads::get(conn, id).await?))
        .await?
        .ok_or_else(Problem::not_found)?;
    if upload.state != UploadState::Receiving {
        return Ok(Err(refusal(409, "It has arrived whole already.")));
    }
    if upload.expires_at <= state.clock.now() {
        return Ok(Err(refusal(410, "This upload has expired. Begin again.")));
    }
    let room = u64::try_from(upload.length)
        .unwrap_or(0)
        .saturating_sub(offset);
    if count(request, "Content-Length").is_some_and(|n| n > room) {
        return Ok(Err(refusal(413, "More bytes than were announced.")));
    }
    Ok(Ok((upload, Asked { offset, checksum })))
}

/// Why receiving ended before the body's end.
enum Cut {
    TooMuch,
    Broken,
    Silent,
    Replaced,
}

struct Appending<'a> {
    state: &'a State,
    actor: Actor,
    upload: &'a Upload,
    writer: Uuid,
    file: File,
    have: u64,
    now: u64,
    hash: Option<Sha256>,
}

impl Appending<'_> {
    async fn receive(&mut self, mut body: Payload) -> Answer<Option<Cut>> {
        self.file
            .seek(std::io::SeekFrom::Start(self.have))
            .await
            .map_err(|e| Problem::internal(&e))?;
        let length = u64::try_from(self.upload.length).unwrap_or(0);
        let (mut looked, mut heard) = (Instant::now(), Instant::now());
        loop {
            let next = timeout(LOOK_EVERY, body.next()).await;
            if looked.elapsed() >= LOOK_EVERY {
                self.file.flush().await.map_err(|e| Problem::internal(&e))?;
                if !self.note().await? {
                    return Ok(Some(Cut::Replaced));
                }
                looked = Instant::now();
            }
            let piece = match next {
                Err(_) if heard.elapsed() < self.state.config.uploads.idle => continue,
                Err(_) => return Ok(Some(Cut::Silent)),
                Ok(None) => return Ok(None),
                Ok(Some(Err(_))) => return Ok(Some(Cut::Broken)),
                Ok(Some(Ok(piece))) => piece,
            };
            heard = Instant::now();
            if self.now + piece.len() as u64 > length {
                return Ok(Some(Cut::TooMuch));
            }
            if let Some(hash) = &mut self.hash {
                hash.update(&piece);
            }
            self.file
                .write_all(&piece)
                .await
                .map_err(|e| Problem::internal(&e))?;
            self.now += piece.len() as u64;
        }
    }

    /// Notes how much has arrived; false if another request writes now.
    async fn note(&self) -> Answer<bool> {
        let received = i64::try_from(self.now).unwrap_or(i64::MAX);
        let (id, writer) = (self.upload.id, self.writer);
        self.state
            .db
            .scoped::<_, Problem, _>(&self.actor, async |conn| {
                Ok(uploads::note_received(conn, id, writer, received).await?)
            })
            .await
    }

    /// Keeps what came, or with a checksum all or nothing of it, and says where the file ends.
    async fn settle(mut self, checksum: Option<Vec<u8>>, cut: Option<Cut>) -> Answer {
        self.file.flush().await.map_err(|e| Problem::internal(&e))?;
        let sum = self.hash.take().map(|hash| hash.finalize().to_vec());
        let mismatched = checksum.is_some() && (cut.is_some() || sum != checksum);
        if mismatched || matches!(cut, Some(Cut::TooMuch)) {
            self.file
                .set_len(self.have)
                .await
                .map_err(|e| Problem::internal(&e))?;
            self.now = self.have;
        }
        if matches!(cut, Some(Cut::Replaced)) || !self.note().await? {
            return Ok(refusal(423, "Another request has taken over."));
        }
        match cut {
            Some(Cut::TooMuch) => return Ok(refusal(413, "More bytes than were announced.")),
            Some(Cut::Broken) => {
                return Ok(refusal(400, "The request was cut off. What came is kept."));
            }
            Some(Cut::Silent) => {
                return Ok(refusal(408, "Nothing came for a while. What came is kept."));
            }
            _ if mismatched => {
                return Ok(refusal(
                    460,
                    "The checksum does not match. Nothing of this piece was kept.",
                ));
            }
            _ => {}
        }
        if i64::try_from(self.now).is_ok_and(|now| now == self.upload.length) {
            arrived(self.state, &self.actor, self.upload.id, &self.file).await?;
        }
        Ok(answer(204)
            .insert_header(("Upload-Offset", self.now.to_string()))
            .insert_header(("Upload-Expires", http_date(self.upload.expires_at)))
            .finish())
    }
}
