use actix_web::get;
use actix_web::web::{Data, Json};
use domain::{Action, Facts, WordTable, permit};

use super::types::{LexiconMeaning, LexiconTable, LexiconTables};
use crate::http::problem::Answer;
use crate::http::who::Who;
use crate::state::State;

/// The tables a school may add words to, and what a word can mean in each.
#[utoipa::path(tag = "lexicon", responses((status = 200, body = LexiconTables)))]
#[get("/lexicon/tables")]
pub(super) async fn read_lexicon_tables(
    state: Data<State>,
    who: Who,
) -> Answer<Json<LexiconTables>> {
    permit(
        &who.0,
        Action::ManageLexicon,
        &Facts::of_school(who.0.school),
    )?;
    let lexicon = &state.critics.built_in().lexicon;
    let tables = WordTable::ALL
        .iter()
        .map(|table| LexiconTable {
            table: *table,
            meanings: lexicon
                .meanings(*table)
                .into_iter()
                .map(LexiconMeaning::from)
                .collect(),
        })
        .collect();
    Ok(Json(LexiconTables {
        tables,
        most: super::MOST,
    }))
}
