use actix_web::post;
use actix_web::web::{Data, Json};
use domain::{Action, Facts, permit};
use store::lexicon_words;

use super::explain::fault;
use super::types::{LexiconTags, LexiconTrial, LexiconTried};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// What a sentence is taken to say: without the school's words and with them, or, if a word is tried, as it is and with that word.
#[utoipa::path(tag = "lexicon", request_body = LexiconTrial, responses((status = 200, body = LexiconTried)))]
#[post("/lexicon/trials")]
pub(super) async fn try_lexicon(
    state: Data<State>,
    who: Who,
    input: Valid<LexiconTrial>,
) -> Answer<Json<LexiconTried>> {
    permit(
        &who.0,
        Action::ManageLexicon,
        &Facts::of_school(who.0.school),
    )?;
    let LexiconTrial { text, word } = input.0;
    let (school, words) = state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            let school = state.critics.of_school(conn, who.0.school).await?;
            let words = match word {
                Some(_) => lexicon_words::list(conn).await?,
                None => vec![],
            };
            Ok((school, words))
        })
        .await?;
    let tried = match word {
        Some(word) => {
            let with = state.critics.adding(&words, word.into());
            LexiconTried {
                before: LexiconTags::of(&school, &text),
                after: LexiconTags::of(&with.map_err(|e| fault(&e, "word."))?, &text),
            }
        }
        None => LexiconTried {
            before: LexiconTags::of(state.critics.built_in(), &text),
            after: LexiconTags::of(&school, &text),
        },
    };
    Ok(Json(tried))
}
