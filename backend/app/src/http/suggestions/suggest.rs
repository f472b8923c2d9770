use actix_web::post;
use actix_web::web::{Data, Json, Path};
use critique::{Critic, Tags};
use domain::parts::PartRef;
use domain::{CritiqueId, ProblemCode, Urgency};

use super::earlier::{Held, Past, typed};
use super::types::{
    OpposedAsks, SuggestedConcern, SuggestedKind, SuggestedPart, SuggestedPrinciple,
    SuggestedRelation, Suggestions, TypedNote,
};
use crate::http::critiques::{misplaced, own, stands};
use crate::http::input::Valid;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Less sure than this nothing is suggested.
const SAID: f64 = 0.5;

/// What a note that is being typed into a draft seems to say, and which earlier concerns of its shot it seems to be about.
#[utoipa::path(tag = "suggestions", request_body = TypedNote, responses((status = 200, body = Suggestions)))]
#[post("/critiques/{id}/suggestions")]
pub(super) async fn suggest(
    state: Data<State>,
    who: Who,
    id: Path<CritiqueId>,
    input: Valid<TypedNote>,
) -> Answer<Json<Suggestions>> {
    let now = state.clock.now();
    let (past, critic) = state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            let critique = own(conn, &who.0, *id, now).await?;
            if critique.released_at.is_some() {
                return Err(stands());
            }
            let critic = state.critics.of_school(conn, who.0.school).await?;
            Ok((Past::read(conn, critique, now).await?, critic))
        })
        .await?;
    let errors = misplaced(&input.0.parts, input.0.span, past.frames());
    if !errors.is_empty() {
        return Err(Problem::new(ProblemCode::InvalidInput).fields(errors));
    }
    Ok(Json(suggestions(&critic, &input.0, &past.held())))
}

/// The answer, from the note and what was noted before.
fn suggestions(critic: &Critic, input: &TypedNote, held: &[Held]) -> Suggestions {
    let earlier: Vec<_> = held.iter().map(|held| held.earlier(critic)).collect();
    let (tags, proposals) = critic.propose(&typed(input), &earlier);
    let kind = tags.kind_odds[tags.kind as usize];
    Suggestions {
        lexicon: critic.lexicon.version().to_owned(),
        weights: critic.weights.source.version.clone(),
        principles: tags
            .principles
            .iter()
            .map(|(principle, score)| SuggestedPrinciple {
                principle: *principle,
                score: *score,
            })
            .collect(),
        parts: parts(&tags),
        kind: (input.kind.is_none() && kind >= SAID && !input.words.trim().is_empty()).then_some(
            SuggestedKind {
                kind: tags.kind,
                score: kind,
            },
        ),
        // What weighs as usual needs no word.
        urgency: tags
            .urgency
            .filter(|urgency| input.urgency.is_none() && *urgency != Urgency::Should),
        ask: tags.asks.first().copied(),
        earlier: proposals
            .into_iter()
            .filter(|proposal| proposal.said)
            .filter_map(|proposal| concern(&held[proposal.earlier], proposal))
            .collect(),
    }
}

fn parts(tags: &Tags) -> Vec<SuggestedPart> {
    let said = tags.parts.iter().filter(|part| part.weight >= SAID);
    said.map(|said| SuggestedPart {
        part: PartRef {
            part: said.finest.into(),
            side: said.side,
        },
        score: said.weight.min(1.0),
    })
    .collect()
}

fn concern(held: &Held, proposal: critique::Proposal) -> Option<SuggestedConcern> {
    let note = held.note;
    Some(SuggestedConcern {
        concern_id: note.concern,
        note_id: note.id,
        revision: note.number,
        span: note.content.span,
        mapped: held.mapped,
        unsure: held.unsure,
        words: note.content.words.clone(),
        ask: note.content.ask,
        relation: SuggestedRelation::of(proposal.relation)?,
        score: proposal.score,
        reasons: proposal.reasons,
        opposed: proposal.opposed.map(|opposed| OpposedAsks {
            earlier: opposed.earlier,
            now: opposed.now,
        }),
    })
}
