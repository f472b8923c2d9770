//! Shapes of a school's own words.

use chrono::{DateTime, Utc};
use critique::lexicon::OwnMeaning;
use critique::{Critic, OwnWord, Tags};
use domain::ask::Ask;
use domain::parts::PartRef;
use domain::{Kind, LexiconWordId, PersonId, Principle, Urgency, WordTable};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use validator::Validate;

/// What a school may add words to.
#[derive(Debug, Serialize, ToSchema)]
pub struct LexiconTables {
    /// The tables, in the order of the documentation.
    pub tables: Vec<LexiconTable>,
    /// How many words a school may have.
    pub most: usize,
}

/// A table.
#[derive(Debug, Serialize, ToSchema)]
pub struct LexiconTable {
    /// Its name.
    pub table: WordTable,
    /// What a word can mean in it.
    pub meanings: Vec<LexiconMeaning>,
}

/// Something a word can mean.
#[derive(Debug, Serialize, ToSchema)]
pub struct LexiconMeaning {
    /// Its name.
    pub name: String,
    /// Some words that mean it already.
    pub examples: Vec<String>,
}

impl From<OwnMeaning> for LexiconMeaning {
    fn from(meaning: OwnMeaning) -> Self {
        Self {
            name: meaning.name,
            examples: meaning.examples,
        }
    }
}

/// A word of the school.
#[derive(Debug, Serialize, ToSchema)]
pub struct LexiconWord {
    /// Its id.
    pub id: LexiconWordId,
    /// The table it stands in.
    pub table: WordTable,
    /// As it is said.
    pub phrase: String,
    /// What it means there.
    pub meaning: String,
    /// What it means elsewhere, if the school has given it another meaning.
    #[schema(required)]
    pub instead_of: Option<String>,
    /// Whether the asker added it.
    pub mine: bool,
    /// Who added it; none: a colleague whom the asker does not see.
    #[schema(required)]
    pub added_by: Option<String>,
    /// When.
    pub added_at: DateTime<Utc>,
}

impl LexiconWord {
    /// From its row, beside the built-in lexicon.
    #[must_use]
    pub fn new(row: store::lexicon_words::LexiconWord, built_in: &Critic, me: PersonId) -> Self {
        let many = matches!(row.held_in, WordTable::Directions | WordTable::Cues);
        let before = built_in.lexicon.meanings_of(row.held_in, &row.phrase);
        Self {
            id: row.id,
            table: row.held_in,
            instead_of: before
                .into_iter()
                .find(|meaning| !many && *meaning != row.meaning),
            phrase: row.phrase,
            meaning: row.meaning,
            mine: row.added_by == me,
            added_by: row.added_by_name,
            added_at: row.added_at,
        }
    }
}

/// A word to be.
#[derive(Debug, Clone, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewLexiconWord {
    /// The table it shall stand in.
    pub table: WordTable,
    /// As it is said: 1 to 80 characters; `foo*`, `~` and `<n>` are understood.
    #[validate(length(min = 1, max = 80, message = "must be 1 to 80 characters long"))]
    pub phrase: String,
    /// One of the table's meanings.
    #[validate(length(min = 1, max = 40, message = "must be 1 to 40 characters long"))]
    pub meaning: String,
}

impl From<NewLexiconWord> for OwnWord {
    fn from(new: NewLexiconWord) -> Self {
        Self {
            table: new.table,
            phrase: new.phrase.split_whitespace().collect::<Vec<_>>().join(" "),
            meaning: new.meaning,
        }
    }
}

/// A sentence to try.
#[derive(Debug, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LexiconTrial {
    /// 1 to 2000 characters.
    #[validate(length(min = 1, max = 2000, message = "must be 1 to 2000 characters long"))]
    pub text: String,
    /// A word that is not added yet.
    #[validate(nested)]
    pub word: Option<NewLexiconWord>,
}

/// What a sentence says.
#[derive(Debug, Serialize, ToSchema)]
pub struct LexiconTried {
    /// Without the school's own words; if a word is tried: without that one.
    pub before: LexiconTags,
    /// With them.
    pub after: LexiconTags,
}

/// What a sentence is taken to say.
#[derive(Debug, PartialEq, Serialize, ToSchema)]
pub struct LexiconTags {
    /// What it wants.
    pub kind: Kind,
    /// How much it weighs; none for praise and questions.
    #[schema(required)]
    pub urgency: Option<Urgency>,
    /// Principles, likeliest first.
    pub principles: Vec<Principle>,
    /// Parts, weightiest first.
    pub parts: Vec<PartRef>,
    /// Faults, weightiest first.
    pub traits: Vec<String>,
    /// Measurable requests.
    pub asks: Vec<Ask>,
}

impl LexiconTags {
    /// The tags of a text.
    #[must_use]
    pub fn of(critic: &Critic, text: &str) -> Self {
        let Tags {
            kind,
            urgency,
            principles,
            parts,
            mut traits,
            asks,
            ..
        } = critic.tag(text);
        traits.sort_by(|a, b| b.1.total_cmp(&a.1));
        let name = |(id, _): (usize, f64)| Some(critic.lexicon.traits.get(id)?.name.clone());
        Self {
            kind,
            urgency,
            principles: principles.into_iter().map(|(name, _)| name).collect(),
            parts: parts
                .into_iter()
                .map(|said| PartRef {
                    part: said.finest.into(),
                    side: said.side,
                })
                .collect(),
            traits: traits.into_iter().filter_map(name).collect(),
            asks,
        }
    }
}
