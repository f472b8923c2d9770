use actix_web::web::Data;
use actix_web::{HttpRequest, post};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::TimeDelta;
use domain::{Action, Facts, ProblemCode, permit};
use store::uploads::{self, NewUpload};
use uuid::Uuid;

use super::protocol::{UPLOADS, answer, count, file_of, header, http_date, wrong_version};
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Announces a file; its bytes follow by PATCH. Nothing is spent.
#[utoipa::path(tag = "uploads", params(("Upload-Length" = u64, Header), ("Upload-Metadata" = Option<String>, Header)),
    responses((status = 201, description = "Location of the upload")))]
#[post("/uploads")]
pub(super) async fn create_upload(state: Data<State>, who: Who, request: HttpRequest) -> Answer {
    permit(&who.0, Action::Send, &Facts::of_school(who.0.school))?;
    if let Some(refused) = wrong_version(&request) {
        return Ok(refused);
    }
    let length = count(&request, "Upload-Length").ok_or_else(|| {
        Problem::invalid(
            "Upload-Length",
            "is missing or no number",
            "Say how many bytes the file has.",
        )
    })?;
    if length > state.config.uploads.bytes {
        let limit = state.config.uploads.bytes >> 20;
        return Err(Problem::new(ProblemCode::TooLarge)
            .detail(format!("The file is larger than {limit} MiB. Export it smaller: H.264 at 1080p is plenty. Nothing is spent.")));
    }
    let now = state.clock.now();
    let expires = TimeDelta::from_std(state.config.uploads.expires).unwrap_or(TimeDelta::days(1));
    let new = NewUpload {
        id: Uuid::now_v7().into(),
        school: who.0.school,
        person: who.0.person,
        filename: filename(header(&request, "Upload-Metadata").unwrap_or_default()),
        length: i64::try_from(length).unwrap_or(i64::MAX),
        at: now,
        expires_at: now + expires,
    };
    tokio::fs::File::create(file_of(&state, new.id))
        .await
        .map_err(|e| Problem::internal(&e))?;
    state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| Ok(uploads::add(conn, &new).await?))
        .await?;
    Ok(answer(201)
        .insert_header(("Location", format!("{UPLOADS}/{}", new.id)))
        .insert_header(("Upload-Expires", http_date(new.expires_at)))
        .finish())
}

/// The name among the metadata: pairs of a key and a base64 value, separated by commas. Without one: "clip".
fn filename(metadata: &str) -> String {
    let named = metadata.split(',').find_map(|pair| {
        let (key, value) = pair.trim().split_once(' ')?;
        let value = STANDARD
            .decode(value.trim())
            .ok()
            .filter(|_| key == "filename")?;
        Some(
            String::from_utf8_lossy(&value)
                .chars()
                .filter(|c| !c.is_control())
                .take(200)
                .collect::<String>(),
        )
    });
    named
        .filter(|name| !name.trim().is_empty())
        .unwrap_or_else(|| "clip".into())
}

#[cfg(test)]
mod tests {
    use super::filename;

    #[test]
    fn the_name_is_found_among_the_metadata() {
        assert_eq!(
            filename("filetype dmlkZW8vbXA0,filename bGFudGVybi5tcDQ="),
            "lantern.mp4"
        );
        assert_eq!(filename("filename ???"), "clip");
        assert_eq!(filename(""), "clip");
    }
}
