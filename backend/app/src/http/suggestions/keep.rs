use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, put};
use domain::{CritiqueId, NoteId};
use store::suggestions::{Shown, Versions};
use store::{StoreError, notes, suggestions};

use super::types::{ShownSuggestion, ShownSuggestions, ShownWhat};
use crate::http::critiques::draft;
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Keeps which suggestions stood before the mentor. The same one again changes nothing; of a note that is gone there is nothing to keep.
#[utoipa::path(tag = "suggestions", request_body = ShownSuggestions, responses((status = 204, description = "Kept")))]
#[put("/critiques/{id}/notes/{note_id}/suggestions")]
pub(super) async fn keep_suggestions(
    state: Data<State>,
    who: Who,
    path: Path<(CritiqueId, NoteId)>,
    input: Valid<ShownSuggestions>,
) -> Answer {
    let (id, note_id) = path.into_inner();
    let (now, Valid(input)) = (state.clock.now(), input);
    let shown = shown(&input.shown)?;
    let versions = Versions {
        lexicon: &input.lexicon,
        weights: &input.weights,
    };
    state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            draft(conn, &who.0, id, now).await?;
            let note = notes::get(conn, note_id).await?;
            if note.is_some_and(|note| note.critique == id) {
                let mentor = (who.0.school, who.0.person);
                suggestions::keep(conn, mentor, (id, note_id), versions, &shown, now).await?;
            }
            Ok(())
        })
        .await?;
    Ok(HttpResponse::NoContent().finish())
}

fn shown(given: &[ShownSuggestion]) -> Answer<Vec<Shown>> {
    let mut all = vec![];
    for (index, given) in given.iter().enumerate() {
        check(&given.what).map_err(|(field, reason, remedy)| {
            Problem::invalid(&format!("shown[{index}].what.{field}"), &reason, remedy)
        })?;
        all.push(row(given)?);
    }
    Ok(all)
}

/// The field, the reason and the remedy of what cannot have been suggested.
fn check(what: &ShownWhat) -> Result<(), (&'static str, String, &'static str)> {
    match what {
        ShownWhat::Part { value, .. } => value.check().map_err(|error| {
            let remedy = "Choose one of the parts in /api/v1/vocabulary.";
            ("value", error.to_string(), remedy)
        }),
        ShownWhat::Ask { value, .. } if !value.is_sane() => Err((
            "value.amount",
            "is no amount that can be asked for".into(),
            "Send it as it was suggested.",
        )),
        _ if many(what) => Err((
            "before",
            "must be at most 12 long".into(),
            "A note has no more.",
        )),
        _ => Ok(()),
    }
}

fn many(what: &ShownWhat) -> bool {
    match what {
        ShownWhat::Principle { before, .. } => before.len() > 12,
        ShownWhat::Part { before, .. } => before.len() > 12,
        _ => false,
    }
}

fn row(given: &ShownSuggestion) -> Result<Shown, StoreError> {
    let written = serde_json::to_value(&given.what);
    let mut written = written.map_err(|error| StoreError::Nonsense(error.to_string()))?;
    let before = Some(written["before"].take()).filter(|before| !before.is_null());
    #[expect(clippy::cast_possible_truncation, reason = "a score needs few digits")]
    let score = given.score.map(|score| score as f32);
    Ok(Shown {
        field: given.what.field().as_str(),
        value: written["value"].take(),
        before,
        score,
    })
}

#[cfg(test)]
mod tests {
    use domain::ask::{Ask, AskKind};
    use domain::parts::PartRef;
    use domain::{Principle, Side};
    use serde_json::json;

    use super::*;

    fn of(what: ShownWhat) -> ShownSuggestion {
        ShownSuggestion {
            what,
            score: Some(0.75),
        }
    }

    #[test]
    fn a_row_is_written_as_the_note_writes_it() {
        let part = |part: &str, side| PartRef {
            part: part.into(),
            side,
        };
        let kept = row(&of(ShownWhat::Part {
            value: part("wrist", Some(Side::Left)),
            before: vec![part("head", None)],
        }))
        .unwrap();
        assert_eq!(kept.field, "part");
        assert_eq!(kept.value, json!({ "part": "wrist", "side": "left" }));
        assert_eq!(kept.before, Some(json!([{ "part": "head", "side": null }])));
        let ask = |amount| ShownWhat::Ask {
            value: Ask {
                what: AskKind::Hold,
                amount,
            },
            before: None,
        };
        let kept = row(&of(ask(8.0))).unwrap();
        assert_eq!(kept.value, json!({ "what": "hold", "amount": 8.0 }));
        assert_eq!((kept.before, kept.score), (None, Some(0.75)));
        assert!(check(&ask(8.5)).is_err());
    }

    #[test]
    fn what_no_note_can_have_was_not_suggested() {
        let unknown = ShownWhat::Part {
            value: PartRef {
                part: "wing".into(),
                side: None,
            },
            before: vec![],
        };
        assert_eq!(check(&unknown).unwrap_err().0, "value");
        let many = ShownWhat::Principle {
            value: Principle::Arcs,
            before: vec![Principle::Arcs; 13],
        };
        assert_eq!(check(&many).unwrap_err().0, "before");
    }
}
