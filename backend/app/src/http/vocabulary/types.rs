//! Shapes of the vocabulary.

use domain::parts::{PARTS, PartNode};
use domain::{Principle, Stage};

/// The words of the trade.
#[derive(Debug, Clone, serde::Serialize, utoipa::ToSchema)]
pub struct Vocabulary {
    /// What a note may be about.
    pub principles: Vec<PrincipleWords>,
    /// Body parts, parents before their children.
    pub parts: Vec<Part>,
    /// How far a shot may be.
    pub stages: Vec<Stage>,
}

/// A principle and what it is for.
#[derive(Debug, Clone, serde::Serialize, utoipa::ToSchema)]
pub struct PrincipleWords {
    /// Its name.
    pub name: Principle,
    /// What it is for, in one line.
    pub means: &'static str,
}

/// A body part.
#[derive(Debug, Clone, serde::Serialize, utoipa::ToSchema)]
pub struct Part {
    /// Its name.
    pub name: &'static str,
    /// The part it belongs to.
    #[schema(required)]
    pub parent: Option<&'static str>,
    /// Whether it comes in left and right.
    pub sided: bool,
}

impl Vocabulary {
    /// All of them.
    #[must_use]
    pub fn whole() -> Vocabulary {
        let words = |name: &Principle| PrincipleWords {
            name: *name,
            means: name.means(),
        };
        let part = |node: &PartNode| Part {
            name: node.name,
            parent: node.parent,
            sided: node.sided,
        };
        Vocabulary {
            principles: Principle::ALL.iter().map(words).collect(),
            parts: PARTS.iter().map(part).collect(),
            stages: Stage::ALL.to_vec(),
        }
    }
}
