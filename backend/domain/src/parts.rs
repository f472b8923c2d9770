//! Body parts on one tree, with sides.

use crate::Side;

/// One node of the tree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PartNode {
    /// Its one spelling.
    pub name: &'static str,
    /// The part it belongs to; none for the three roots body, prop and camera.
    pub parent: Option<&'static str>,
    /// Whether it comes in left and right.
    pub sided: bool,
}

const fn node(name: &'static str, parent: &'static str, sided: bool) -> PartNode {
    PartNode {
        name,
        parent: Some(parent),
        sided,
    }
}

const fn root(name: &'static str) -> PartNode {
    PartNode {
        name,
        parent: None,
        sided: false,
    }
}

/// The tree, parents before their children.
pub const PARTS: &[PartNode] = &[
    root("body"),
    node("upper", "body", false),
    node("lower", "body", false),
    node("spine", "upper", false),
    node("chest", "upper", false),
    node("shoulder", "upper", true),
    node("arm", "shoulder", true),
    node("elbow", "arm", true),
    node("wrist", "arm", true),
    node("hand", "arm", true),
    node("fingers", "hand", true),
    node("neck", "upper", false),
    node("head", "neck", false),
    node("face", "head", false),
    node("eyes", "face", true),
    node("brows", "face", true),
    node("mouth", "face", false),
    node("ears", "head", true),
    node("hair", "head", false),
    node("hips", "lower", false),
    node("hip", "hips", true),
    node("leg", "hips", true),
    node("knee", "leg", true),
    node("ankle", "leg", true),
    node("foot", "leg", true),
    node("toe", "foot", true),
    node("tail", "hips", false),
    node("cloth", "body", false),
    root("prop"),
    root("camera"),
];

/// A part, and its side where it has one.
#[derive(Clone, Debug, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct PartRef {
    /// A node of the tree.
    pub part: String,
    /// Left, right or both; none when it was not said or there are no sides.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(required))]
    pub side: Option<Side>,
}

/// Why a part was not understood.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PartError {
    /// The tree has no such node.
    #[error("there is no part called \"{0}\"")]
    Unknown(String),
    /// The part is single.
    #[error("{0} has no left and right")]
    Single(String),
}

impl PartRef {
    /// Checks the part against the tree.
    pub fn check(&self) -> Result<(), PartError> {
        let known = find(&self.part)
            .ok_or_else(|| PartError::Unknown(self.part.chars().take(40).collect()))?;
        if self.side.is_some() && !known.sided {
            return Err(PartError::Single(self.part.clone()));
        }
        Ok(())
    }
}

impl std::fmt::Display for PartRef {
    /// "left wrist", "both arms" is left to the page: "both arm".
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.side {
            Some(side) => write!(f, "{side} {}", self.part),
            None => f.write_str(&self.part),
        }
    }
}

/// The node called `name`.
pub fn find(name: &str) -> Option<&'static PartNode> {
    PARTS.iter().find(|part| part.name == name)
}

/// `name` and everything it belongs to, up to its root; empty for an unknown name.
pub fn ancestors(name: &str) -> impl Iterator<Item = &'static str> {
    std::iter::successors(find(name), |part| part.parent.and_then(find)).map(|part| part.name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_parent_stands_before_its_children() {
        for (index, part) in PARTS.iter().enumerate() {
            if let Some(parent) = part.parent {
                assert!(
                    PARTS[..index].iter().any(|earlier| earlier.name == parent),
                    "{} has no parent {parent}",
                    part.name
                );
            }
        }
    }

    #[test]
    fn a_wrist_belongs_to_the_arm_and_the_body() {
        assert_eq!(
            ancestors("wrist").collect::<Vec<_>>(),
            ["wrist", "arm", "shoulder", "upper", "body"]
        );
        assert_eq!(ancestors("wing").count(), 0);
    }

    #[test]
    fn a_side_is_refused_where_there_is_none() {
        let part = |part: &str, side| PartRef {
            part: part.into(),
            side,
        };
        assert_eq!(part("wrist", Some(Side::Left)).check(), Ok(()));
        assert_eq!(
            part("spine", Some(Side::Left)).check(),
            Err(PartError::Single("spine".into()))
        );
        assert_eq!(
            part("wing", None).check(),
            Err(PartError::Unknown("wing".into()))
        );
    }
}
