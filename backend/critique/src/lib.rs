//! What notes say and which of them recur: words and numbers in, suggestions with scores and reasons out.
//!
//! Nothing here knows a clock, a disk, chance or threads. Every answer is a suggestion; a person confirms it.

pub mod beta;
pub mod contract;
pub mod habits;
pub mod lexicon;
pub mod listen;
pub mod matching;
pub mod note;
pub mod plan;
pub mod propose;
pub mod scan;
pub mod survival;
pub mod tag;
pub mod weights;
pub mod words;
pub mod yardstick;

#[cfg(test)]
mod tests;

pub use habits::{Habit, habits};
pub use lexicon::{Additions, Lexicon, LexiconError, OwnWord};
pub use listen::listen;
pub use matching::match_shot;
pub use plan::plan;
pub use propose::{Earlier, Proposal};
pub use tag::Tags;
pub use weights::{Weights, WeightsError};

use scan::Scan;

/// A lexicon with weights: all that the computations need.
pub struct Critic {
    /// What mentors' words mean.
    pub lexicon: Lexicon,
    /// What was learned.
    pub weights: Weights,
}

/// Why there is no [`Critic`].
#[derive(Debug, thiserror::Error)]
pub enum CriticError {
    /// The lexicon is at fault.
    #[error(transparent)]
    Lexicon(#[from] LexiconError),
    /// The weights are at fault.
    #[error(transparent)]
    Weights(#[from] WeightsError),
}

impl Critic {
    /// With the lexicon and the weights that come with the program.
    ///
    /// # Errors
    /// What is wrong with them; a test holds that nothing is.
    pub fn built_in() -> Result<Critic, CriticError> {
        Ok(Critic {
            lexicon: Lexicon::built_in()?,
            weights: Weights::built_in()?,
        })
    }

    /// This one with a school's own words over its lexicon.
    ///
    /// # Errors
    /// What is wrong with the additions, and where.
    pub fn with(&self, additions: &Additions) -> Result<Critic, LexiconError> {
        Ok(Critic {
            lexicon: self.lexicon.with(additions)?,
            weights: self.weights.clone(),
        })
    }

    /// The tags that a note's words have.
    pub fn tag(&self, text: &str) -> Tags {
        tag::tags(
            &self.lexicon,
            &self.weights,
            &Scan::new(&self.lexicon, text),
        )
    }
}
