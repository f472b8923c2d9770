//! Bodies that were read, understood and checked.

use std::future::Future;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest, web};
use domain::ProblemCode;
use serde::de::DeserializeOwned;
use serde_json::Value;
use validator::{Validate, ValidationErrors, ValidationErrorsKind};

use super::problem::{FieldError, Problem};

/// The largest JSON body: a stroke of 5,000 points and its envelope.
pub const BODY_LIMIT: usize = 512 * 1024;

/// A JSON body that passed serde and its own rules; otherwise a problem that names every field.
#[derive(Debug)]
pub struct Valid<T>(pub T);

impl<T: DeserializeOwned + Validate + 'static> FromRequest for Valid<T> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let body = web::Bytes::from_request(request, payload);
        Box::pin(async move {
            let bytes = body.await.map_err(|e| too_large_or_cut(&e))?;
            refuse_nul(&bytes)?;
            let value: T = serde_json::from_slice(&bytes).map_err(|e| not_understood(&e))?;
            value.validate().map_err(|errors| {
                Problem::new(ProblemCode::InvalidInput).fields(flatten("", &errors))
            })?;
            Ok(Valid(value))
        })
    }
}

fn too_large_or_cut(error: &actix_web::Error) -> Problem {
    match error.as_response_error().status_code().as_u16() {
        413 => Problem::new(ProblemCode::TooLarge)
            .detail(format!("A request may carry {} KiB.", BODY_LIMIT / 1024)),
        _ => Problem::new(ProblemCode::InvalidInput)
            .detail("The request was cut off. Nothing of it was kept; send it again."),
    }
}

/// JSON can escape U+0000, but no table can hold it. Whoever does not write the escape pays no second parsing.
fn refuse_nul(bytes: &[u8]) -> Result<(), Problem> {
    if !bytes.windows(6).any(|escape| escape == b"\\u0000") {
        return Ok(());
    }
    let value: Value = serde_json::from_slice(bytes).map_err(|e| not_understood(&e))?;
    match field_with_nul("", &value) {
        Some(field) => Err(Problem::invalid(
            &field,
            "holds the character U+0000, which cannot be kept",
            "Leave it out.",
        )),
        None => Ok(()),
    }
}

/// The path of the first text that holds U+0000.
fn field_with_nul(path: &str, value: &Value) -> Option<String> {
    match value {
        Value::String(text) => text.contains('\0').then(|| path.to_owned()),
        Value::Array(items) => items
            .iter()
            .enumerate()
            .find_map(|(index, item)| field_with_nul(&format!("{path}[{index}]"), item)),
        Value::Object(fields) => fields.iter().find_map(|(name, field)| {
            let dot = if path.is_empty() { "" } else { "." };
            let name = name.replace('\0', "\u{fffd}");
            field_with_nul(&format!("{path}{dot}{name}"), field)
        }),
        _ => None,
    }
}

fn not_understood(error: &serde_json::Error) -> Problem {
    Problem::new(ProblemCode::InvalidInput)
        .detail("The body is not the JSON that was expected here.")
        .field(
            format!("line {}, column {}", error.line(), error.column()),
            error.to_string(),
            "See /api/openapi.json for its shape.",
        )
}

/// Every failed rule under its field's path, in order of the paths.
fn flatten(prefix: &str, errors: &ValidationErrors) -> Vec<FieldError> {
    let mut all = vec![];
    for (name, kind) in errors.errors() {
        let path = if prefix.is_empty() {
            name.to_string()
        } else {
            format!("{prefix}.{name}")
        };
        match kind {
            ValidationErrorsKind::Field(failed) => all.extend(failed.iter().map(|rule| {
                FieldError {
                    field: path.clone(),
                    reason: rule
                        .message
                        .as_ref()
                        .map_or_else(|| words(rule), ToString::to_string),
                    remedy: None,
                }
            })),
            ValidationErrorsKind::Struct(inner) => all.extend(flatten(&path, inner)),
            ValidationErrorsKind::List(items) => {
                for (index, inner) in items {
                    all.extend(flatten(&format!("{path}[{index}]"), inner));
                }
            }
        }
    }
    all.sort_by(|a, b| a.field.cmp(&b.field));
    all
}

fn words(rule: &validator::ValidationError) -> String {
    let bound = |name: &'static str| rule.params.get(name).map(ToString::to_string);
    match (rule.code.as_ref(), bound("min"), bound("max")) {
        ("length", Some(min), Some(max)) => format!("must be {min} to {max} long"),
        ("length", Some(min), None) => format!("must be at least {min} long"),
        ("length", None, Some(max)) => format!("must be at most {max} long"),
        ("range", Some(min), Some(max)) => format!("must lie between {min} and {max}"),
        ("email", ..) => "is not an e-mail address".into(),
        (code, ..) => format!("does not pass the rule \"{code}\""),
    }
}
