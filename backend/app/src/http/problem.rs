//! The only writer of `application/problem+json` (RFC 9457).

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, ResponseError};
use domain::{Denial, ProblemCode};
use store::StoreError;

/// What a handler returns.
pub type Answer<T = HttpResponse> = Result<T, Problem>;

/// One field that needs another look.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize, utoipa::ToSchema)]
pub struct FieldError {
    /// Its name as sent, `line 3, email` in a file.
    pub field: String,
    /// What is wrong.
    pub reason: String,
    /// What to do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remedy: Option<String>,
}

/// The body of every error answer.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize, utoipa::ToSchema)]
#[schema(as = Problem)]
pub struct ProblemBody {
    /// A name for the kind of problem, as a relative reference.
    #[serde(rename = "type")]
    pub kind: String,
    /// What happened, whatever the case.
    pub title: String,
    /// The HTTP status.
    pub status: u16,
    /// What happened here, what is safe, what to do.
    pub detail: String,
    /// Which problem it is.
    pub code: ProblemCode,
    /// The fields that need another look.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub errors: Vec<FieldError>,
    /// On `stale`: the thing as it is now.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<serde_json::Value>)]
    pub current: Option<serde_json::Value>,
}

/// Why a request was not answered.
#[derive(Debug)]
pub struct Problem {
    body: Box<ProblemBody>,
    retry_after_s: Option<u64>,
}

impl Problem {
    /// The problem with its general words.
    #[must_use]
    pub fn new(code: ProblemCode) -> Self {
        let body = ProblemBody {
            kind: format!("/problems/{}", code.as_str()),
            title: code.title().into(),
            status: code.status(),
            detail: code.title().into(),
            code,
            errors: vec![],
            current: None,
        };
        Self {
            body: Box::new(body),
            retry_after_s: None,
        }
    }

    /// Nothing here, for this person.
    #[must_use]
    pub fn not_found() -> Self {
        Self::new(ProblemCode::NotFound).detail("It does not exist, or it is not yours to see.")
    }

    /// One wrong field, nothing else.
    #[must_use]
    pub fn invalid(field: &str, reason: &str, remedy: &str) -> Self {
        Self::new(ProblemCode::InvalidInput).field(field, reason, remedy)
    }

    /// Says what happened here.
    #[must_use]
    pub fn detail(mut self, detail: impl Into<String>) -> Self {
        self.body.detail = detail.into();
        self
    }

    /// Adds a field that needs another look.
    #[must_use]
    pub fn field(
        mut self,
        field: impl Into<String>,
        reason: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        let remedy = Some(remedy.into()).filter(|words| !words.is_empty());
        self.body.errors.push(FieldError {
            field: field.into(),
            reason: reason.into(),
            remedy,
        });
        self
    }

    /// Adds many.
    #[must_use]
    pub fn fields(mut self, errors: Vec<FieldError>) -> Self {
        self.body.errors.extend(errors);
        self
    }

    /// The thing as it is now.
    #[must_use]
    pub fn current(mut self, current: impl serde::Serialize) -> Self {
        self.body.current = serde_json::to_value(current).ok();
        self
    }

    /// When to try again.
    #[must_use]
    pub fn retry_after(mut self, seconds: u64) -> Self {
        self.retry_after_s = Some(seconds);
        self
    }

    /// Which problem it is.
    #[must_use]
    pub fn code(&self) -> ProblemCode {
        self.body.code
    }

    /// The body, to be kept with a thing that was refused.
    #[must_use]
    pub fn body(&self) -> &ProblemBody {
        &self.body
    }
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.body.code.as_str(), self.body.detail)
    }
}

impl ResponseError for Problem {
    fn status_code(&self) -> StatusCode {
        StatusCode::from_u16(self.body.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR)
    }

    fn error_response(&self) -> HttpResponse {
        let mut answer = HttpResponse::build(self.status_code());
        if let Some(seconds) = self.retry_after_s {
            answer.insert_header(("Retry-After", seconds.to_string()));
        }
        answer
            .insert_header(("Cache-Control", "no-store"))
            .content_type("application/problem+json")
            .body(serde_json::to_vec(&self.body).unwrap_or_default())
    }
}

/// The cause goes to the log, never to the client.
impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        match &error {
            StoreError::Unreachable(_) => {
                tracing::error!(
                    error = &error as &dyn std::error::Error,
                    "the database does not answer"
                );
                Self::new(ProblemCode::Unavailable).detail("The database does not answer. What was saved is safe; try again in a moment.").retry_after(5)
            }
            StoreError::Nul(_) => Self::new(ProblemCode::InvalidInput).detail(
                "A text holds the character U+0000, which nothing here does. Leave it out.",
            ),
            _ => Self::internal(&error),
        }
    }
}

impl Problem {
    /// A fault of ours; the cause goes to the log.
    #[must_use]
    pub fn internal(error: &dyn std::error::Error) -> Self {
        tracing::error!(%error, cause = error.source().map(tracing::field::display), "a request failed");
        Self::new(ProblemCode::Internal).detail("Nothing of this request was kept. Try again; if it stays, tell the school office when it happened.")
    }
}

impl From<Denial> for Problem {
    fn from(denial: Denial) -> Self {
        match denial {
            Denial::Hide => Self::not_found(),
            Denial::Refuse => Self::new(ProblemCode::NotAllowed).detail(
                "Your account is not meant for this. The school office can change what it is for.",
            ),
        }
    }
}

impl From<crate::passwords::PasswordError> for Problem {
    fn from(error: crate::passwords::PasswordError) -> Self {
        Self::internal(&error)
    }
}
