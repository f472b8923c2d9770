//! The critique page and its pieces.

use chrono::{DateTime, Utc};
use domain::ask::Ask;
use domain::frame_map::FrameMap;
use domain::parts::PartRef;
use domain::picture::{Region, Span};
use domain::{
    AmendmentId, ConcernId, CritiqueId, Kind, NoteId, Principle, RevisionId, ShotId, Stage,
    Standing, StrokeId, TraceId, Urgency, Verdict,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use validator::Validate;

use crate::http::enrolments::types::Named;
use crate::http::footage::types::Footage;
use crate::http::notes::types::Note;
use crate::http::submissions::types::Submission;

/// Where a critique stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CritiqueState {
    /// Its author's alone.
    Draft,
    /// It goes out soon, and can be taken back.
    Releasing,
    /// It is out.
    Released,
}

/// Everything the page shows.
#[derive(Debug, Serialize, ToSchema)]
pub struct CritiquePage {
    /// Its id.
    pub id: CritiqueId,
    /// Where it stands.
    pub state: CritiqueState,
    /// When releasing: when it goes out.
    #[schema(required)]
    pub release_at: Option<DateTime<Utc>>,
    /// When it went out.
    #[schema(required)]
    pub released_at: Option<DateTime<Utc>>,
    /// The words over all notes.
    pub summary: String,
    /// Of the summary.
    pub version: i32,
    /// Whether the asker may write it.
    pub may_edit: bool,
    /// The shot.
    pub shot: PageShot,
    /// The student.
    pub student: Named,
    /// The author.
    pub mentor: Named,
    /// The submission it answers.
    pub submission: Submission,
    /// The revision.
    pub revision: PageRevision,
    /// Its footage.
    pub footage: Footage,
    /// Days since the revision before was sent.
    #[schema(required)]
    pub days_since_last: Option<i64>,
    /// The student's last critique in one glance.
    #[schema(required)]
    pub last_critique: Option<LastCritique>,
    /// The revisions before, oldest first.
    pub revisions: Vec<EarlierRevision>,
    /// Concerns carried here, open first.
    pub carried: Vec<CarriedConcern>,
    /// The notes of this critique.
    pub notes: Vec<Note>,
    /// Its strokes.
    pub strokes: Vec<Stroke>,
    /// Its paths of dots.
    pub traces: Vec<Trace>,
    /// What was added after release.
    pub amendments: Vec<Amendment>,
}

/// The shot of a page.
#[derive(Debug, Serialize, ToSchema)]
pub struct PageShot {
    /// Its id.
    pub id: ShotId,
    /// Its title.
    pub title: String,
    /// The number of its first frame.
    pub first_frame: i32,
    /// The course.
    pub course: Named,
}

/// The revision of a page.
#[derive(Debug, Serialize, ToSchema)]
pub struct PageRevision {
    /// Its id.
    pub id: RevisionId,
    /// r1, r2, ...
    pub number: i32,
    /// How far it had come.
    pub stage: Stage,
}

/// A critique in one glance.
#[derive(Debug, Serialize, ToSchema)]
pub struct LastCritique {
    /// Its id.
    pub critique_id: CritiqueId,
    /// Its shot, by its title.
    pub shot: Named,
    /// The revision's number.
    pub number: i32,
    /// When it went out.
    pub released_at: DateTime<Utc>,
    /// Its summary.
    pub summary: String,
    /// Its notes, a line each.
    pub notes: Vec<NoteLine>,
}

/// A note in one line.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoteLine {
    /// What it wants.
    pub kind: Kind,
    /// The words.
    pub words: String,
    /// Its concern.
    pub concern_id: ConcernId,
}

/// A revision before this one.
#[derive(Debug, Serialize, ToSchema)]
pub struct EarlierRevision {
    /// Its id.
    pub id: RevisionId,
    /// r1, r2, ...
    pub number: i32,
    /// How far it had come.
    pub stage: Stage,
    /// When it was sent.
    pub sent_at: DateTime<Utc>,
    /// Its footage.
    pub footage: Footage,
    /// Its critique, if it is out.
    #[schema(required)]
    pub critique_id: Option<CritiqueId>,
    /// Its frames on today's.
    pub map: FrameMap,
    /// Its notes.
    pub notes: Vec<EarlierNote>,
    /// Its strokes.
    pub strokes: Vec<Stroke>,
}

/// A note of an earlier revision, at today's frames.
#[derive(Debug, Serialize, ToSchema)]
pub struct EarlierNote {
    /// The note.
    #[serde(flatten)]
    pub note: Note,
    /// On today's frames.
    pub mapped: Span,
    /// Whether that is unsure.
    pub unsure: bool,
    /// Where its concern stood then.
    pub standing: Standing,
}

/// A concern carried here.
#[derive(Debug, Serialize, ToSchema)]
pub struct CarriedConcern {
    /// The concern.
    pub concern: Concern,
    /// On today's frames.
    pub mapped: Span,
    /// Whether that is unsure.
    pub unsure: bool,
    /// What was said of it here.
    #[schema(required)]
    pub verdict: Option<GivenVerdict>,
    /// Where it stands with that.
    pub standing: Standing,
    /// Where it stood before.
    pub standing_before: Standing,
}

/// A verdict and its version.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct GivenVerdict {
    /// What was said.
    pub verdict: Verdict,
    /// From 1.
    pub version: i32,
}

/// A concern with its history.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Concern {
    /// Its id.
    pub id: ConcernId,
    /// Its first note, cut short.
    pub title: String,
    /// What its latest note wants.
    pub kind: Kind,
    /// How much that weighs.
    pub urgency: Urgency,
    /// What it is about.
    pub principles: Vec<Principle>,
    /// Which parts.
    pub parts: Vec<PartRef>,
    /// Revision by revision.
    pub history: Vec<ConcernStep>,
}

/// One step of a concern's history.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ConcernStep {
    /// The revision's number.
    pub revision: i32,
    /// Where it stood then.
    pub standing: Standing,
    /// The note that named it.
    #[schema(required)]
    pub note_id: Option<NoteId>,
    /// That note's frames.
    #[schema(required)]
    pub span: Option<Span>,
}

/// A note as its author writes it.
#[derive(Debug, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NoteDraft {
    /// The version that is changed; 0: it is new.
    #[validate(range(min = 0, max = 1_000_000))]
    pub version: i32,
    /// What it wants.
    pub kind: Kind,
    /// How much it weighs.
    pub urgency: Urgency,
    /// What it is about.
    #[validate(length(max = 12))]
    pub principles: Vec<Principle>,
    /// Which parts.
    #[validate(length(max = 12))]
    pub parts: Vec<PartRef>,
    /// Which frames.
    pub span: Span,
    /// Where in the picture.
    pub region: Option<Region>,
    /// The words.
    #[validate(length(max = 8000))]
    pub words: String,
    /// A measurable request.
    pub ask: Option<Ask>,
    /// An earlier concern it is about; none: its own.
    pub concern_id: Option<ConcernId>,
}

/// A verdict as it is given; none takes it away.
#[derive(Debug, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VerdictDraft {
    /// The version that is changed; 0: none was given.
    #[validate(range(min = 0, max = 1_000_000))]
    pub version: i32,
    /// What.
    pub verdict: Option<Verdict>,
}

/// The summary as it is written.
#[derive(Debug, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SummaryDraft {
    /// The version that is changed.
    #[validate(range(min = 0, max = 1_000_000))]
    pub version: i32,
    /// The words.
    #[validate(length(max = 8000))]
    pub summary: String,
}

/// The version something is at.
#[derive(Debug, Serialize, ToSchema)]
pub struct Version {
    /// From 1.
    pub version: i32,
}

/// A stroke in picture units.
#[derive(Debug, Clone, Serialize, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Stroke {
    /// Its id, made by the client.
    pub id: StrokeId,
    /// The frame it is drawn on.
    #[validate(range(min = 0, max = 1_000_000))]
    pub frame: i32,
    /// The last frame it is held over.
    #[validate(range(min = 0, max = 1_000_000))]
    pub hold_to: i32,
    /// The note it belongs to.
    #[schema(required)]
    pub note_id: Option<NoteId>,
    /// `#rrggbb`.
    #[validate(length(min = 7, max = 7))]
    pub color: String,
    /// In picture heights.
    #[validate(range(min = 0.0001, max = 0.5))]
    pub size: f32,
    /// Drawn with a pen, so that its pressures are real.
    pub pen: bool,
    /// x, y, pressure, each 0..1.
    #[validate(length(min = 1, max = 5000))]
    #[schema(value_type = Vec<(f64, f64, f64)>)]
    pub points: Vec<[f64; 3]>,
}

/// A path of dots set by hand.
#[derive(Debug, Clone, Serialize, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Trace {
    /// Its id, made by the client.
    pub id: TraceId,
    /// The part it follows.
    #[schema(required)]
    pub part: Option<PartRef>,
    /// `#rrggbb`.
    #[validate(length(min = 7, max = 7))]
    pub color: String,
    /// One dot a frame, by frame.
    #[validate(length(max = 3600))]
    pub dots: Vec<Dot>,
}

/// A dot on a frame.
#[derive(Debug, Clone, Copy, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Dot {
    /// The frame.
    pub frame: i32,
    /// 0..1 of the width.
    pub x: f64,
    /// 0..1 of the height.
    pub y: f64,
}

/// What was added after release.
#[derive(Debug, Serialize, ToSchema)]
pub struct Amendment {
    /// Its id.
    pub id: AmendmentId,
    /// The note it is about; none: the whole.
    #[schema(required)]
    pub note_id: Option<NoteId>,
    /// The words.
    pub words: String,
    /// Who wrote it.
    pub by: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// What is to be added.
#[derive(Debug, Deserialize, Validate, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewAmendment {
    /// The note it is about; none: the whole.
    pub note_id: Option<NoteId>,
    /// The words.
    #[validate(length(min = 1, max = 8000))]
    pub words: String,
}
