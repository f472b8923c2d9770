//! Shapes of one's own account.

use std::collections::BTreeMap;

use domain::{PersonId, Role};
use validator::ValidationError;

use crate::http::schools::types::School;

/// The person who is asking.
#[derive(Debug, Clone, serde::Serialize, utoipa::ToSchema)]
pub struct Me {
    /// Their id.
    pub id: PersonId,
    /// Their name.
    pub name: String,
    /// Their address.
    pub email: String,
    /// What they are here.
    pub roles: Vec<Role>,
    /// Their school.
    pub school: School,
    /// How they like to work.
    pub preferences: Preferences,
}

/// How somebody likes to work. Empty means that they have not chosen.
#[derive(
    Debug,
    Clone,
    Default,
    PartialEq,
    Eq,
    serde::Serialize,
    serde::Deserialize,
    validator::Validate,
    utoipa::ToSchema,
)]
#[serde(deny_unknown_fields, default)]
pub struct Preferences {
    /// Command -> `KeyboardEvent.code`.
    #[validate(custom(function = keys_are_few))]
    pub keys: BTreeMap<String, String>,
    /// Colour of earlier frames, `#rrggbb`.
    #[validate(custom(function = is_colour))]
    pub ghost_earlier: String,
    /// Colour of later frames.
    #[validate(custom(function = is_colour))]
    pub ghost_later: String,
    /// Colour of the pencil.
    #[validate(custom(function = is_colour))]
    pub pencil: String,
}

impl Preferences {
    /// From what is kept. What this version does not understand counts as not chosen.
    #[must_use]
    pub fn read(kept: &serde_json::Value) -> Preferences {
        let words = |name: &str| kept[name].as_str().unwrap_or_default().to_owned();
        Preferences {
            keys: serde_json::from_value(kept["keys"].clone()).unwrap_or_default(),
            ghost_earlier: words("ghost_earlier"),
            ghost_later: words("ghost_later"),
            pencil: words("pencil"),
        }
    }

    /// As it is kept.
    #[must_use]
    pub fn write(&self) -> serde_json::Value {
        serde_json::json!({
            "keys": self.keys,
            "ghost_earlier": self.ghost_earlier,
            "ghost_later": self.ghost_later,
            "pencil": self.pencil,
        })
    }
}

/// What somebody changes about themselves.
#[derive(Debug, serde::Deserialize, validator::Validate, utoipa::ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MeChange {
    /// Their name.
    #[serde(default)]
    #[validate(length(min = 1, max = 120), custom(function = crate::http::persons::types::has_words))]
    pub name: Option<String>,
    /// Command -> `KeyboardEvent.code`.
    #[serde(default)]
    #[validate(custom(function = keys_are_few))]
    pub keys: Option<BTreeMap<String, String>>,
}

fn is_colour(given: &str) -> Result<(), ValidationError> {
    let is_rgb = given
        .strip_prefix('#')
        .is_some_and(|hex| hex.len() == 6 && hex.chars().all(|c| c.is_ascii_hexdigit()));
    if given.is_empty() || is_rgb {
        return Ok(());
    }
    Err(ValidationError::new("colour").with_message("is not a colour such as #7fb2e5".into()))
}

fn keys_are_few(keys: &BTreeMap<String, String>) -> Result<(), ValidationError> {
    let fits = |text: &String| (1..=40).contains(&text.len());
    if keys.len() <= 120
        && keys
            .iter()
            .all(|(command, code)| fits(command) && fits(code))
    {
        return Ok(());
    }
    Err(ValidationError::new("keys")
        .with_message("are too many, or a name among them is longer than 40".into()))
}
