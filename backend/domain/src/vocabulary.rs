//! The words of the trade, as closed sets with one spelling for code, tables and JSON.

/// A word that is in none of the sets.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("\"{given}\" is not one of: {known}")]
pub struct UnknownWord {
    /// What was given.
    pub given: String,
    /// The words that would have been understood.
    pub known: String,
}

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:tt),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        #[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
        #[cfg_attr(feature = "sql", derive(diesel::expression::AsExpression, diesel::deserialize::FromSqlRow), diesel(sql_type = diesel::sql_types::Text))]
        pub enum $name { $(#[doc = concat!("`", $word, "`")] $(#[$vdoc])* #[serde(rename = $word)] $variant),+ }

        impl $name {
            /// Every word of the set, in its order.
            pub const ALL: &'static [$name] = &[$($name::$variant),+];

            /// The word as it is written in tables and JSON.
            pub fn as_str(self) -> &'static str {
                match self { $($name::$variant => $word),+ }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result { f.write_str(self.as_str()) }
        }

        impl std::str::FromStr for $name {
            type Err = UnknownWord;
            fn from_str(given: &str) -> Result<Self, UnknownWord> {
                match given {
                    $($word => Ok($name::$variant),)+
                    _ => Err(UnknownWord { given: given.chars().take(60).collect(), known: [$($word),+].join(", ") }),
                }
            }
        }

        #[cfg(feature = "sql")]
        impl diesel::serialize::ToSql<diesel::sql_types::Text, diesel::pg::Pg> for $name {
            fn to_sql<'b>(&'b self, out: &mut diesel::serialize::Output<'b, '_, diesel::pg::Pg>) -> diesel::serialize::Result {
                diesel::serialize::ToSql::<diesel::sql_types::Text, diesel::pg::Pg>::to_sql(self.as_str(), &mut out.reborrow())
            }
        }

        #[cfg(feature = "sql")]
        impl diesel::deserialize::FromSql<diesel::sql_types::Text, diesel::pg::Pg> for $name {
            fn from_sql(bytes: diesel::pg::PgValue<'_>) -> diesel::deserialize::Result<Self> {
                let word = <String as diesel::deserialize::FromSql<diesel::sql_types::Text, diesel::pg::Pg>>::from_sql(bytes)?;
                Ok(word.parse()?)
            }
        }
    };
}

words! {
    /// What a person is in a school.
    Role { Mentor = "mentor", Student = "student", Office = "office" }
}
words! {
    /// What a note wants.
    Kind {
        /// Hurts the motion: change it.
        Fix = "fix",
        /// A suggestion.
        Consider = "consider",
        /// Praise: do not break this.
        Keep = "keep",
        /// The mentor asks.
        Question = "question",
    }
}
words! {
    /// How much a note weighs.
    Urgency { Must = "must", Should = "should", IfTime = "if-time" }
}
words! {
    /// What a note is about; a note may name several.
    Principle {
        Spacing = "spacing", Timing = "timing", Arcs = "arcs", Overlap = "overlap", Contact = "contact", Weight = "weight",
        Posing = "posing", Anticipation = "anticipation", Staging = "staging", Acting = "acting", Facial = "facial", Polish = "polish",
    }
}
words! {
    /// Which side of the character, from the character's own point of view.
    Side { Left = "left", Right = "right", Both = "both" }
}
words! {
    /// What the mentor says of a carried concern.
    Verdict { Still = "still", Eased = "eased", Cleared = "cleared", SetAside = "set-aside" }
}
words! {
    /// Where a concern stands at a revision.
    Standing { Noted = "noted", Unmentioned = "unmentioned", Eased = "eased", Cleared = "cleared", Back = "back", SetAside = "set-aside" }
}
words! {
    /// How far a shot has come.
    Stage { Layout = "layout", Blocking = "blocking", BlockingPlus = "blocking-plus", Spline = "spline", Polish = "polish" }
}
words! {
    /// A student's answer to a note.
    AnswerKind { WillDo = "will-do", Done = "done", Leaving = "leaving" }
}
words! {
    /// A line of the quota ledger.
    QuotaKind { Grant = "grant", Spend = "spend", Return = "return", Expire = "expire", Adjust = "adjust" }
}
words! {
    /// Where the preparation of footage stands.
    FootageState { Preparing = "preparing", Ready = "ready", Failed = "failed", Cancelled = "cancelled" }
}
words! {
    /// Where an upload stands.
    UploadState { Receiving = "receiving", Probing = "probing", Accepted = "accepted", Refused = "refused" }
}
words! {
    /// What a single-use link is for.
    LinkPurpose { Invitation = "invitation", Reset = "reset" }
}
words! {
    /// A table of the lexicon that a school may add its own words to.
    WordTable {
        /// Faults.
        Traits = "traits",
        /// Words that name a principle outright.
        PrincipleWords = "principle_words",
        /// Words that pull one way.
        Directions = "directions",
        /// What a shot should have.
        Qualities = "qualities",
        /// Turns of phrase.
        Cues = "cues",
        /// Names of parts.
        Parts = "parts",
    }
}
words! {
    /// Where a mail of the outbox stands.
    MailState { Queued = "queued", Sent = "sent", Dead = "dead" }
}

impl Principle {
    /// What the principle is for, in one line (common practice, no source).
    pub fn means(self) -> &'static str {
        match self {
            Principle::Spacing => "gaps between successive positions, jumps, hitches",
            Principle::Timing => "how many frames an action takes, holds, rhythm",
            Principle::Arcs => "the shape of the path",
            Principle::Overlap => "parts starting or ending together, drag, follow-through",
            Principle::Contact => "feet and hands on things: slides, plants, roll, sinking in",
            Principle::Weight => "effort, balance, hips, gravity",
            Principle::Posing => "line of action, silhouette, hands, limb bend",
            Principle::Anticipation => "the move before the move, and the reaction after",
            Principle::Staging => "camera, framing, light, what is read first",
            Principle::Acting => "thought, intention, emotion, change of mind",
            Principle::Facial => "eyes, brows, mouth, head accents with them",
            Principle::Polish => {
                "what is left when the motion is right: flicker, intersections, cloth and fingers"
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_reads_back() {
        for principle in Principle::ALL {
            assert_eq!(principle.as_str().parse(), Ok(*principle));
            assert_eq!(serde_json::to_value(principle).unwrap(), principle.as_str());
        }
        for stage in Stage::ALL {
            assert_eq!(stage.as_str().parse(), Ok(*stage));
        }
    }

    #[test]
    fn an_unknown_word_says_what_is_known() {
        let error = "wobble".parse::<Verdict>().unwrap_err();
        assert_eq!(
            error.to_string(),
            "\"wobble\" is not one of: still, eased, cleared, set-aside"
        );
    }
}
