//! `refrain doctor`: says what is missing and how to get it. It reads only.

mod machine;
mod services;

use std::fmt;

use serde::Serialize;

use crate::config::{Config, Environment};

/// How a thing that was looked at stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// As it should be.
    Good,
    /// The program runs, but someone should know.
    Notice,
    /// The program does not run, or not fully.
    Missing,
}

/// One thing that was looked at.
#[derive(Debug, Clone, Serialize)]
pub struct Finding {
    /// What.
    pub name: &'static str,
    /// How it stands.
    pub state: State,
    /// What was seen.
    pub detail: String,
    /// What to do about it, unless it is good.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remedy: Option<String>,
}

impl Finding {
    fn good(name: &'static str, detail: impl Into<String>) -> Self {
        Self {
            name,
            state: State::Good,
            detail: detail.into(),
            remedy: None,
        }
    }

    fn notice(name: &'static str, detail: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            name,
            state: State::Notice,
            detail: detail.into(),
            remedy: Some(remedy.into()),
        }
    }

    fn missing(name: &'static str, detail: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            name,
            state: State::Missing,
            detail: detail.into(),
            remedy: Some(remedy.into()),
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mark = match self.state {
            State::Good => "good",
            State::Notice => "note",
            State::Missing => "MISSING",
        };
        write!(f, "{mark:8}{:16}{}", self.name, self.detail)?;
        match &self.remedy {
            Some(remedy) => write!(f, "\n{:24}-> {remedy}", ""),
            None => Ok(()),
        }
    }
}

/// Everything that was looked at.
#[derive(Debug, Clone, Serialize)]
pub struct Report {
    /// Whether nothing is missing.
    pub ok: bool,
    /// One by one.
    pub findings: Vec<Finding>,
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for finding in &self.findings {
            writeln!(f, "{finding}")?;
        }
        let missing = self.findings.iter().filter(|f| f.state == State::Missing);
        match missing.count() {
            0 => write!(f, "nothing is missing"),
            n => write!(f, "{n} missing"),
        }
    }
}

/// Looks at everything the program needs under this configuration.
pub async fn examine(config: &Config, environment: &Environment) -> Report {
    let mut findings = machine::examine(config, environment);
    findings.extend(services::examine(config).await);
    Report {
        ok: findings.iter().all(|f| f.state != State::Missing),
        findings,
    }
}
