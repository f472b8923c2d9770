//! Reading variables, with errors that name the variable, what was given and what is allowed.

use std::collections::BTreeMap;
use std::fmt::Display;
use std::ops::RangeInclusive;
use std::path::PathBuf;
use std::str::FromStr;
use std::time::Duration;

use super::{Secret, VARIABLES, Variable};

/// A variable's value is not allowed, or one that is needed is missing.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ConfigError {
    /// Not allowed.
    #[error("{name}: {given} is not allowed; give {allowed}")]
    Wrong {
        /// The variable.
        name: &'static str,
        /// What was given, in quotes; for a secret only that it was.
        given: String,
        /// What is allowed.
        allowed: String,
    },
    /// Missing, though another variable needs it.
    #[error("{name} is not set; give {allowed}")]
    Missing {
        /// The variable.
        name: &'static str,
        /// What is allowed.
        allowed: String,
    },
}

impl ConfigError {
    pub(super) fn wrong(variable: &Variable, given: &str) -> Self {
        Self::Wrong {
            name: variable.name,
            given: if variable.secret {
                "the value given".into()
            } else {
                format!("`{given}`")
            },
            allowed: variable.allowed.into(),
        }
    }
}

/// The variables that were set; an empty value counts as not set.
#[derive(Debug, Clone, Default)]
pub struct Environment(BTreeMap<String, String>);

impl Environment {
    /// The process's own.
    #[must_use]
    pub fn of_process() -> Self {
        Self::from_pairs(std::env::vars_os().map(|(name, value)| {
            (
                name.to_string_lossy().into_owned(),
                value.to_string_lossy().into_owned(),
            )
        }))
    }

    /// One made of names and values.
    pub fn from_pairs<N: Into<String>, V: Into<String>>(
        pairs: impl IntoIterator<Item = (N, V)>,
    ) -> Self {
        Self(
            pairs
                .into_iter()
                .map(|(name, value)| (name.into(), value.into()))
                .filter(|(_, value)| !value.is_empty())
                .collect(),
        )
    }

    /// Names that look like ours and are none: most likely misspelt.
    #[must_use]
    pub fn unknown(&self) -> Vec<&str> {
        self.0
            .keys()
            .map(String::as_str)
            .filter(|n| n.starts_with("REFRAIN_") && !n.starts_with("REFRAIN_TEST_"))
            .filter(|n| VARIABLES.iter().all(|v| v.name != *n))
            .collect()
    }

    pub(super) fn optional(&self, variable: &Variable) -> Option<String> {
        self.0.get(variable.name).cloned()
    }

    fn text(&self, variable: &Variable) -> String {
        self.optional(variable)
            .unwrap_or_else(|| variable.default.to_owned())
    }

    pub(super) fn get<T: FromStr>(&self, variable: &Variable) -> Result<T, ConfigError> {
        let text = self.text(variable);
        text.parse()
            .map_err(|_| ConfigError::wrong(variable, &text))
    }

    pub(super) fn within<T: FromStr + PartialOrd + Display>(
        &self,
        variable: &Variable,
        range: RangeInclusive<T>,
    ) -> Result<T, ConfigError> {
        let text = self.text(variable);
        match text.parse() {
            Ok(value) if range.contains(&value) => Ok(value),
            _ => Err(ConfigError::Wrong {
                name: variable.name,
                given: format!("`{text}`"),
                allowed: format!(
                    "{} from {} to {}",
                    variable.allowed,
                    range.start(),
                    range.end()
                ),
            }),
        }
    }

    pub(super) fn seconds(
        &self,
        variable: &Variable,
        range: RangeInclusive<u64>,
    ) -> Result<Duration, ConfigError> {
        self.within(variable, range).map(Duration::from_secs)
    }

    pub(super) fn checked(
        &self,
        variable: &Variable,
        is_allowed: impl Fn(&str) -> bool,
    ) -> Result<String, ConfigError> {
        let text = self.text(variable);
        if is_allowed(&text) {
            Ok(text)
        } else {
            Err(ConfigError::wrong(variable, &text))
        }
    }

    pub(super) fn one_of<T: Copy>(
        &self,
        variable: &Variable,
        choices: &[(&str, T)],
    ) -> Result<T, ConfigError> {
        let text = self.text(variable);
        choices
            .iter()
            .find(|(word, _)| *word == text)
            .map(|(_, value)| *value)
            .ok_or_else(|| ConfigError::wrong(variable, &text))
    }

    pub(super) fn flag(&self, variable: &Variable) -> Result<bool, ConfigError> {
        self.one_of(variable, &[("yes", true), ("no", false)])
    }

    pub(super) fn optional_path(
        &self,
        variable: &Variable,
    ) -> Result<Option<PathBuf>, ConfigError> {
        match self.optional(variable) {
            Some(text) if text.contains("://") => Err(ConfigError::wrong(variable, &text)),
            other => Ok(other.map(PathBuf::from)),
        }
    }

    pub(super) fn optional_url(
        &self,
        variable: &Variable,
        schemes: &[&str],
    ) -> Result<Option<Secret>, ConfigError> {
        let Some(text) = self.optional(variable) else {
            return Ok(None);
        };
        if schemes
            .iter()
            .any(|s| text.len() > s.len() && text.starts_with(s))
        {
            Ok(Some(Secret::new(text)))
        } else {
            Err(ConfigError::wrong(variable, &text))
        }
    }

    /// An address that begins with a scheme of the web, without the slash at its end.
    pub(super) fn optional_http_url(
        &self,
        variable: &Variable,
    ) -> Result<Option<String>, ConfigError> {
        let url = self.optional_url(variable, &["http://", "https://"])?;
        Ok(url.map(|u| u.reveal().trim_end_matches('/').to_owned()))
    }

    pub(super) fn required_secret(&self, variable: &Variable) -> Result<Secret, ConfigError> {
        self.optional(variable)
            .map(Secret::new)
            .ok_or_else(|| ConfigError::Missing {
                name: variable.name,
                allowed: variable.allowed.into(),
            })
    }
}
