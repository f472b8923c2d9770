use actix_web::web::{Data, Json, Path};
use actix_web::{HttpResponse, delete, put};
use domain::{CritiqueId, ProblemCode, StrokeId, TraceId};
use store::{StoreError, drawings};

use super::draft::{draft, explain, frames};
use super::types::{Stroke, Trace};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Strokes a critique may have.
const MOST_STROKES: i64 = 2000;

/// Paths of dots a critique may have.
const MOST_TRACES: i64 = 200;

/// Draws a stroke, or redraws it.
#[utoipa::path(tag = "critiques", request_body = Stroke, responses((status = 200, body = Stroke)))]
#[put("/critiques/{id}/strokes/{stroke_id}")]
pub(super) async fn put_stroke(
    state: Data<State>,
    who: Who,
    path: Path<(CritiqueId, StrokeId)>,
    input: Valid<Stroke>,
) -> Answer<Json<Stroke>> {
    let (id, stroke_id) = path.into_inner();
    let (stroke, now) = (
        Stroke {
            id: stroke_id,
            ..input.0
        },
        state.clock.now(),
    );
    check_color(&stroke.color)?;
    if !stroke
        .points
        .iter()
        .flatten()
        .all(|value| (0.0..=1.0).contains(value))
    {
        return Err(Problem::invalid(
            "points",
            "must lie within the picture: x, y and pressure from 0 to 1",
            "",
        ));
    }
    state
        .db
        .scoped(&who.0, async |conn| {
            let critique = draft(conn, &who.0, id, now).await?;
            check_frames(stroke.frame, stroke.hold_to, frames(conn, &critique).await?)?;
            if drawings::count_other_strokes(conn, id, stroke.id).await? >= MOST_STROKES {
                return Err(too_many(&format!("{MOST_STROKES} strokes")));
            }
            let row = drawings::Stroke {
                id: stroke.id,
                critique_id: id,
                frame: stroke.frame,
                hold_to: stroke.hold_to,
                note_id: stroke.note_id,
                color: stroke.color.clone(),
                size: stroke.size,
                pen: stroke.pen,
                points: serde_json::to_value(&stroke.points).map_err(|e| Problem::internal(&e))?,
            };
            taken(drawings::put_stroke(conn, who.0.school, &row, now).await)
        })
        .await?;
    Ok(Json(stroke))
}

/// Wipes a stroke.
#[utoipa::path(tag = "critiques", responses((status = 204, description = "It is gone")))]
#[delete("/critiques/{id}/strokes/{stroke_id}")]
pub(super) async fn delete_stroke(
    state: Data<State>,
    who: Who,
    path: Path<(CritiqueId, StrokeId)>,
) -> Answer {
    let (id, stroke_id) = path.into_inner();
    let now = state.clock.now();
    state
        .db
        .scoped(&who.0, async |conn| {
            draft(conn, &who.0, id, now).await?;
            drawings::remove_stroke(conn, id, stroke_id)
                .await
                .map_err(explain)
        })
        .await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Sets a path of dots, or sets it otherwise.
#[utoipa::path(tag = "critiques", request_body = Trace, responses((status = 200, body = Trace)))]
#[put("/critiques/{id}/traces/{trace_id}")]
pub(super) async fn put_trace(
    state: Data<State>,
    who: Who,
    path: Path<(CritiqueId, TraceId)>,
    input: Valid<Trace>,
) -> Answer<Json<Trace>> {
    let (id, trace_id) = path.into_inner();
    let (trace, now) = (
        Trace {
            id: trace_id,
            ..input.0
        },
        state.clock.now(),
    );
    check_color(&trace.color)?;
    if let Some(error) = trace.part.as_ref().and_then(|part| part.check().err()) {
        return Err(Problem::invalid(
            "part",
            &error.to_string(),
            "See /vocabulary.",
        ));
    }
    if !trace
        .dots
        .iter()
        .all(|dot| (0.0..=1.0).contains(&dot.x) && (0.0..=1.0).contains(&dot.y))
    {
        return Err(Problem::invalid(
            "dots",
            "must lie within the picture: x and y from 0 to 1",
            "",
        ));
    }
    if !trace
        .dots
        .windows(2)
        .all(|pair| pair[0].frame < pair[1].frame)
    {
        return Err(Problem::invalid(
            "dots",
            "must come in the order of their frames, one a frame",
            "",
        ));
    }
    state
        .db
        .scoped(&who.0, async |conn| {
            let critique = draft(conn, &who.0, id, now).await?;
            let (first, last) = (
                trace.dots.first().map_or(0, |dot| dot.frame),
                trace.dots.last().map_or(0, |dot| dot.frame),
            );
            check_frames(first, last, frames(conn, &critique).await?)?;
            if drawings::count_other_traces(conn, id, trace.id).await? >= MOST_TRACES {
                return Err(too_many(&format!("{MOST_TRACES} paths of dots")));
            }
            let row = drawings::Trace {
                id: trace.id,
                part: trace
                    .part
                    .as_ref()
                    .map(serde_json::to_value)
                    .transpose()
                    .map_err(|e| Problem::internal(&e))?,
                color: trace.color.clone(),
                dots: serde_json::to_value(&trace.dots).map_err(|e| Problem::internal(&e))?,
            };
            taken(drawings::put_trace(conn, who.0.school, id, &row, now).await)
        })
        .await?;
    Ok(Json(trace))
}

/// Wipes a path of dots.
#[utoipa::path(tag = "critiques", responses((status = 204, description = "It is gone")))]
#[delete("/critiques/{id}/traces/{trace_id}")]
pub(super) async fn delete_trace(
    state: Data<State>,
    who: Who,
    path: Path<(CritiqueId, TraceId)>,
) -> Answer {
    let (id, trace_id) = path.into_inner();
    let now = state.clock.now();
    state
        .db
        .scoped(&who.0, async |conn| {
            draft(conn, &who.0, id, now).await?;
            drawings::remove_trace(conn, id, trace_id)
                .await
                .map_err(explain)
        })
        .await?;
    Ok(HttpResponse::NoContent().finish())
}

fn too_many(limit: &str) -> Problem {
    Problem::new(ProblemCode::TooLarge).detail(format!(
        "A critique may have {limit}. Wipe some that are not needed."
    ))
}

fn taken(put: Result<bool, StoreError>) -> Answer<()> {
    if let Err(error) = &put
        && error.is_refused_by(drawings::NOTE_OF_CRITIQUE)
    {
        return Err(Problem::invalid(
            "note_id",
            "is no note of this critique",
            "",
        ));
    }
    match put.map_err(explain)? {
        true => Ok(()),
        false => {
            Err(Problem::new(ProblemCode::Duplicate).detail("This id belongs to another critique."))
        }
    }
}

fn check_color(color: &str) -> Answer<()> {
    let hex = color.strip_prefix('#').is_some_and(|hex| {
        hex.len() == 6 && hex.chars().all(|c| matches!(c, '0'..='9' | 'a'..='f'))
    });
    if hex {
        Ok(())
    } else {
        Err(Problem::invalid(
            "color",
            "must be #rrggbb in small letters",
            "",
        ))
    }
}

fn check_frames(first: i32, last: i32, frames: i32) -> Answer<()> {
    if 0 <= first && first <= last && last < frames {
        return Ok(());
    }
    Err(Problem::invalid(
        "frame",
        &format!("must begin and end in order within the {frames} frames of the shot"),
        "",
    ))
}
