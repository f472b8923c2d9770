//! Critiques, written by their mentors, and what students answered.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use reqwest::Method;
use seed::plan::{
    AmendmentPlan, AnswerPlan, CritiquePlan, NotePlan, PartPlan, RevisionPlan, ShotPlan,
};
use serde_json::{Value, json};
use uuid::Uuid;

use super::DemoError;
use super::calendar::Calendar;
use super::stage::{Stage, Voice, text};

/// Names everything the scenario writes: the same plan gives the same ids.
const SCENARIO: Uuid = Uuid::from_u128(0x6c61_6d70_6c69_4768_7465_7279_6172_6421);

/// Ids of the concerns of one shot, by the plan's names.
#[derive(Default)]
pub(super) struct Concerns(BTreeMap<String, String>);

/// A mentor at work on one student's shot.
pub(super) struct Mentor<'a> {
    pub stage: &'a Stage,
    pub calendar: Calendar,
    pub now: DateTime<Utc>,
    pub take_back: chrono::Duration,
    pub voice: &'a Voice,
    pub student: &'a Voice,
}

impl Mentor<'_> {
    /// Opens the submission, writes what the plan says and is not there, and releases it if planned.
    pub async fn critique(
        &self,
        shot: &ShotPlan,
        revision: &RevisionPlan,
        plan: &CritiquePlan,
        submission: &Value,
        concerns: &mut Concerns,
    ) -> Result<(), DemoError> {
        let opened = self.calendar.at(plan.opened);
        let path = format!("/api/v1/submissions/{}/open", text(submission, "id")?);
        let answer = self
            .stage
            .ask(self.voice, opened, Method::POST, path, None)
            .await?;
        let path = format!("/api/v1/critiques/{}", text(&answer, "critique_id")?);
        let page = self
            .stage
            .ask(self.voice, self.now, Method::GET, path.as_str(), None)
            .await?;
        let named = |note: &NotePlan| {
            Uuid::new_v5(
                &SCENARIO,
                format!("{} r{} {}", shot.key, revision.number, note.concern).as_bytes(),
            )
        };
        if page["state"] == "draft" {
            let released = plan.released.map(|m| self.calendar.at(m));
            // Written in the time between opening and release.
            let writing = released.unwrap_or(opened) - self.take_back;
            let at = writing.max(opened);
            self.verdicts(&path, at, plan, &page, concerns).await?;
            for note in &plan.notes {
                let concern = self.note(&path, at, note, named(note), concerns).await?;
                concerns.0.insert(note.concern.clone(), concern);
            }
            self.summary(&path, at, plan, &page).await?;
            if released.is_some() {
                self.stage
                    .ask(
                        self.voice,
                        at,
                        Method::POST,
                        format!("{path}/release"),
                        None,
                    )
                    .await?;
            }
        } else {
            let there = page["notes"].as_array().map_or(&[][..], Vec::as_slice);
            for note in &plan.notes {
                let id = named(note).to_string();
                if let Some(known) = there.iter().find(|n| n["id"] == id) {
                    concerns
                        .0
                        .insert(note.concern.clone(), text(known, "concern_id")?.into());
                }
            }
        }
        if plan.released.is_some() {
            for note in &plan.notes {
                if let Some(answer) = &note.answer {
                    self.answer(named(note), answer).await?;
                }
            }
            for amendment in &plan.amendments {
                let about = plan
                    .notes
                    .iter()
                    .find(|n| Some(n.concern.as_str()) == amendment.concern);
                self.amendment(&path, &page, amendment, about.map(named))
                    .await?;
            }
        }
        Ok(())
    }

    async fn verdicts(
        &self,
        path: &str,
        at: DateTime<Utc>,
        plan: &CritiquePlan,
        page: &Value,
        concerns: &Concerns,
    ) -> Result<(), DemoError> {
        let carried = page["carried"].as_array().map_or(&[][..], Vec::as_slice);
        for verdict in &plan.verdicts {
            let id = concerns.0.get(&verdict.concern).ok_or_else(|| {
                DemoError::Answer(format!(
                    "the plan judges {}, which nobody noted",
                    verdict.concern
                ))
            })?;
            let given = carried
                .iter()
                .any(|c| c["concern"]["id"] == *id && !c["verdict"].is_null());
            if !given {
                let body = json!({ "version": 0, "verdict": verdict.verdict });
                let path = format!("{path}/verdicts/{id}");
                self.stage
                    .ask(self.voice, at, Method::PUT, path, Some(body))
                    .await?;
            }
        }
        Ok(())
    }

    /// Writes a note with its strokes and dots; gives its concern's id.
    async fn note(
        &self,
        path: &str,
        at: DateTime<Utc>,
        plan: &NotePlan,
        id: Uuid,
        concerns: &Concerns,
    ) -> Result<String, DemoError> {
        let parts: Vec<Value> = plan.parts.iter().map(part).collect();
        let ask = plan
            .ask
            .map(|a| json!({ "what": a.what, "amount": a.amount }));
        let tied = plan.ties_to.as_ref().and_then(|key| concerns.0.get(key));
        let body = json!({ "version": 0, "kind": plan.kind, "urgency": plan.urgency, "principles": plan.principles,
            "parts": parts, "span": plan.span, "region": null, "words": plan.words, "ask": ask, "concern_id": tied });
        let note = self
            .stage
            .ask(
                self.voice,
                at,
                Method::PUT,
                format!("{path}/notes/{id}"),
                Some(body),
            )
            .await?;
        for (index, stroke) in plan.strokes.iter().enumerate() {
            let stroke_id = Uuid::new_v5(&id, format!("stroke {index}").as_bytes());
            let body = json!({ "id": stroke_id, "frame": stroke.frame, "hold_to": stroke.hold_to, "note_id": id,
                "color": stroke.color, "size": stroke.size, "pen": true, "points": stroke.points });
            let path = format!("{path}/strokes/{stroke_id}");
            self.stage
                .ask(self.voice, at, Method::PUT, path, Some(body))
                .await?;
        }
        for (index, trace) in plan.traces.iter().enumerate() {
            let trace_id = Uuid::new_v5(&id, format!("trace {index}").as_bytes());
            let dots: Vec<Value> = trace
                .dots
                .iter()
                .map(|(frame, x, y)| json!({ "frame": frame, "x": x, "y": y }))
                .collect();
            let body = json!({ "id": trace_id, "part": part(&trace.part), "color": trace.color, "dots": dots });
            let path = format!("{path}/traces/{trace_id}");
            self.stage
                .ask(self.voice, at, Method::PUT, path, Some(body))
                .await?;
        }
        Ok(text(&note, "concern_id")?.to_owned())
    }

    async fn summary(
        &self,
        path: &str,
        at: DateTime<Utc>,
        plan: &CritiquePlan,
        page: &Value,
    ) -> Result<(), DemoError> {
        if page["summary"] == plan.summary {
            return Ok(());
        }
        let body = json!({ "version": page["version"], "summary": plan.summary });
        self.stage
            .ask(
                self.voice,
                at,
                Method::PUT,
                format!("{path}/summary"),
                Some(body),
            )
            .await?;
        Ok(())
    }

    async fn answer(&self, note: Uuid, plan: &AnswerPlan) -> Result<(), DemoError> {
        let body = json!({ "kind": plan.kind, "words": plan.words });
        let at = self.calendar.at(plan.at);
        let path = format!("/api/v1/notes/{note}/answer");
        self.stage
            .ask(self.student, at, Method::PUT, path, Some(body))
            .await?;
        Ok(())
    }

    async fn amendment(
        &self,
        path: &str,
        page: &Value,
        plan: &AmendmentPlan,
        note: Option<Uuid>,
    ) -> Result<(), DemoError> {
        let there = page["amendments"].as_array().map_or(&[][..], Vec::as_slice);
        if there.iter().any(|a| a["words"] == plan.words) {
            return Ok(());
        }
        let body = json!({ "note_id": note, "words": plan.words });
        let at = self.calendar.at(plan.at);
        self.stage
            .ask(
                self.voice,
                at,
                Method::POST,
                format!("{path}/amendments"),
                Some(body),
            )
            .await?;
        Ok(())
    }
}

fn part(plan: &PartPlan) -> Value {
    json!({ "part": plan.part, "side": plan.side })
}
