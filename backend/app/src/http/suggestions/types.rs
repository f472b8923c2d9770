//! Shapes of suggestions.

use chrono::{DateTime, Utc};
use critique::contract::Relation;
use domain::ask::Ask;
use domain::parts::PartRef;
use domain::picture::Span;
use domain::{ConcernId, Kind, NoteId, Principle, Urgency};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use validator::Validate;

/// A note as far as it is typed, with what its author has set.
#[derive(Debug, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TypedNote {
    /// The words so far.
    #[validate(length(max = 8000))]
    pub words: String,
    /// Which frames.
    pub span: Span,
    /// What it wants, if its author has said so.
    pub kind: Option<Kind>,
    /// How much it weighs, if its author has said so.
    pub urgency: Option<Urgency>,
    /// What its author has said it is about.
    #[validate(length(max = 12))]
    pub principles: Vec<Principle>,
    /// Which parts its author has named.
    #[validate(length(max = 12))]
    pub parts: Vec<PartRef>,
}

/// What a typed note seems to say. Suggestions: a person decides.
#[derive(Debug, Serialize, ToSchema)]
pub struct Suggestions {
    /// Version of the words they were read by.
    pub lexicon: String,
    /// Version of what was learned.
    pub weights: String,
    /// Principles it names, likeliest first.
    pub principles: Vec<SuggestedPrinciple>,
    /// Parts it names, weightiest first.
    pub parts: Vec<SuggestedPart>,
    /// What it wants, unless its author has said so.
    #[schema(required)]
    pub kind: Option<SuggestedKind>,
    /// How much it weighs, where its words say so and its author has not.
    #[schema(required)]
    pub urgency: Option<Urgency>,
    /// A measurable request.
    #[schema(required)]
    pub ask: Option<Ask>,
    /// Earlier concerns of the shot it seems to be about, likeliest first.
    pub earlier: Vec<SuggestedConcern>,
}

/// A principle a note seems to name.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct SuggestedPrinciple {
    /// Which.
    pub principle: Principle,
    /// How sure, 0.5..1.
    pub score: f64,
}

/// A part a note seems to name.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct SuggestedPart {
    /// Which.
    pub part: PartRef,
    /// Its weight among the parts named, 0.5..1.
    pub score: f64,
}

/// What a note seems to want.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct SuggestedKind {
    /// What.
    pub kind: Kind,
    /// How sure, 0.5..1.
    pub score: f64,
}

/// What a note seems to be to an earlier concern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SuggestedRelation {
    /// It is still there.
    Still,
    /// It came back.
    Back,
    /// Praise says that it is cleared.
    Cleared,
    /// It asks for the opposite.
    Reversal,
}

impl SuggestedRelation {
    /// None for what is no relation to one concern.
    pub(super) fn of(relation: Relation) -> Option<SuggestedRelation> {
        match relation {
            Relation::Still => Some(SuggestedRelation::Still),
            Relation::Back => Some(SuggestedRelation::Back),
            Relation::Cleared => Some(SuggestedRelation::Cleared),
            Relation::Reversal => Some(SuggestedRelation::Reversal),
            Relation::Late | Relation::Habit => None,
        }
    }
}

/// An earlier concern, by the note of it that is likest.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct SuggestedConcern {
    /// The concern.
    pub concern_id: ConcernId,
    /// The note.
    pub note_id: NoteId,
    /// Its revision's number.
    pub revision: i32,
    /// Its frames there.
    pub span: Span,
    /// The same on today's frames.
    pub mapped: Span,
    /// Whether that is unsure.
    pub unsure: bool,
    /// Its words.
    pub words: String,
    /// What it asked.
    #[schema(required)]
    pub ask: Option<Ask>,
    /// What the typed note seems to be to it.
    pub relation: SuggestedRelation,
    /// How sure, 0..1.
    pub score: f64,
    /// Why, in words.
    pub reasons: Vec<String>,
    /// Of a reversal: what each of the two asks for.
    #[schema(required)]
    pub opposed: Option<OpposedAsks>,
}

/// Two asks that pull opposite ways.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct OpposedAsks {
    /// What was asked for then, as in "bigger".
    pub earlier: String,
    /// What is asked for now, as in "smaller".
    pub now: String,
}

/// Suggestions that stood before a mentor when they took some of them or left the note.
#[derive(Debug, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShownSuggestions {
    /// Version of the words they were read by.
    #[validate(length(min = 1, max = 40))]
    pub lexicon: String,
    /// Version of what was learned.
    #[validate(length(min = 1, max = 40))]
    pub weights: String,
    /// Each once.
    #[validate(length(min = 1, max = 100), nested)]
    pub shown: Vec<ShownSuggestion>,
}

/// One of them.
#[derive(Debug, Serialize, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShownSuggestion {
    /// What was proposed, and what the note said there before.
    pub what: ShownWhat,
    /// How sure, 0..1, where a number said so.
    #[validate(range(min = 0.0, max = 1.0))]
    pub score: Option<f64>,
}

/// What was proposed, and what the note said there before.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "field", rename_all = "kebab-case", deny_unknown_fields)]
pub enum ShownWhat {
    /// A principle.
    Principle {
        /// It.
        value: Principle,
        /// Those the note had.
        before: Vec<Principle>,
    },
    /// A part.
    Part {
        /// It.
        value: PartRef,
        /// Those the note had.
        before: Vec<PartRef>,
    },
    /// What it wants.
    Kind {
        /// It.
        value: Kind,
        /// What stood there.
        before: Kind,
    },
    /// How much it weighs.
    Urgency {
        /// It.
        value: Urgency,
        /// What stood there.
        before: Urgency,
    },
    /// A measurable request.
    Ask {
        /// It.
        value: Ask,
        /// What stood there.
        before: Option<Ask>,
    },
    /// An earlier concern to tie the note to.
    Concern {
        /// It.
        value: ConcernId,
        /// The one the note was tied to.
        before: Option<ConcernId>,
    },
    /// An earlier concern whose ask the note reverses.
    Reversal {
        /// It.
        value: ConcernId,
    },
}

/// How often suggestions were taken, in critiques that are out.
#[derive(Debug, Serialize, ToSchema)]
pub struct TakenSuggestions {
    /// When the first of them was shown.
    #[schema(required)]
    pub since: Option<DateTime<Utc>>,
    /// Field by field; those of which nothing was suggested too.
    pub fields: Vec<TakenField>,
}

/// What of a note was suggested.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SuggestionField {
    /// A principle.
    Principle,
    /// A part.
    Part,
    /// What it wants.
    Kind,
    /// How much it weighs.
    Urgency,
    /// A measurable request.
    Ask,
    /// An earlier concern to tie the note to.
    Concern,
    /// An earlier concern whose ask the note reverses.
    Reversal,
}

impl SuggestionField {
    /// All, in the order in which they are shown.
    pub const ALL: [SuggestionField; 7] = [
        SuggestionField::Principle,
        SuggestionField::Part,
        SuggestionField::Kind,
        SuggestionField::Urgency,
        SuggestionField::Ask,
        SuggestionField::Concern,
        SuggestionField::Reversal,
    ];

    /// As it is kept.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            SuggestionField::Principle => "principle",
            SuggestionField::Part => "part",
            SuggestionField::Kind => "kind",
            SuggestionField::Urgency => "urgency",
            SuggestionField::Ask => "ask",
            SuggestionField::Concern => "concern",
            SuggestionField::Reversal => "reversal",
        }
    }
}

/// How often suggestions of one field were taken.
#[derive(Debug, Serialize, ToSchema)]
pub struct TakenField {
    /// Which.
    pub field: SuggestionField,
    /// How many were shown.
    pub offered: i64,
    /// The note says it.
    pub taken: i64,
    /// It says something else instead.
    pub changed: i64,
    /// It says nothing of it.
    pub refused: i64,
    /// The share taken, and where it truly lies nine times of ten; none where nothing was shown.
    #[schema(required)]
    pub share: Option<TakenShare>,
    /// Too few to rely on.
    pub few: bool,
}

/// A share with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct TakenShare {
    /// Posterior mean, 0..1.
    pub mean: f64,
    /// Its 5th hundredth.
    pub low: f64,
    /// Its 95th hundredth.
    pub high: f64,
}

impl ShownWhat {
    /// The field it is about.
    #[must_use]
    pub fn field(&self) -> SuggestionField {
        match self {
            ShownWhat::Principle { .. } => SuggestionField::Principle,
            ShownWhat::Part { .. } => SuggestionField::Part,
            ShownWhat::Kind { .. } => SuggestionField::Kind,
            ShownWhat::Urgency { .. } => SuggestionField::Urgency,
            ShownWhat::Ask { .. } => SuggestionField::Ask,
            ShownWhat::Concern { .. } => SuggestionField::Concern,
            ShownWhat::Reversal { .. } => SuggestionField::Reversal,
        }
    }
}
