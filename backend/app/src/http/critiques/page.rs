//! The page put together: a fixed number of queries, whatever the length of the chain.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use domain::frame_map::FrameMap;
use domain::standing::is_open;
use domain::{Actor, CritiqueId, FootageId, NoteId, Standing};
use store::critiques::Critique;
use store::notes::Note;
use store::shots::{Revision, Shot};
use store::standings::{Course, Standings};
use store::{
    Conn, StoreError, amendments, critiques, drawings, footage, notes, quota, shots, standings,
    verdicts,
};

use super::concerns::concern;
use super::types::{
    Amendment, CarriedConcern, CritiquePage, CritiqueState, EarlierNote, EarlierRevision,
    GivenVerdict, LastCritique, NoteLine, PageRevision, PageShot, Stroke, Trace,
};
use crate::http::enrolments::types::Named;
use crate::http::problem::{Answer, Problem};
use crate::http::submissions::types::submission;

/// What was read for a page.
pub(super) struct Read {
    critique: Critique,
    shot: Shot,
    chain: Vec<Revision>,
    footage: HashMap<FootageId, footage::Footage>,
    notes: Vec<Note>,
    standings: Standings,
    verdicts: Vec<verdicts::Given>,
    strokes: Vec<drawings::Stroke>,
}

/// The page of a critique that the asker may see.
pub(super) async fn page(
    conn: &mut Conn,
    actor: &Actor,
    critique: Critique,
    now: DateTime<Utc>,
) -> Answer<CritiquePage> {
    let read = read(conn, critique, now).await?;
    let id = read.critique.id;
    let traces = drawings::traces(conn, id)
        .await?
        .into_iter()
        .map(trace)
        .collect::<Result<_, StoreError>>()?;
    let amendments = amendments::of(conn, id)
        .await?
        .into_iter()
        .map(amendment)
        .collect();
    let quota = quota::of_one(conn, read.critique.enrolment_id).await?;
    let last_critique = last_critique(conn, &read, now).await?;
    let sent = read
        .chain
        .iter()
        .find(|revision| revision.number == read.critique.number)
        .ok_or_else(Problem::not_found)?;
    let own = read
        .footage
        .get(&read.critique.footage_id)
        .cloned()
        .ok_or_else(Problem::not_found)?;
    let before = read
        .chain
        .iter()
        .rfind(|revision| counts(revision) && revision.number < read.critique.number);
    let by_id: HashMap<NoteId, &Note> = read.notes.iter().map(|note| (note.id, note)).collect();
    let (released, leaving) = (
        read.critique.released_at.filter(|at| *at <= now),
        read.critique.released_at.filter(|at| *at > now),
    );
    Ok(CritiquePage {
        id,
        state: match (released, leaving) {
            (Some(_), _) => CritiqueState::Released,
            (_, Some(_)) => CritiqueState::Releasing,
            _ => CritiqueState::Draft,
        },
        release_at: leaving,
        released_at: released,
        summary: read.critique.summary.clone(),
        version: read.critique.version,
        may_edit: read.critique.mentor_id == actor.person
            && read.critique.present_mentor_id == Some(actor.person),
        shot: PageShot {
            id: read.shot.id,
            title: read.shot.title.clone(),
            first_frame: read.shot.first_frame,
            course: Named {
                id: read.shot.course_id.0,
                name: read.shot.course.clone(),
            },
        },
        student: Named {
            id: read.shot.student_id.0,
            name: read.shot.student.clone(),
        },
        mentor: Named {
            id: read.critique.mentor_id.0,
            name: read.critique.mentor.clone().unwrap_or_default(),
        },
        submission: submission(sent.submission.clone(), quota, now),
        revision: PageRevision {
            id: sent.id,
            number: sent.number,
            stage: sent.stage,
        },
        days_since_last: before
            .map(|before| (sent.submission.sent_at - before.submission.sent_at).num_days()),
        last_critique,
        revisions: earlier(&read, &own)?,
        carried: carried(&read, &own, &by_id),
        notes: read
            .notes
            .iter()
            .filter(|note| note.critique == id)
            .cloned()
            .map(Into::into)
            .collect(),
        strokes: read
            .strokes
            .iter()
            .filter(|stroke| stroke.critique_id == id)
            .cloned()
            .map(stroke)
            .collect::<Result<_, StoreError>>()?,
        traces,
        amendments,
        footage: own.into(),
    })
}

/// One concern as it is carried to this critique.
pub(super) async fn carried_one(
    conn: &mut Conn,
    critique: Critique,
    wanted: domain::ConcernId,
    now: DateTime<Utc>,
) -> Answer<CarriedConcern> {
    let read = read(conn, critique, now).await?;
    let own = read
        .footage
        .get(&read.critique.footage_id)
        .cloned()
        .ok_or_else(Problem::not_found)?;
    let by_id: HashMap<NoteId, &Note> = read.notes.iter().map(|note| (note.id, note)).collect();
    carried(&read, &own, &by_id)
        .into_iter()
        .find(|carried| carried.concern.id == wanted)
        .ok_or_else(Problem::not_found)
}

async fn read(conn: &mut Conn, critique: Critique, now: DateTime<Utc>) -> Answer<Read> {
    let shot = shots::get(conn, critique.shot_id)
        .await?
        .ok_or_else(Problem::not_found)?;
    let chain = shots::chains(conn, &[shot.id])
        .await?
        .remove(&shot.id)
        .unwrap_or_default();
    let ids: Vec<FootageId> = chain.iter().map(|revision| revision.footage_id).collect();
    let footage = footage::by_ids(conn, &ids)
        .await?
        .into_iter()
        .map(|found| (found.id, found))
        .collect();
    let notes = notes::of_shots(conn, &[shot.id]).await?;
    let standings = standings::of_shots(conn, &[shot.id], now, true).await?;
    let verdicts = verdicts::of(conn, critique.id).await?;
    let rounds: Vec<CritiqueId> = standings
        .rounds
        .values()
        .flatten()
        .map(|round| round.critique_id)
        .collect();
    let strokes = drawings::strokes(conn, &rounds).await?;
    Ok(Read {
        critique,
        shot,
        chain,
        footage,
        notes,
        standings,
        verdicts,
        strokes,
    })
}

/// Withdrawn and returned revisions were never seen.
fn counts(revision: &Revision) -> bool {
    revision.submission.withdrawn_at.is_none() && revision.submission.returned_at.is_none()
}

/// The one place that decides how two revisions correspond.
pub(in crate::http) fn frame_map_between(
    old: &footage::Footage,
    new: &footage::Footage,
) -> FrameMap {
    FrameMap::proportional(old.frames, new.frames)
}

fn courses(read: &Read) -> &[Course] {
    read.standings
        .courses
        .get(&read.shot.id)
        .map(Vec::as_slice)
        .unwrap_or_default()
}

fn earlier(read: &Read, own: &footage::Footage) -> Result<Vec<EarlierRevision>, StoreError> {
    let mut revisions = vec![];
    for revision in read
        .chain
        .iter()
        .filter(|revision| counts(revision) && revision.number < read.critique.number)
    {
        let Some(old) = read.footage.get(&revision.footage_id) else {
            continue;
        };
        let map = frame_map_between(old, own);
        let critique = revision.submission.critique_id;
        let notes = read
            .notes
            .iter()
            .filter(|note| Some(note.critique) == critique)
            .map(|note| earlier_note(read, note, &map))
            .collect();
        let strokes = read
            .strokes
            .iter()
            .filter(|stroke| Some(stroke.critique_id) == critique)
            .cloned()
            .map(stroke)
            .collect::<Result<_, _>>()?;
        revisions.push(EarlierRevision {
            id: revision.id,
            number: revision.number,
            stage: revision.stage,
            sent_at: revision.submission.sent_at,
            critique_id: critique,
            footage: old.clone().into(),
            map,
            notes,
            strokes,
        });
    }
    Ok(revisions)
}

fn earlier_note(read: &Read, note: &Note, map: &FrameMap) -> EarlierNote {
    let standing = courses(read)
        .iter()
        .find(|course| course.concern == note.concern)
        .and_then(|course| {
            course
                .steps
                .iter()
                .find(|step| step.critique == note.critique)?
                .standing
        })
        .unwrap_or(Standing::Noted);
    let (mapped, unsure) = map.carry(note.content.span);
    EarlierNote {
        note: note.clone().into(),
        mapped,
        unsure,
        standing,
    }
}

/// Every concern named before this revision and not set aside before it; those that want something first.
fn carried(
    read: &Read,
    own: &footage::Footage,
    notes: &HashMap<NoteId, &Note>,
) -> Vec<CarriedConcern> {
    let number = read.critique.number;
    let mut all: Vec<CarriedConcern> = courses(read)
        .iter()
        .filter_map(|course| carry(read, own, notes, course, number))
        .collect();
    all.sort_by_key(|carried| (!is_open(carried.standing_before), carried.mapped.start));
    all
}

fn carry(
    read: &Read,
    own: &footage::Footage,
    notes: &HashMap<NoteId, &Note>,
    course: &Course,
    number: i32,
) -> Option<CarriedConcern> {
    let before = course
        .before(number)
        .filter(|standing| *standing != Standing::SetAside)?;
    let concern = concern(course, notes, Some(number))?;
    let latest = concern
        .history
        .iter()
        .rev()
        .find(|step| step.span.is_some())?;
    let old = read
        .chain
        .iter()
        .find(|revision| revision.number == latest.revision)
        .and_then(|revision| read.footage.get(&revision.footage_id))?;
    let (mapped, unsure) = frame_map_between(old, own).carry(latest.span?);
    let standing = course
        .steps
        .iter()
        .find(|step| step.number == number)
        .and_then(|step| step.standing)
        .unwrap_or(before);
    let verdict = read
        .verdicts
        .iter()
        .find(|given| given.concern_id == course.concern);
    let verdict = verdict.map(|given| GivenVerdict {
        verdict: given.judged,
        version: given.version,
    });
    Some(CarriedConcern {
        concern,
        mapped,
        unsure,
        verdict,
        standing,
        standing_before: before,
    })
}

/// The newest critique of this shot that was out before this submission was opened, or that of another shot of its student.
async fn last_critique(
    conn: &mut Conn,
    read: &Read,
    now: DateTime<Utc>,
) -> Answer<Option<LastCritique>> {
    let until = read
        .critique
        .released_at
        .map_or(now, |at| at.min(now) - chrono::TimeDelta::milliseconds(1));
    let (student, own) = (read.critique.student_id, &read.shot);
    let Some(last) = critiques::last_before(conn, student, own.id, until).await? else {
        return Ok(None);
    };
    let (shot, lines) = if last.shot_id == own.id {
        (Some(own.title.clone()), read.notes.clone())
    } else {
        let shot = shots::get(conn, last.shot_id).await?;
        let lines = notes::of_shots(conn, &[last.shot_id]).await?;
        (shot.map(|shot| shot.title), lines)
    };
    Ok(last
        .released_at
        .zip(shot)
        .map(|(released_at, title)| LastCritique {
            critique_id: last.id,
            shot: Named::new(last.shot_id.0, title),
            number: last.number,
            released_at,
            summary: last.summary,
            notes: lines
                .into_iter()
                .filter(|note| note.critique == last.id)
                .map(|note| NoteLine {
                    kind: note.content.kind,
                    words: note.content.words,
                    concern_id: note.concern,
                })
                .collect(),
        }))
}

fn nonsense(error: &serde_json::Error) -> StoreError {
    StoreError::Nonsense(error.to_string())
}

pub(super) fn stroke(row: drawings::Stroke) -> Result<Stroke, StoreError> {
    let points = serde_json::from_value(row.points).map_err(|e| nonsense(&e))?;
    Ok(Stroke {
        id: row.id,
        frame: row.frame,
        hold_to: row.hold_to,
        note_id: row.note_id,
        color: row.color,
        size: row.size,
        pen: row.pen,
        points,
    })
}

fn trace(row: drawings::Trace) -> Result<Trace, StoreError> {
    let part = row
        .part
        .map(serde_json::from_value)
        .transpose()
        .map_err(|e| nonsense(&e))?;
    let dots = serde_json::from_value(row.dots).map_err(|e| nonsense(&e))?;
    Ok(Trace {
        id: row.id,
        part,
        color: row.color,
        dots,
    })
}

fn amendment(row: amendments::Amendment) -> Amendment {
    Amendment {
        id: row.id,
        note_id: row.note_id,
        words: row.words,
        by: row.by,
        at: row.at,
    }
}
