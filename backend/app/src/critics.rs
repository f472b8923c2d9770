//! What notes say, in the words of each school: the built-in lexicon with the school's own words over it, merged once and kept
//! until the words change.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use critique::{Additions, Critic, CriticError, LexiconError, OwnWord};
use domain::SchoolId;
use store::lexicon_words::{self, LexiconVersion, LexiconWord};
use store::{Conn, StoreResult};

/// So many schools' lexicons are kept at the same time.
const KEPT: usize = 64;

/// The critics of all schools.
pub struct Critics {
    built_in: Arc<Critic>,
    schools: Mutex<HashMap<SchoolId, (LexiconVersion, Arc<Critic>)>>,
}

impl Critics {
    /// With the built-in lexicon alone.
    ///
    /// # Errors
    /// If the lexicon or the weights that come with the program are at fault; a test holds that they are not.
    pub fn new() -> Result<Self, CriticError> {
        Ok(Self {
            built_in: Arc::new(Critic::built_in()?),
            schools: Mutex::default(),
        })
    }

    /// Without any school's own words.
    #[must_use]
    pub fn built_in(&self) -> &Arc<Critic> {
        &self.built_in
    }

    /// In the words of the school of `conn`'s scope, which is a mentor's or the office's. One cheap query tells whether the words
    /// are still those that were merged, whichever process changed them.
    ///
    /// # Errors
    /// If the database does not answer.
    pub async fn of_school(&self, conn: &mut Conn, school: SchoolId) -> StoreResult<Arc<Critic>> {
        let version = lexicon_words::version(conn).await?;
        if version.words == 0 {
            return Ok(self.built_in.clone());
        }
        if let Some(kept) = self.kept(school, version) {
            return Ok(kept);
        }
        let words = lexicon_words::list(conn).await?;
        let merged = self.merged(&words);
        let mut schools = self.schools.lock().unwrap_or_else(PoisonError::into_inner);
        if schools.len() >= KEPT && !schools.contains_key(&school) {
            schools.clear();
        }
        schools.insert(school, (version, merged.clone()));
        Ok(merged)
    }

    fn kept(&self, school: SchoolId, version: LexiconVersion) -> Option<Arc<Critic>> {
        let schools = self.schools.lock().unwrap_or_else(PoisonError::into_inner);
        let (of, critic) = schools.get(&school)?;
        (*of == version).then(|| critic.clone())
    }

    /// The words were checked when they were added. A later lexicon may have dropped a name they use: what no longer fits is left out.
    fn merged(&self, words: &[LexiconWord]) -> Arc<Critic> {
        let all: Vec<OwnWord> = words.iter().map(own_word).collect();
        if let Ok(critic) = self.with(&all) {
            return Arc::new(critic);
        }
        let fitting: Vec<OwnWord> = all.into_iter().filter(|word| self.fits(word)).collect();
        self.with(&fitting).map_or_else(
            |fault| {
                tracing::error!(%fault, "a school's words are left out");
                self.built_in.clone()
            },
            Arc::new,
        )
    }

    fn fits(&self, word: &OwnWord) -> bool {
        let fault = self.with(std::slice::from_ref(word)).err();
        if let Some(fault) = &fault {
            tracing::warn!(%fault, "a school's word is left out");
        }
        fault.is_none()
    }

    /// The school's words and one more.
    ///
    /// # Errors
    /// What is wrong with the one.
    pub fn adding(&self, words: &[LexiconWord], new: OwnWord) -> Result<Critic, LexiconError> {
        self.with(std::slice::from_ref(&new))?;
        let mut all: Vec<OwnWord> = words.iter().map(own_word).collect();
        if self.with(&all).is_err() {
            all.retain(|word| self.fits(word));
        }
        all.push(new);
        self.with(&all)
    }

    fn with(&self, words: &[OwnWord]) -> Result<Critic, LexiconError> {
        let mut additions = Additions::default();
        words.iter().try_for_each(|word| additions.add(word))?;
        self.built_in.with(&additions)
    }
}

/// The word as the lexicon takes it.
fn own_word(word: &LexiconWord) -> OwnWord {
    OwnWord {
        table: word.held_in,
        phrase: word.phrase.clone(),
        meaning: word.meaning.clone(),
    }
}
