//! A shot's grid from its chain, notes and standings.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use domain::standing::stayed_away;
use domain::{EnrolmentId, Kind, NoteId, Principle, Quota, ShotId, Standing};
use store::notes::Note;
use store::shots::{Revision, Shot};
use store::standings::{Course, Standings};
use store::{Conn, notes, quota, shots, standings};

use super::types::{RefrainCell, RefrainGroup, RefrainRevision, RefrainRow, RefrainShot};
use crate::http::critiques::concern;
use crate::http::enrolments::types::Named;
use crate::http::problem::Answer;

/// The grids of these shots, by what is released at `now`; five queries whatever their number.
pub(super) async fn grids(
    conn: &mut Conn,
    rows: Vec<Shot>,
    now: DateTime<Utc>,
) -> Answer<Vec<RefrainShot>> {
    let ids: Vec<ShotId> = rows.iter().map(|row| row.id).collect();
    let enrolments: Vec<EnrolmentId> = rows.iter().map(|row| row.enrolment_id).collect();
    let mut chains = shots::chains(conn, &ids).await?;
    let standings = standings::of_shots(conn, &ids, now, false).await?;
    let notes = notes::of_shots(conn, &ids).await?;
    let quotas = quota::of(conn, &enrolments).await?;
    let by_id: HashMap<NoteId, &Note> = notes.iter().map(|note| (note.id, note)).collect();
    Ok(rows
        .into_iter()
        .map(|row| {
            let chain = chains.remove(&row.id).unwrap_or_default();
            let quota = quotas.get(&row.enrolment_id).cloned().unwrap_or_default();
            grid(row, &chain, &standings, &by_id, quota, now)
        })
        .collect())
}

fn grid(
    row: Shot,
    chain: &[Revision],
    standings: &Standings,
    notes: &HashMap<NoteId, &Note>,
    quota: Quota,
    now: DateTime<Utc>,
) -> RefrainShot {
    let revisions: Vec<RefrainRevision> = chain
        .iter()
        .filter(|revision| {
            revision.submission.withdrawn_at.is_none() && revision.submission.returned_at.is_none()
        })
        .map(|revision| {
            let released = revision.submission.released_at.is_some_and(|at| at <= now);
            RefrainRevision {
                id: revision.id,
                number: revision.number,
                sent_at: revision.submission.sent_at,
                critique_id: revision.submission.critique_id.filter(|_| released),
                footage_id: revision.footage_id,
                released,
            }
        })
        .collect();
    let courses = standings
        .courses
        .get(&row.id)
        .map(Vec::as_slice)
        .unwrap_or_default();
    let rows = courses
        .iter()
        .filter_map(|course| refrain_row(course, &revisions, notes))
        .collect();
    RefrainShot {
        shot: Named {
            id: row.id.0,
            name: row.title,
        },
        first_frame: row.first_frame,
        quota,
        revisions,
        groups: groups(rows),
    }
}

fn refrain_row(
    course: &Course,
    revisions: &[RefrainRevision],
    notes: &HashMap<NoteId, &Note>,
) -> Option<RefrainRow> {
    let concern = concern(course, notes, None)?;
    let cells = revisions
        .iter()
        .map(|revision| {
            let step = course
                .steps
                .iter()
                .find(|step| step.number == revision.number);
            let note = step.and_then(|step| notes.get(&step.note?));
            RefrainCell {
                revision: revision.number,
                standing: step.and_then(|step| step.standing),
                span: note.map(|note| note.content.span),
                note_id: note.map(|note| note.id),
                words: note.map(|note| note.content.words.clone()),
                critique_id: step.map(|step| step.critique),
            }
        })
        .collect();
    let history: Vec<Option<Standing>> = course.steps.iter().map(|step| step.standing).collect();
    let cleared = history
        .iter()
        .rev()
        .take_while(|standing| **standing == Some(Standing::Cleared))
        .count();
    let cleared_in = (cleared > 0).then(|| course.steps[course.steps.len() - cleared].number);
    Some(RefrainRow {
        concern,
        cells,
        came_back_after: stayed_away(&history).and_then(|n| i64::try_from(n).ok()),
        cleared_in,
    })
}

/// Rows by their first principle, in the order of the principles; without one after those; praise last.
fn groups(rows: Vec<RefrainRow>) -> Vec<RefrainGroup> {
    let mut groups: Vec<RefrainGroup> = vec![];
    for row in rows {
        let keep = row.concern.kind == Kind::Keep;
        let principle = row.concern.principles.first().copied().filter(|_| !keep);
        match groups
            .iter_mut()
            .find(|group| group.keep == keep && group.principle == principle)
        {
            Some(group) => group.rows.push(row),
            None => groups.push(RefrainGroup {
                principle,
                keep,
                rows: vec![row],
            }),
        }
    }
    let place = |principle: Option<Principle>| {
        principle.map_or(usize::MAX, |p| {
            Principle::ALL
                .iter()
                .position(|q| *q == p)
                .unwrap_or(usize::MAX)
        })
    };
    groups.sort_by_key(|group| (group.keep, place(group.principle)));
    groups
}
