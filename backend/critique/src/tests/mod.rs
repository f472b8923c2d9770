//! Checks of the whole: against other people's values, by properties, with bad input, on wordings no model has seen.

mod data;
mod input;
mod phrasings;
mod properties;
mod reference;

use crate::Critic;

/// The lexicon and the weights that come with the program are sound.
fn critic() -> Critic {
    Critic::built_in().expect("the built-in lexicon and weights are sound")
}
