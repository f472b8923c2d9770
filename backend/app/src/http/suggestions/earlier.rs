//! From rows to what the computation reads: the notes of a shot's earlier revisions, on today's frames.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use critique::contract;
use critique::{Critic, Earlier};
use domain::frame_map::FrameMap;
use domain::picture::Span;
use domain::{ConcernId, FootageId, Kind, Standing};
use store::Conn;
use store::critiques::Critique;
use store::footage::{self, Footage};
use store::notes::{self, Note};
use store::shots;
use store::standings::{self, Course};

use super::types::TypedNote;
use crate::http::critiques::frame_map_between;
use crate::http::problem::{Answer, Problem};

/// What is known of a shot before the critique that is being written.
pub(super) struct Past {
    number: i32,
    own: Footage,
    notes: Vec<Note>,
    courses: Vec<Course>,
    /// Per earlier revision: its frames on today's.
    maps: HashMap<i32, FrameMap>,
}

/// An earlier note as it lies on today's frames, and where its concern stands.
#[derive(Debug)]
pub(super) struct Held<'a> {
    /// The note.
    pub note: &'a Note,
    /// On today's frames.
    pub mapped: Span,
    /// Whether that is unsure.
    pub unsure: bool,
    concern: usize,
    cleared: bool,
    idle: u32,
}

impl Past {
    /// Reads it, in a fixed number of queries.
    pub async fn read(conn: &mut Conn, critique: Critique, now: DateTime<Utc>) -> Answer<Past> {
        let shot = critique.shot_id;
        let chain = shots::footage_by_number(conn, shot).await?;
        let ids: Vec<FootageId> = chain.iter().map(|(_, footage)| *footage).collect();
        let mut footage: HashMap<FootageId, Footage> = footage::by_ids(conn, &ids)
            .await?
            .into_iter()
            .map(|found| (found.id, found))
            .collect();
        let own = footage
            .remove(&critique.footage_id)
            .ok_or_else(Problem::not_found)?;
        let maps = chain
            .iter()
            .filter(|(number, _)| *number < critique.number)
            .filter_map(|(number, id)| {
                let old = footage.get(id)?;
                Some((*number, frame_map_between(old, &own)))
            })
            .collect();
        Ok(Past {
            number: critique.number,
            own,
            notes: notes::of_shots(conn, &[shot]).await?,
            courses: standings::of_shots(conn, &[shot], now, true)
                .await?
                .courses
                .remove(&shot)
                .unwrap_or_default(),
            maps,
        })
    }

    /// Frames of today's footage.
    pub fn frames(&self) -> i32 {
        self.own.frames
    }

    /// Every earlier note that a new one may be about.
    pub fn held(&self) -> Vec<Held<'_>> {
        held(&self.notes, &self.courses, self.number, &self.maps)
    }
}

/// Notes of concerns that are carried to the revision `number`. Praise and questions want nothing, so nothing recurs of them.
fn held<'a>(
    notes: &'a [Note],
    courses: &[Course],
    number: i32,
    maps: &HashMap<i32, FrameMap>,
) -> Vec<Held<'a>> {
    let carried: HashMap<ConcernId, (usize, Standing, u32)> = courses
        .iter()
        .enumerate()
        .filter_map(|(at, course)| {
            let standing = course.before(number)?;
            (standing != Standing::SetAside)
                .then(|| (course.concern, (at, standing, idle(course, number))))
        })
        .collect();
    notes
        .iter()
        .filter(|note| note.number < number)
        .filter(|note| !matches!(note.content.kind, Kind::Keep | Kind::Question))
        .filter_map(|note| {
            let (concern, standing, idle) = *carried.get(&note.concern)?;
            let (mapped, unsure) = maps.get(&note.number)?.carry(note.content.span);
            Some(Held {
                note,
                mapped,
                unsure,
                concern,
                cleared: standing == Standing::Cleared,
                idle,
            })
        })
        .collect()
}

/// Revisions before `number` in which nothing was said of the concern, since something was.
fn idle(course: &Course, number: i32) -> u32 {
    let before: Vec<_> = course
        .steps
        .iter()
        .take_while(|step| step.number < number)
        .collect();
    let silent = before.windows(2).rev().take_while(|pair| {
        let (earlier, step) = (pair[0], pair[1]);
        step.note.is_none()
            && (step.standing == Some(Standing::Unmentioned)
                || step.standing == Some(Standing::Cleared)
                    && earlier.standing == Some(Standing::Cleared))
    });
    u32::try_from(silent.count()).unwrap_or(u32::MAX)
}

impl Held<'_> {
    /// Taken apart, for the computation.
    pub fn earlier(&self, critic: &Critic) -> Earlier {
        Earlier {
            note: critic.analyse(&written(self.note)),
            span: (f64::from(self.mapped.start), f64::from(self.mapped.end)),
            concern: self.concern,
            cleared: self.cleared,
            idle: self.idle,
        }
    }
}

/// A note that was written.
fn written(note: &Note) -> contract::Note {
    let content = &note.content;
    contract::Note {
        kind: Some(content.kind),
        ..said(
            &note.id.to_string(),
            &content.words,
            content.span,
            &content.principles,
            &content.parts,
        )
    }
}

/// A note that is being typed.
pub(super) fn typed(input: &TypedNote) -> contract::Note {
    contract::Note {
        kind: input.kind,
        ..said(
            "typed",
            &input.words,
            input.span,
            &input.principles,
            &input.parts,
        )
    }
}

fn said(
    id: &str,
    words: &str,
    span: Span,
    principles: &[domain::Principle],
    parts: &[domain::parts::PartRef],
) -> contract::Note {
    let part = |part: &domain::parts::PartRef| contract::Part {
        name: part.part.clone(),
        side: part.side,
    };
    contract::Note {
        id: id.to_owned(),
        text: words.to_owned(),
        span: (span.start.into(), span.end.into()),
        kind: None,
        weight: None,
        principles: (!principles.is_empty()).then(|| principles.to_vec()),
        parts: (!parts.is_empty()).then(|| parts.iter().map(part).collect()),
        evidence: vec![],
    }
}

#[cfg(test)]
mod tests {
    use domain::{CritiqueId, NoteId, Urgency};
    use store::notes::Content;
    use store::standings::Step;
    use uuid::Uuid;

    use super::*;

    fn note(number: i32, concern: u128, kind: Kind, span: (i32, i32)) -> Note {
        Note {
            id: NoteId(Uuid::from_u128(
                concern * 100 + number.unsigned_abs() as u128,
            )),
            critique: CritiqueId(Uuid::from_u128(number.unsigned_abs().into())),
            concern: ConcernId(Uuid::from_u128(concern)),
            shot: Uuid::from_u128(1).into(),
            student: Uuid::from_u128(2).into(),
            number,
            content: Content {
                kind,
                urgency: Urgency::Should,
                principles: vec![],
                parts: vec![],
                span: Span {
                    start: span.0,
                    end: span.1,
                },
                region: None,
                words: "The left wrist pops.".into(),
                ask: None,
            },
            version: 1,
            updated_at: DateTime::UNIX_EPOCH,
            answer: None,
        }
    }

    /// A concern through r1, r2, ...: what it stands at after each, and whether a note named it.
    fn course(concern: u128, steps: &[(Option<Standing>, bool)]) -> Course {
        let step = |(number, (standing, named)): (i32, &(Option<Standing>, bool))| Step {
            number,
            critique: CritiqueId(Uuid::from_u128(number.unsigned_abs().into())),
            note: named.then(|| NoteId(Uuid::from_u128(concern * 100))),
            standing: *standing,
        };
        Course {
            concern: ConcernId(Uuid::from_u128(concern)),
            steps: (1..).zip(steps).map(step).collect(),
        }
    }

    const NOTED: (Option<Standing>, bool) = (Some(Standing::Noted), true);
    const SILENT: (Option<Standing>, bool) = (Some(Standing::Unmentioned), false);
    const CLEARED: (Option<Standing>, bool) = (Some(Standing::Cleared), false);
    const ASIDE: (Option<Standing>, bool) = (Some(Standing::SetAside), false);

    #[test]
    fn silence_is_counted_since_something_was_said() {
        for (steps, silent) in [
            (vec![NOTED], 0),
            (vec![NOTED, SILENT], 1),
            (vec![NOTED, SILENT, SILENT], 2),
            (vec![NOTED, SILENT, NOTED], 0),
            (vec![NOTED, CLEARED], 0),
            (vec![NOTED, CLEARED, CLEARED], 1),
        ] {
            let number = i32::try_from(steps.len()).unwrap_or(0) + 1;
            assert_eq!(idle(&course(1, &steps), number), silent, "{steps:?}");
        }
        // What comes at or after the revision in question is not looked at.
        assert_eq!(idle(&course(1, &[NOTED, SILENT, SILENT]), 3), 1);
    }

    #[test]
    fn earlier_notes_of_carried_concerns_are_held_on_todays_frames() {
        let notes = [
            note(1, 5, Kind::Fix, (10, 20)),
            note(1, 6, Kind::Keep, (0, 3)),
            note(1, 7, Kind::Fix, (0, 3)),
            note(2, 5, Kind::Consider, (24, 24)),
            note(3, 5, Kind::Fix, (0, 1)),
        ];
        let courses = [
            course(5, &[NOTED, NOTED, NOTED]),
            course(6, &[NOTED, SILENT, SILENT]),
            course(7, &[NOTED, ASIDE, ASIDE]),
        ];
        let maps = HashMap::from([
            (1, FrameMap::proportional(41, 81)),
            (2, FrameMap::proportional(81, 81)),
        ]);
        let held = held(&notes, &courses, 3, &maps);
        let spans: Vec<_> = held
            .iter()
            .map(|h| (h.note.number, h.mapped.start, h.mapped.end, h.concern))
            .collect();
        assert_eq!(spans, [(1, 20, 40, 0), (2, 24, 24, 0)]);
        assert!(held.iter().all(|h| h.unsure && !h.cleared && h.idle == 0));
    }

    #[test]
    fn what_was_not_clicked_is_left_to_the_words() {
        let bare = typed(&TypedNote {
            words: "pops".into(),
            span: Span { start: 3, end: 4 },
            kind: None,
            urgency: None,
            principles: vec![],
            parts: vec![],
        });
        assert_eq!(
            (bare.kind, bare.principles, bare.span),
            (None, None, (3, 4))
        );
        assert!(bare.parts.is_none());
        let written = written(&note(1, 5, Kind::Fix, (1, 2)));
        assert_eq!(written.kind, Some(Kind::Fix));
    }
}
