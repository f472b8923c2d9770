use actix_web::get;
use actix_web::web::{Data, Json};
use domain::{Action, Facts, permit};
use store::{StoreError, lexicon_words};

use super::types::LexiconWord;
use crate::http::page::Page;
use crate::http::problem::Answer;
use crate::http::who::Who;
use crate::state::State;

/// The school's own words, by table and phrase; there are never more than fit on one page.
#[utoipa::path(tag = "lexicon", responses((status = 200, body = Page<LexiconWord>)))]
#[get("/lexicon/words")]
pub(super) async fn list_lexicon_words(
    state: Data<State>,
    who: Who,
) -> Answer<Json<Page<LexiconWord>>> {
    permit(
        &who.0,
        Action::ManageLexicon,
        &Facts::of_school(who.0.school),
    )?;
    let rows = state
        .db
        .scoped::<_, StoreError, _>(&who.0, async |conn| lexicon_words::list(conn).await)
        .await?;
    let built_in = state.critics.built_in();
    let show = |row| LexiconWord::new(row, built_in, who.0.person);
    Ok(Json(Page::whole(rows.into_iter().map(show).collect())))
}
