use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, route};
use domain::{Action, FootageId, FootageState, ProblemCode};
use serde::Deserialize;
use utoipa::IntoParams;

use super::get::find;
use super::range::serve;
use crate::footage::{Item, key};
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Which copy.
#[derive(Debug, Deserialize, IntoParams)]
struct CopyQuery {
    /// `large` for the larger copy, where there is one.
    size: Option<String>,
}

/// The review copy; whole or by range.
#[utoipa::path(get, path = "/footage/{id}/copy", tag = "footage", params(CopyQuery), responses((status = 200, content_type = "video/mp4"), (status = 206, content_type = "video/mp4")))]
#[route("/footage/{id}/copy", method = "GET", method = "HEAD")]
pub(super) async fn get_footage_copy(
    state: Data<State>,
    who: Who,
    id: Path<FootageId>,
    query: Query<CopyQuery>,
    request: HttpRequest,
) -> Answer {
    let item = if query.size.as_deref() == Some("large") {
        Item::Large
    } else {
        Item::Copy
    };
    file(&state, &who, *id, item, &request).await
}

/// A row of small pictures.
#[utoipa::path(get, path = "/footage/{id}/strip", tag = "footage", responses((status = 200, content_type = "image/jpeg")))]
#[route("/footage/{id}/strip", method = "GET", method = "HEAD")]
pub(super) async fn get_footage_strip(
    state: Data<State>,
    who: Who,
    id: Path<FootageId>,
    request: HttpRequest,
) -> Answer {
    file(&state, &who, *id, Item::Strip, &request).await
}

/// One picture.
#[utoipa::path(get, path = "/footage/{id}/poster", tag = "footage", responses((status = 200, content_type = "image/jpeg")))]
#[route("/footage/{id}/poster", method = "GET", method = "HEAD")]
pub(super) async fn get_footage_poster(
    state: Data<State>,
    who: Who,
    id: Path<FootageId>,
    request: HttpRequest,
) -> Answer {
    file(&state, &who, *id, Item::Poster, &request).await
}

/// The sound.
#[utoipa::path(get, path = "/footage/{id}/sound", tag = "footage", responses((status = 200, content_type = "audio/mp4"), (status = 206, content_type = "audio/mp4")))]
#[route("/footage/{id}/sound", method = "GET", method = "HEAD")]
pub(super) async fn get_footage_sound(
    state: Data<State>,
    who: Who,
    id: Path<FootageId>,
    request: HttpRequest,
) -> Answer {
    file(&state, &who, *id, Item::Sound, &request).await
}

async fn file(
    state: &State,
    who: &Who,
    id: FootageId,
    item: Item,
    request: &HttpRequest,
) -> Answer {
    let found = find(state, &who.0, id, Action::ReadFootage).await?;
    if found.state != FootageState::Ready {
        return Err(Problem::new(ProblemCode::NotReady)
            .detail("It is not prepared yet; its progress stands at /footage/{id}."));
    }
    serve(
        state.footage.as_ref(),
        &key(id, item),
        item.media_type(),
        request,
    )
    .await
}
