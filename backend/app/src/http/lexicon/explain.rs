//! What is wrong with a word, in the terms of the form.

use critique::LexiconError;
use critique::lexicon::phrase::PhraseError;
use domain::ProblemCode;
use store::{StoreError, lexicon_words};

use crate::http::problem::Problem;

/// What the lexicon has against a word; `field` is where the word lies in the request, empty or ending with a dot.
pub(super) fn fault(fault: &LexiconError, field: &str) -> Problem {
    match fault {
        LexiconError::Phrase { source, .. } => Problem::invalid(
            &format!("{field}phrase"),
            &format!("is not understood: {source}"),
            remedy(*source),
        ),
        LexiconError::Twice { other, .. } => already(&format!("{field}phrase"), other),
        LexiconError::Unknown { name, .. } => Problem::invalid(
            &format!("{field}meaning"),
            &format!("there is nothing called \"{name}\" in this table"),
            "Choose one of the meanings the table has.",
        ),
        LexiconError::Json(_) | LexiconError::Range { .. } => Problem::internal(fault),
    }
}

/// The phrase stands in the table.
pub(super) fn already(field: &str, meaning: &str) -> Problem {
    Problem::new(ProblemCode::Duplicate)
        .detail("The phrase has a meaning in this table. Nothing was changed.")
        .field(
            field,
            format!("stands there already, for \"{meaning}\""),
            "Choose another phrase, or remove the school's word of that name first.",
        )
}

/// What the database's refusal of a word means: a colleague was faster.
pub(super) fn refusal(error: StoreError) -> Problem {
    if error.is_refused_by(lexicon_words::ONCE) || error.is_refused_by(lexicon_words::SINGLE) {
        return already("phrase", "what a colleague just gave it");
    }
    error.into()
}

fn remedy(fault: PhraseError) -> &'static str {
    match fault {
        PhraseError::Empty => "Write at least one word as mentors say it.",
        PhraseError::Letters => {
            "Write it in lower case, without apostrophes, hyphens or accents: doesnt, follow through."
        }
        PhraseError::Gap => "Put a word before and behind `~`, or leave it out.",
        PhraseError::Short => "Write three letters or more before `*`.",
        PhraseError::OneWord => "Give one word, as in paw.",
    }
}
