//! A short way to write shots: spans and frame numbers are written in the unretimed performance and land where each revision has them.

use crate::clip::{Look, Play, Scene, Take, warp_of};
use crate::motion::actions::{Action, Variation};
use crate::motion::build::Character;
use crate::motion::fault::{Fault, FaultKind};
use crate::motion::perform::Stepping;
use crate::motion::skeleton::Joint;
use crate::motion::warp::{Retime, Warp};
use crate::plan::{
    AmendmentPlan, AnswerKind, AnswerPlan, AskPlan, AskWhat, CritiquePlan, FaultName, Kind, Moment,
    NotePlan, PartPlan, Principle, RevisionPlan, ShotPlan, Side, Span, Stage, Urgency, Verdict,
    VerdictPlan,
};
use crate::render::light::Mood;
use crate::render::set::Place;

use super::marks::{self, Mark};

/// `days` before the first start, at `hour`:`minute`.
pub const fn at(days: u16, hour: u8, minute: u8) -> Moment {
    Moment::new(days, hour, minute)
}

/// A part with a side.
pub const fn sided(part: &'static str, side: Side) -> PartPlan {
    PartPlan {
        part,
        side: Some(side),
    }
}

/// A part without a side.
pub const fn part(part: &'static str) -> PartPlan {
    PartPlan { part, side: None }
}

/// A scene at 24 frames a second.
pub const fn scene(
    action: Action,
    character: Character,
    place: Place,
    vigour: f32,
    open: f32,
    mirrored: bool,
) -> Scene {
    Scene {
        action,
        character,
        place,
        variation: Variation {
            vigour,
            open,
            mirrored,
        },
        fps: 24,
    }
}

/// A fault; its strength is given where a revision has it.
pub const fn fault(kind: FaultKind, part: Joint, from: f32, to: f32, angle: f32) -> Fault {
    Fault {
        kind,
        part,
        from,
        to,
        strength: 1.0,
        angle,
    }
}

/// The picture of a revision.
pub const fn take(finish: Look, mood: Mood) -> Take {
    Take {
        finish,
        stepping: Stepping::Ones,
        retime: Vec::new(),
        mood,
        nudge: [0.0, 0.0, 1.0],
        faults: Vec::new(),
        burn_in: None,
    }
}

impl Take {
    /// On twos.
    pub fn twos(mut self) -> Self {
        self.stepping = Stepping::Twos;
        self
    }

    /// Held poses at these frames.
    pub fn poses(mut self, keys: &'static [f32]) -> Self {
        self.stepping = Stepping::Poses(keys);
        self
    }

    /// Puts `frames` in (or takes them out) around `at`, spread over `over`.
    pub fn retimed(mut self, at: f32, over: f32, frames: f32) -> Self {
        self.retime.push(Retime { at, over, frames });
        self
    }

    /// Has this fault.
    pub fn with(mut self, fault: Fault, strength: f32) -> Self {
        self.faults.push(fault.at(strength));
        self
    }

    /// Camera moved a little.
    pub fn nudged(mut self, right: f32, up: f32, zoom: f32) -> Self {
        self.nudge = [right, up, zoom];
        self
    }

    /// Frame numbers burnt in.
    pub fn numbered(mut self, first: u32) -> Self {
        self.burn_in = Some(first);
        self
    }
}

/// A note before its frames are known.
pub struct NoteSketch {
    plan: NotePlan,
    span: (f32, f32),
    marks: Vec<Mark>,
}

/// Starts a note. `{61}` in the words becomes the number the revision shows on that frame of the performance.
pub fn note(
    concern: &str,
    kind: Kind,
    urgency: Urgency,
    principles: &[Principle],
    parts: &[PartPlan],
    span: (f32, f32),
    words: &str,
) -> NoteSketch {
    NoteSketch {
        plan: NotePlan {
            concern: concern.to_owned(),
            ties_to: None,
            kind,
            urgency,
            principles: principles.to_vec(),
            parts: parts.to_vec(),
            span: Span { start: 0, end: 0 },
            words: words.to_owned(),
            ask: None,
            fault: None,
            strokes: Vec::new(),
            traces: Vec::new(),
            answer: None,
        },
        span,
        marks: Vec::new(),
    }
}

impl NoteSketch {
    /// Asks for something measurable.
    pub const fn ask(mut self, what: AskWhat, amount: f32) -> Self {
        self.plan.ask = Some(AskPlan { what, amount });
        self
    }

    /// Speaks of this fault of the picture.
    pub const fn of(mut self, fault: Fault) -> Self {
        self.plan.fault = Some(FaultName {
            kind: fault.kind,
            part: fault.part,
        });
        self
    }

    /// Draws on the frame.
    pub fn mark(mut self, mark: Mark) -> Self {
        self.marks.push(mark);
        self
    }

    /// The student's answer.
    pub const fn answer(mut self, kind: AnswerKind, words: &'static str, at: Moment) -> Self {
        self.plan.answer = Some(AnswerPlan { kind, words, at });
        self
    }

    fn land(self, known: &[String], on: &Landing<'_>) -> NotePlan {
        let mut plan = self.plan;
        plan.ties_to = known.contains(&plan.concern).then(|| plan.concern.clone());
        plan.span = Span {
            start: on.frame(self.span.0),
            end: on.frame(self.span.1),
        };
        plan.words = numbered(&plan.words, on);
        for m in self.marks {
            marks::draw(m, on, &mut plan);
        }
        plan
    }
}

/// Where the performance's frames fall in one revision.
pub struct Landing<'a> {
    warp: &'a Warp,
    /// The revision's joints.
    pub play: &'a Play,
    first_frame: u32,
}

impl Landing<'_> {
    /// Frame of the revision.
    pub fn frame(&self, t: f32) -> usize {
        (self.warp.to_revision(t).round().max(0.0) as usize).min(self.play.frames() - 1)
    }
}

fn numbered(words: &str, on: &Landing<'_>) -> String {
    let mut out = String::new();
    let mut rest = words;
    while let Some((before, tail)) = rest.split_once('{') {
        out.push_str(before);
        let (number, after) = tail.split_once('}').unwrap_or((tail, ""));
        match number.parse::<f32>() {
            Ok(t) => out.push_str(&(on.frame(t) as u32 + on.first_frame).to_string()),
            Err(_) => out.push_str(number),
        }
        rest = after;
    }
    out.push_str(rest);
    out
}

/// A critique before its frames are known.
pub struct CritiqueSketch {
    opened: Moment,
    released: Option<Moment>,
    summary: &'static str,
    verdicts: Vec<VerdictPlan>,
    notes: Vec<NoteSketch>,
    amendments: Vec<AmendmentPlan>,
}

/// A released critique.
pub const fn critique(opened: Moment, released: Moment, summary: &'static str) -> CritiqueSketch {
    CritiqueSketch {
        opened,
        released: Some(released),
        summary,
        verdicts: Vec::new(),
        notes: Vec::new(),
        amendments: Vec::new(),
    }
}

/// A critique still being written.
pub const fn drafting(opened: Moment, summary: &'static str) -> CritiqueSketch {
    CritiqueSketch {
        opened,
        released: None,
        summary,
        verdicts: Vec::new(),
        notes: Vec::new(),
        amendments: Vec::new(),
    }
}

impl CritiqueSketch {
    /// A verdict on an earlier concern.
    pub fn judge(mut self, concern: &str, verdict: Verdict) -> Self {
        self.verdicts.push(VerdictPlan {
            concern: concern.to_owned(),
            verdict,
        });
        self
    }

    /// A note.
    pub fn say(mut self, note: NoteSketch) -> Self {
        self.notes.push(note);
        self
    }

    /// A later remark.
    pub fn amend(mut self, concern: Option<&'static str>, words: &'static str, at: Moment) -> Self {
        self.amendments.push(AmendmentPlan { concern, words, at });
        self
    }
}

/// A shot being written.
pub struct Draft {
    plan: ShotPlan,
    known: Vec<String>,
}

/// Starts a shot.
pub const fn shot(
    key: &'static str,
    title: &'static str,
    student: &'static str,
    course: &'static str,
    assignment: &'static str,
    first_frame: u32,
    scene: Scene,
) -> Draft {
    Draft {
        plan: ShotPlan {
            key,
            title,
            student,
            course,
            assignment: Some(assignment),
            first_frame,
            scene,
            revisions: Vec::new(),
        },
        known: Vec::new(),
    }
}

impl Draft {
    /// A revision nobody has opened.
    pub fn waits(self, sent: Moment, stage: Stage, words: &'static str, take: Take) -> Self {
        self.push(sent, stage, words, take, None)
    }

    /// A revision with a critique.
    pub fn revision(
        self,
        sent: Moment,
        stage: Stage,
        words: &'static str,
        take: Take,
        critique: CritiqueSketch,
    ) -> Self {
        self.push(sent, stage, words, take, Some(critique))
    }

    /// The last revision was withdrawn.
    pub fn withdrawn(mut self, at: Moment) -> Self {
        if let Some(r) = self.plan.revisions.last_mut() {
            r.withdrawn = Some(at);
        }
        self
    }

    fn push(
        mut self,
        sent: Moment,
        stage: Stage,
        words: &'static str,
        take: Take,
        critique: Option<CritiqueSketch>,
    ) -> Self {
        let warp = warp_of(&self.plan.scene, &take.retime);
        let play = Play::new(&self.plan.scene, &take);
        let landing = Landing {
            warp: &warp,
            play: &play,
            first_frame: self.plan.first_frame,
        };
        let critique = critique.map(|c| CritiquePlan {
            opened: c.opened,
            released: c.released,
            summary: c.summary,
            verdicts: c.verdicts,
            notes: c
                .notes
                .into_iter()
                .map(|n| n.land(&self.known, &landing))
                .collect(),
            amendments: c.amendments,
        });
        for n in critique.iter().flat_map(|c| &c.notes) {
            if !self.known.contains(&n.concern) {
                self.known.push(n.concern.clone());
            }
        }
        let number = self.plan.revisions.len() as u32 + 1;
        self.plan.revisions.push(RevisionPlan {
            number,
            sent,
            stage,
            words,
            frames: play.frames(),
            take,
            withdrawn: None,
            critique,
        });
        self
    }

    /// The shot.
    pub fn done(self) -> ShotPlan {
        self.plan
    }
}
