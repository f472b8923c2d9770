//! What holds wherever a note names parts and frames.

use domain::parts::PartRef;
use domain::picture::Span;

use crate::http::problem::FieldError;

/// Parts the tree does not have, and a span outside the clip of `frames` frames.
pub(in crate::http) fn misplaced(parts: &[PartRef], span: Span, frames: i32) -> Vec<FieldError> {
    let mut errors: Vec<FieldError> = parts
        .iter()
        .enumerate()
        .filter_map(|(index, part)| {
            let error = part.check().err()?;
            Some(FieldError {
                field: format!("parts[{index}]"),
                reason: error.to_string(),
                remedy: Some("Choose one of the parts in /api/v1/vocabulary.".into()),
            })
        })
        .collect();
    if !span.fits(frames) {
        errors.push(FieldError {
            field: "span".into(),
            reason: format!("must begin and end in order within the {frames} frames of the shot"),
            remedy: Some("Give the first and the last frame, counted from 0.".into()),
        });
    }
    errors
}
