use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, delete};
use domain::{Action, Facts, LexiconWordId, permit};
use store::{StoreError, lexicon_words};

use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Removes a word from those of the school.
#[utoipa::path(tag = "lexicon", responses((status = 204)))]
#[delete("/lexicon/words/{id}")]
pub(super) async fn remove_lexicon_word(
    state: Data<State>,
    who: Who,
    id: Path<LexiconWordId>,
) -> Answer {
    permit(
        &who.0,
        Action::ManageLexicon,
        &Facts::of_school(who.0.school),
    )?;
    let removed = state
        .db
        .scoped::<_, StoreError, _>(&who.0, async |conn| lexicon_words::remove(conn, *id).await)
        .await?;
    if !removed {
        return Err(Problem::not_found());
    }
    Ok(HttpResponse::NoContent().finish())
}
