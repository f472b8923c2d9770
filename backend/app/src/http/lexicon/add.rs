use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use critique::OwnWord;
use domain::{Action, Facts, ProblemCode, permit};
use store::lexicon_words;
use uuid::Uuid;

use super::MOST;
use super::explain::{already, fault, refusal};
use super::types::{LexiconWord, NewLexiconWord};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Adds a word to those of the school. From then on its notes are read with it.
#[utoipa::path(tag = "lexicon", request_body = NewLexiconWord, responses((status = 201, body = LexiconWord)))]
#[post("/lexicon/words")]
pub(super) async fn add_lexicon_word(
    state: Data<State>,
    who: Who,
    input: Valid<NewLexiconWord>,
) -> Answer {
    permit(
        &who.0,
        Action::ManageLexicon,
        &Facts::of_school(who.0.school),
    )?;
    let word = OwnWord::from(input.0);
    let built_in = state.critics.built_in();
    let known = built_in.lexicon.meanings_of(word.table, &word.phrase);
    if known.contains(&word.meaning) {
        return Err(already("phrase", &word.meaning));
    }
    let row = lexicon_words::LexiconWord {
        id: Uuid::now_v7().into(),
        held_in: word.table,
        phrase: word.phrase.clone(),
        meaning: word.meaning.clone(),
        added_by: who.0.person,
        added_by_name: None,
        added_at: state.clock.now(),
    };
    state
        .db
        .scoped(&who.0, async |conn| {
            lexicon_words::lock(conn, who.0.school).await?;
            let words = lexicon_words::list(conn).await?;
            if words.len() >= MOST {
                return Err(full());
            }
            state
                .critics
                .adding(&words, word)
                .map_err(|e| fault(&e, ""))?;
            lexicon_words::add(conn, who.0.school, &row)
                .await
                .map_err(refusal)
        })
        .await?;
    Ok(HttpResponse::Created().json(LexiconWord::new(row, built_in, who.0.person)))
}

fn full() -> Problem {
    Problem::new(ProblemCode::Conflict).detail(format!(
        "A school may have {MOST} words of its own, and has them. Remove one that is no longer said."
    ))
}
