//! What can go wrong between the program and Postgres.

use diesel::result::{DatabaseErrorKind, Error as DieselError};

/// Result of every function in this crate.
pub type StoreResult<T> = Result<T, StoreError>;

/// A failed query, told apart as far as a caller can act on it.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// No connection could be had.
    #[error("the database does not answer")]
    Unreachable(#[source] Box<dyn std::error::Error + Send + Sync>),
    /// A constraint of the database said no; the name is the migration's.
    #[error("the database refused: {constraint}")]
    Refused {
        /// Name of the violated constraint or index.
        constraint: String,
        /// What diesel reported.
        #[source]
        source: DieselError,
    },
    /// A row holds something this version does not understand.
    #[error("a stored value makes no sense: {0}")]
    Nonsense(String),
    /// A text that was given holds U+0000, which Postgres takes in no value.
    #[error("a text holds the character U+0000")]
    Nul(#[source] DieselError),
    /// Anything else.
    #[error("a query failed")]
    Query(#[source] DieselError),
}

impl StoreError {
    /// Whether the named constraint or index refused the write.
    pub fn is_refused_by(&self, name: &str) -> bool {
        matches!(self, StoreError::Refused { constraint, .. } if constraint == name)
    }
}

impl From<DieselError> for StoreError {
    fn from(source: DieselError) -> Self {
        let constraint = match &source {
            DieselError::DatabaseError(
                DatabaseErrorKind::UniqueViolation
                | DatabaseErrorKind::ForeignKeyViolation
                | DatabaseErrorKind::CheckViolation,
                info,
            ) => info.constraint_name().map(str::to_owned),
            _ => None,
        };
        match constraint {
            Some(constraint) => StoreError::Refused { constraint, source },
            None if is_about_nul(&source) => StoreError::Nul(source),
            None => StoreError::Query(source),
        }
    }
}

/// The server names the byte whatever language it speaks; diesel does not pass its code (22021) on.
fn is_about_nul(error: &DieselError) -> bool {
    matches!(error, DieselError::DatabaseError(DatabaseErrorKind::Unknown, info) if info.message().ends_with(": 0x00"))
}
