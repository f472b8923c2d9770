//! The invented school, played through the program's own requests at the times the scenario names.
//!
//! Playing it again finds what is there and adds what is missing, so a load that was cut short goes on.

mod calendar;
mod critiques;
mod links;
mod people;
mod run;
mod shots;
mod stage;

use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};

use chrono::{DateTime, Utc};
use media::Sandbox;
use seed::plan::{Scenario, ShotPlan};

pub(super) use run::run;
use stage::Stage;

use crate::config::Secret;
use calendar::Calendar;
use links::Links;
use people::{Cast, Office};
use shots::Playing;

/// How many shots must be there with their first revision before people are let in.
const SHOTS_TO_BEGIN_WITH: usize = 3;

/// Why the school could not be played.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// A request was refused.
    #[error("{what} was answered with {status}: {answer}")]
    Refused {
        /// Which request, by whom.
        what: String,
        /// The status.
        status: u16,
        /// The body.
        answer: String,
    },
    /// An answer or the plan does not hold what it should.
    #[error("{0}")]
    Answer(String),
    /// No answer.
    #[error("no answer: {0}")]
    Request(#[from] reqwest::Error),
    /// A revision without a picture.
    #[error(transparent)]
    Draw(#[from] seed::clip::NoRevision),
    /// A drawn clip could not be written.
    #[error(transparent)]
    Encode(#[from] media::EncodeError),
    /// A file could not be read or written.
    #[error(transparent)]
    File(#[from] std::io::Error),
    /// The database refused a link.
    #[error(transparent)]
    Database(#[from] store::prepare_database::PrepareError),
    /// A task ended early.
    #[error("cut short: {0}")]
    Task(#[from] tokio::task::JoinError),
}

/// Everything needed to play it.
struct Load<'a> {
    scenario: &'a Scenario,
    /// When the school was founded: the day that moments count back from.
    first_start: DateTime<Utc>,
    /// Whether that is now.
    founded_now: bool,
    now: DateTime<Utc>,
    take_back: chrono::Duration,
    admin_url: Secret,
    /// Servers with clocks of their own, one for each shot played at the same time.
    stages: Vec<Stage>,
    sandbox: &'a Sandbox,
    /// A folder for the drawn clips, until they are sent.
    scratch: &'a Path,
}

impl Load<'_> {
    /// Plays everything: the first revision of a few shots, upon which people are let in, then all of every shot;
    /// tells how many shots are done after each.
    async fn play(&self, let_in: impl FnOnce(), told: impl Fn(usize)) -> Result<(), DemoError> {
        let zone: chrono_tz::Tz = self
            .scenario
            .school
            .time_zone
            .parse()
            .map_err(|_| DemoError::Answer("the plan's time zone is unknown".into()))?;
        let calendar = Calendar::new(zone, self.first_start);
        let links = Links {
            admin_url: self.admin_url.clone(),
            school: self.scenario.school.slug,
        };
        let first = self
            .stages
            .first()
            .ok_or_else(|| DemoError::Answer("nowhere to play".into()))?;
        let office = Office {
            stage: first,
            scenario: self.scenario,
            calendar,
            links: &links,
            now: self.now,
            founded_now: self.founded_now,
        };
        let cast = office.enter_all().await?;
        tokio::fs::create_dir_all(self.scratch).await?;
        let shots = &self.scenario.shots;
        let beginning = &shots[..shots.len().min(SHOTS_TO_BEGIN_WITH)];
        self.lanes(&cast, calendar, beginning, 1, false, |_| ())
            .await?;
        let_in();
        self.lanes(&cast, calendar, shots, usize::MAX, true, told)
            .await
    }

    /// Plays up to `revisions` of each of the shots, several shots at a time. Once people are in they may move a student, open or
    /// withdraw what the story goes on from: such a shot is left as they have it.
    async fn lanes(
        &self,
        cast: &Cast,
        calendar: Calendar,
        shots: &[ShotPlan],
        revisions: usize,
        people_are_in: bool,
        told: impl Fn(usize),
    ) -> Result<(), DemoError> {
        let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let lanes = self.stages.iter().map(|stage| async {
            let playing = Playing {
                stage,
                calendar,
                now: self.now,
                take_back: self.take_back,
                cast,
                sandbox: self.sandbox,
                scratch: self.scratch,
            };
            while let Some(shot) = shots.get(next.fetch_add(1, Ordering::Relaxed)) {
                match playing.play(shot, self.mentor(shot)?, revisions).await {
                    Err(refused @ DemoError::Refused { .. }) if people_are_in => tracing::warn!(
                        shot = shot.title,
                        %refused,
                        "the story of a shot does not go on"
                    ),
                    played => played?,
                }
                told(done.fetch_add(1, Ordering::Relaxed) + 1);
            }
            Ok::<(), DemoError>(())
        });
        futures_util::future::try_join_all(lanes).await?;
        Ok(())
    }

    /// Who critiques the shot.
    fn mentor(&self, shot: &ShotPlan) -> Result<&str, DemoError> {
        let mut enrolments = self.scenario.enrolments.iter();
        enrolments
            .find(|e| e.student == shot.student && e.course == shot.course)
            .map(|e| e.mentor)
            .ok_or_else(|| DemoError::Answer(format!("{} is in no course", shot.student)))
    }
}
