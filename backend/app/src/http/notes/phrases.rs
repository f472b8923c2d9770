use actix_web::get;
use actix_web::web::{Data, Json, Query};
use domain::{Action, Facts, permit};
use serde::{Deserialize, Serialize};
use store::notes;
use utoipa::{IntoParams, ToSchema};

use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Wordings offered at most.
const OFFERED: i32 = 6;

/// What is being typed.
#[derive(Debug, Deserialize, IntoParams)]
pub(super) struct PhraseQuery {
    /// The words so far.
    q: String,
}

/// Earlier wordings.
#[derive(Debug, Serialize, ToSchema)]
pub struct Phrases {
    /// Best first.
    pub phrases: Vec<String>,
}

/// The mentor's own earlier wordings that hold what is being typed.
#[utoipa::path(tag = "notes", params(PhraseQuery), responses((status = 200, body = Phrases)))]
#[get("/phrases")]
pub(super) async fn find_phrases(
    state: Data<State>,
    who: Who,
    query: Query<PhraseQuery>,
) -> Answer<Json<Phrases>> {
    permit(&who.0, Action::Critique, &Facts::of_school(who.0.school))?;
    let part: String = query.q.trim().chars().take(200).collect();
    if part.is_empty() {
        return Ok(Json(Phrases { phrases: vec![] }));
    }
    let phrases = state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            Ok(notes::phrases(conn, who.0.person, &part, OFFERED).await?)
        })
        .await?;
    Ok(Json(Phrases { phrases }))
}
