//! The shape of the scenario: plain data that a loader can play through the program's own requests.

use serde::Serialize;

use crate::clip::{Scene, Take};
use crate::motion::fault::FaultKind;
use crate::motion::skeleton::Joint;

/// A day counted back from the first start, and a time of that day at the school.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Moment {
    /// Minutes since the midnight that began the day of the first start; negative before it.
    pub minutes: i32,
}

impl Moment {
    /// `days_before` the first start, at `hour`:`minute`.
    #[must_use]
    pub const fn new(days_before: u16, hour: u8, minute: u8) -> Self {
        Self {
            minutes: -(days_before as i32) * 1440 + hour as i32 * 60 + minute as i32,
        }
    }

    /// Whole days before the day of the first start.
    #[must_use]
    pub const fn days_before(self) -> i32 {
        -self.minutes.div_euclid(1440)
    }

    /// Hour and minute of that day.
    #[must_use]
    pub const fn time(self) -> (u8, u8) {
        let m = self.minutes.rem_euclid(1440);
        ((m / 60) as u8, (m % 60) as u8)
    }
}

/// What a person may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the vocabulary explains itself")]
pub enum Role {
    Mentor,
    Student,
    Office,
}

/// A person of the school.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct PersonPlan {
    /// Name in this plan.
    pub key: &'static str,
    /// Full name.
    pub name: &'static str,
    /// Sign-in address, in a domain that cannot exist.
    pub email: &'static str,
    /// What the person may do.
    pub role: Role,
}

/// An assignment of a course.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct AssignmentPlan {
    /// Name in this plan.
    pub key: &'static str,
    /// Its title.
    pub title: &'static str,
    /// What is asked.
    pub brief: &'static str,
}

/// A course.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CoursePlan {
    /// Name in this plan.
    pub key: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What it is about.
    pub brief: &'static str,
    /// Submissions a student gets.
    pub granted: u32,
    /// Days until the critique is promised.
    pub promise_days: u32,
    /// What shots can answer.
    pub assignments: Vec<AssignmentPlan>,
}

/// Submissions granted or taken back by the office.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct AdjustmentPlan {
    /// More or, negative, fewer.
    pub amount: i32,
    /// Why.
    pub reason: &'static str,
    /// When.
    pub at: Moment,
}

/// A student in a course.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EnrolmentPlan {
    /// The student's key.
    pub student: &'static str,
    /// The mentor's key.
    pub mentor: &'static str,
    /// The course's key.
    pub course: &'static str,
    /// First day.
    pub starts: Moment,
    /// Changes by the office.
    pub adjustments: Vec<AdjustmentPlan>,
}

/// How far a revision has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the vocabulary explains itself")]
pub enum Stage {
    Blocking,
    BlockingPlus,
    Spline,
    Polish,
}

/// Kind of a note.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the vocabulary explains itself")]
pub enum Kind {
    Fix,
    Consider,
    Keep,
    Question,
}

/// Urgency of a note.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the vocabulary explains itself")]
pub enum Urgency {
    Must,
    Should,
    IfTime,
}

/// The principles a note may name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the vocabulary explains itself")]
pub enum Principle {
    Spacing,
    Timing,
    Arcs,
    Overlap,
    Contact,
    Weight,
    Posing,
    Anticipation,
    Staging,
    Acting,
    Facial,
    Polish,
}

/// A side of the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the vocabulary explains itself")]
pub enum Side {
    Left,
    Right,
    Both,
}

/// A part of the body with its side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct PartPlan {
    /// A node of the tree of parts.
    pub part: &'static str,
    /// Its side, where it has one.
    pub side: Option<Side>,
}

/// The parts notes may name.
pub const PARTS: [&str; 30] = [
    "body", "upper", "lower", "spine", "chest", "shoulder", "arm", "elbow", "wrist", "hand",
    "fingers", "neck", "head", "face", "eyes", "brows", "mouth", "ears", "hair", "hips", "hip",
    "leg", "knee", "ankle", "foot", "toe", "tail", "cloth", "prop", "camera",
];

/// Verdict on a carried concern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the vocabulary explains itself")]
pub enum Verdict {
    Still,
    Eased,
    Cleared,
    SetAside,
}

/// What an ask asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the vocabulary explains itself")]
pub enum AskWhat {
    AddFrames,
    RemoveFrames,
    Offset,
    Hold,
    Scale,
}

/// A measurable request.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AskPlan {
    /// For what.
    pub what: AskWhat,
    /// Frames, or times for a scale.
    pub amount: f32,
}

/// Frames of one revision, 0-based and inclusive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Span {
    /// First frame.
    pub start: usize,
    /// Last frame.
    pub end: usize,
}

/// What a student answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the vocabulary explains itself")]
pub enum AnswerKind {
    WillDo,
    Done,
    Leaving,
}

/// A student's answer to a note.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AnswerPlan {
    /// What it says.
    pub kind: AnswerKind,
    /// In words; for `leaving`, why.
    pub words: &'static str,
    /// When.
    pub at: Moment,
}

/// A drawn line. Points are x / width, y / height, pressure 0..1.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StrokePlan {
    /// Frame it is drawn on.
    pub frame: usize,
    /// Last frame it shows on.
    pub hold_to: usize,
    /// Pencil colour, #rrggbb.
    pub color: &'static str,
    /// Width in picture heights.
    pub size: f32,
    /// The line.
    pub points: Vec<[f32; 3]>,
}

/// Dots set by hand on a part, one a frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TracePlan {
    /// On what.
    pub part: PartPlan,
    /// Pencil colour, #rrggbb.
    pub color: &'static str,
    /// Frame, x / width, y / height.
    pub dots: Vec<(usize, f32, f32)>,
}

/// A note of a critique.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotePlan {
    /// The concern it speaks of.
    pub concern: String,
    /// The earlier concern it is tied to, if the concern is older than this critique.
    pub ties_to: Option<String>,
    /// Kind.
    pub kind: Kind,
    /// Urgency.
    pub urgency: Urgency,
    /// Principles, the main one first.
    pub principles: Vec<Principle>,
    /// Parts.
    pub parts: Vec<PartPlan>,
    /// Frames.
    pub span: Span,
    /// The mentor's words. Frame numbers in it count from the shot's first frame.
    pub words: String,
    /// A measurable request.
    pub ask: Option<AskPlan>,
    /// The fault of the picture it speaks of, where the picture has it as a parameter.
    pub fault: Option<FaultName>,
    /// Lines drawn for it.
    pub strokes: Vec<StrokePlan>,
    /// Dots set for it.
    pub traces: Vec<TracePlan>,
    /// What the student answered.
    pub answer: Option<AnswerPlan>,
}

/// A fault by name: what and where.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct FaultName {
    /// What.
    pub kind: FaultKind,
    /// Where.
    pub part: Joint,
}

/// A verdict on an earlier concern.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct VerdictPlan {
    /// The concern.
    pub concern: String,
    /// What was found.
    pub verdict: Verdict,
}

/// A remark added after release.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AmendmentPlan {
    /// The concern of the note it belongs to, or none for the whole critique.
    pub concern: Option<&'static str>,
    /// What it says.
    pub words: &'static str,
    /// When.
    pub at: Moment,
}

/// The mentor's answer to a revision.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CritiquePlan {
    /// When the mentor opened the submission.
    pub opened: Moment,
    /// When it was released; none while it is a draft.
    pub released: Option<Moment>,
    /// A few words on the whole.
    pub summary: &'static str,
    /// Verdicts on carried concerns; a concern not named is left unmentioned.
    pub verdicts: Vec<VerdictPlan>,
    /// Notes.
    pub notes: Vec<NotePlan>,
    /// Later remarks.
    pub amendments: Vec<AmendmentPlan>,
}

/// A revision as sent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RevisionPlan {
    /// 1 for r1.
    pub number: u32,
    /// When it was sent.
    pub sent: Moment,
    /// How far it has come.
    pub stage: Stage,
    /// The student's own words.
    pub words: &'static str,
    /// Its picture.
    pub take: Take,
    /// Number of frames.
    pub frames: usize,
    /// When the student withdrew it, if so.
    pub withdrawn: Option<Moment>,
    /// The critique, once opened.
    pub critique: Option<CritiquePlan>,
}

/// A shot with its revisions.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShotPlan {
    /// Name in this plan.
    pub key: &'static str,
    /// Its title.
    pub title: &'static str,
    /// The student's key.
    pub student: &'static str,
    /// The course's key.
    pub course: &'static str,
    /// The assignment it answers, by key.
    pub assignment: Option<&'static str>,
    /// Number of its first frame.
    pub first_frame: u32,
    /// What its pictures show.
    pub scene: Scene,
    /// r1, r2, ...
    pub revisions: Vec<RevisionPlan>,
}

/// The school.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SchoolPlan {
    /// Name in addresses.
    pub slug: &'static str,
    /// Its name.
    pub name: &'static str,
    /// Where its clock runs.
    pub time_zone: &'static str,
    /// Always true: nothing here exists.
    pub invented: bool,
    /// The same in words, to be shown.
    pub notice: &'static str,
}

/// The whole scenario.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Scenario {
    /// The school.
    pub school: SchoolPlan,
    /// Everybody's password.
    pub password: &'static str,
    /// Everybody.
    pub people: Vec<PersonPlan>,
    /// Courses.
    pub courses: Vec<CoursePlan>,
    /// Who is in which course with whom.
    pub enrolments: Vec<EnrolmentPlan>,
    /// Shots. The first three are to be made ready first.
    pub shots: Vec<ShotPlan>,
}
