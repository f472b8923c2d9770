//! Shots, drawn and sent by their students, revision after revision.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, Utc};
use media::{RawVideo, Sandbox, Size, encode_raw};
use reqwest::Method;
use seed::clip::Clip;
use seed::plan::{RevisionPlan, ShotPlan, Stage as Finish};
use serde_json::{Value, json};

use super::DemoError;
use super::calendar::Calendar;
use super::critiques::{Concerns, Mentor};
use super::people::Cast;
use super::stage::{Body, Line, Stage, Voice, text};

/// How often a state is looked at that a worker will change, and for how long at most.
const LOOK_EVERY: Duration = Duration::from_millis(100);
const LOOK_FOR: Duration = Duration::from_secs(900);

/// How long before sending it a student uploads a revision.
const UPLOADED_BEFORE: chrono::Duration = chrono::Duration::minutes(12);

/// Brings shots to where the plan has them.
pub(super) struct Playing<'a> {
    pub stage: &'a Stage,
    pub calendar: Calendar,
    pub now: DateTime<Utc>,
    pub take_back: chrono::Duration,
    pub cast: &'a Cast,
    pub sandbox: &'a Sandbox,
    pub scratch: &'a Path,
}

impl Playing<'_> {
    /// Sends each of the first `revisions` that is not there yet and has it critiqued as planned. What is there stays.
    pub async fn play(
        &self,
        plan: &ShotPlan,
        mentor: &str,
        revisions: usize,
    ) -> Result<(), DemoError> {
        let student = self.cast.voice(plan.student)?;
        let mentor = Mentor {
            stage: self.stage,
            calendar: self.calendar,
            now: self.now,
            take_back: self.take_back,
            voice: self.cast.voice(mentor)?,
            student,
        };
        let shot = self.shot(plan, student).await?;
        let mut concerns = Concerns::default();
        for (index, revision) in plan.revisions.iter().enumerate().take(revisions) {
            let submission = self.sent(plan, index, student, &shot).await?;
            if let Some(moment) = revision.withdrawn
                && submission["state"] == "waiting"
            {
                let path = format!("/api/v1/submissions/{}/withdraw", text(&submission, "id")?);
                let at = self.calendar.at(moment);
                self.stage
                    .ask(student, at, Method::POST, path, None)
                    .await?;
            }
            if let Some(critique) = &revision.critique {
                mentor
                    .critique(plan, revision, critique, &submission, &mut concerns)
                    .await?;
            }
        }
        Ok(())
    }

    async fn shot(&self, plan: &ShotPlan, student: &Voice) -> Result<Value, DemoError> {
        let list = "/api/v1/shots";
        let known = self
            .stage
            .find(student, self.now, list, |s| s["title"] == plan.title)
            .await?;
        let id = match known {
            Some(shot) => text(&shot, "id")?.to_owned(),
            None => {
                let enrolment = self.cast.enrolment(plan.student, plan.course)?;
                let mut body = json!({ "enrolment_id": enrolment, "title": plan.title, "first_frame": plan.first_frame });
                if let Some(key) = plan.assignment {
                    body["assignment_id"] = self.cast.assignment(plan.course, key)?.into();
                }
                let first = plan.revisions.first().map(|r| self.calendar.at(r.sent));
                let at = first.unwrap_or(self.now) - UPLOADED_BEFORE;
                let made = self
                    .stage
                    .ask(student, at, Method::POST, list, Some(body))
                    .await?;
                text(&made, "id")?.to_owned()
            }
        };
        self.stage
            .ask(student, self.now, Method::GET, format!("{list}/{id}"), None)
            .await
    }

    /// The submission of that revision: the one that is there, else a new one.
    async fn sent(
        &self,
        plan: &ShotPlan,
        index: usize,
        student: &Voice,
        shot: &Value,
    ) -> Result<Value, DemoError> {
        let revision = &plan.revisions[index];
        let there = shot["revisions"].as_array().into_iter().flatten();
        if let Some(known) = there.into_iter().find(|r| r["number"] == revision.number) {
            return Ok(known["submission"].clone());
        }
        let at = self.calendar.at(revision.sent);
        let file = self.drawn(plan, index).await?;
        let uploaded = self
            .uploaded(plan, revision, student, &file, at - UPLOADED_BEFORE)
            .await;
        tokio::fs::remove_file(&file).await?;
        let footage = uploaded?;
        self.ready(student, &footage).await?;
        let body = json!({ "shot_id": shot["id"], "footage_id": footage,
            "stage": stage_word(revision.stage), "words": revision.words });
        let path = "/api/v1/submissions";
        let line = Line {
            at,
            who: student,
            method: Method::POST,
            path: path.into(),
            headers: vec![(
                "idempotency-key",
                format!("demo-{}-r{}", plan.key, revision.number),
            )],
            body: Body::Json(body),
        };
        self.stage
            .send(line)
            .await?
            .accepted(student, &Method::POST, path)
    }

    /// Draws the revision into a file, as an animator's program would export it.
    async fn drawn(&self, plan: &ShotPlan, index: usize) -> Result<std::path::PathBuf, DemoError> {
        let file = self
            .scratch
            .join(format!("{}-r{}.mp4", plan.key, index + 1));
        let clip = Arc::new(Clip::new(plan, index)?);
        let side = |pixels: usize| u32::try_from(pixels).unwrap_or(u32::MAX);
        let video = RawVideo {
            size: Size {
                width: side(clip.width()),
                height: side(clip.height()),
            },
            rate_num: clip.fps(),
            rate_den: 1,
        };
        let frames = (0..clip.frames()).map(move |frame| {
            let mut pixels = vec![0; clip.width() * clip.height() * 3];
            clip.draw(frame, &mut pixels);
            pixels
        });
        encode_raw(self.sandbox, &file, video, frames).await?;
        Ok(file)
    }

    /// Uploads the file by tus 1.0 and waits until it was accepted; gives the footage's id.
    async fn uploaded(
        &self,
        plan: &ShotPlan,
        revision: &RevisionPlan,
        student: &Voice,
        file: &Path,
        at: DateTime<Utc>,
    ) -> Result<String, DemoError> {
        let bytes = tokio::fs::read(file).await?;
        let name = format!("{}_r{}.mp4", plan.key, revision.number);
        let tus = ("tus-resumable", "1.0.0".to_owned());
        let path = "/api/v1/uploads";
        let create = Line {
            at,
            who: student,
            method: Method::POST,
            path: path.into(),
            headers: vec![
                tus.clone(),
                ("upload-length", bytes.len().to_string()),
                (
                    "upload-metadata",
                    format!("filename {}", STANDARD.encode(name)),
                ),
            ],
            body: Body::Nothing,
        };
        let made = self.stage.send(create).await?;
        let location = made.location.clone();
        made.accepted(student, &Method::POST, path)?;
        let location =
            location.ok_or_else(|| DemoError::Answer("an upload without a location".into()))?;
        let send = Line {
            at,
            who: student,
            method: Method::PATCH,
            path: location.clone(),
            headers: vec![
                tus,
                ("upload-offset", "0".into()),
                ("content-type", "application/offset+octet-stream".into()),
            ],
            body: Body::Bytes(bytes),
        };
        self.stage
            .send(send)
            .await?
            .accepted(student, &Method::PATCH, &location)?;
        let upload = self
            .settled(student, &location, |state| state == "accepted")
            .await?;
        Ok(text(&upload, "footage_id")?.to_owned())
    }

    async fn ready(&self, student: &Voice, footage: &str) -> Result<(), DemoError> {
        let path = format!("/api/v1/footage/{footage}");
        self.settled(student, &path, |state| state == "ready")
            .await?;
        Ok(())
    }

    /// Waits until the workers brought a thing into that state; a problem on the way ends the wait.
    async fn settled(
        &self,
        student: &Voice,
        path: &str,
        is_there: impl Fn(&str) -> bool,
    ) -> Result<Value, DemoError> {
        let start = std::time::Instant::now();
        loop {
            let thing = self
                .stage
                .ask(student, self.now, Method::GET, path, None)
                .await?;
            if is_there(text(&thing, "state")?) {
                return Ok(thing);
            }
            if !thing["problem"].is_null() || start.elapsed() > LOOK_FOR {
                return Err(DemoError::Answer(format!(
                    "{path} did not come about: {thing}"
                )));
            }
            tokio::time::sleep(LOOK_EVERY).await;
        }
    }
}

fn stage_word(stage: Finish) -> &'static str {
    match stage {
        Finish::Blocking => "blocking",
        Finish::BlockingPlus => "blocking-plus",
        Finish::Spline => "spline",
        Finish::Polish => "polish",
    }
}
