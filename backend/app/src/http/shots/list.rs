use std::collections::HashMap;

use actix_web::get;
use actix_web::web::{Data, Json, Query};
use chrono::{DateTime, Utc};
use domain::{Action, EnrolmentId, Facts, Quota, ShotId, permit};
use store::{Conn, quota, shots, standings};

use super::types::{RevisionSummary, ShotQuery, ShotSummary};
use crate::http::enrolments::types::Named;
use crate::http::page::{Page, PageQuery};
use crate::http::problem::{Answer, Problem};
use crate::http::submissions::types::submission;
use crate::http::who::Who;
use crate::state::State;

/// Shots with their chains, newest first.
#[utoipa::path(tag = "shots", params(ShotQuery), responses((status = 200, body = Page<ShotSummary>)))]
#[get("/shots")]
pub(super) async fn list_shots(
    state: Data<State>,
    who: Who,
    query: Query<ShotQuery>,
) -> Answer<Json<Page<ShotSummary>>> {
    permit(&who.0, Action::ReadShot, &Facts::of_school(who.0.school))?;
    let query = query.into_inner();
    let page = PageQuery {
        limit: query.limit,
        cursor: query.cursor,
    };
    let (limit, after) = (page.limit(), page.after::<(DateTime<Utc>, ShotId)>()?);
    let now = state.clock.now();
    let page = state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            let rows = shots::list(conn, query.student.map(Into::into), after, limit + 1).await?;
            let page = Page::cut(rows, limit, |row| (row.created_at, row.id), |row| row);
            Ok(Page {
                items: summaries(conn, page.items, now).await?,
                next_cursor: page.next_cursor,
            })
        })
        .await?;
    Ok(Json(page))
}

/// Shots with chains, quotas and open concerns, in three queries whatever their number.
pub(super) async fn summaries(
    conn: &mut Conn,
    rows: Vec<shots::Shot>,
    now: DateTime<Utc>,
) -> Answer<Vec<ShotSummary>> {
    let ids: Vec<ShotId> = rows.iter().map(|row| row.id).collect();
    let enrolments: Vec<EnrolmentId> = rows.iter().map(|row| row.enrolment_id).collect();
    let mut chains = shots::chains(conn, &ids).await?;
    let quotas: HashMap<EnrolmentId, Quota> = quota::of(conn, &enrolments).await?;
    let open = standings::open_counts(conn, &ids, now).await?;
    Ok(rows
        .into_iter()
        .map(|row| {
            let quota = quotas.get(&row.enrolment_id).cloned().unwrap_or_default();
            let revisions = chains.remove(&row.id).unwrap_or_default();
            ShotSummary {
                id: row.id,
                title: row.title,
                enrolment_id: row.enrolment_id,
                course: Named {
                    id: row.course_id.0,
                    name: row.course,
                },
                student: Named {
                    id: row.student_id.0,
                    name: row.student,
                },
                first_frame: row.first_frame,
                revisions: revisions
                    .into_iter()
                    .map(|revision| summary(revision, &quota, now))
                    .collect(),
                open_concerns: open.get(&row.id).copied().unwrap_or(0),
            }
        })
        .collect())
}

fn summary(revision: shots::Revision, quota: &Quota, now: DateTime<Utc>) -> RevisionSummary {
    RevisionSummary {
        id: revision.id,
        number: revision.number,
        stage: revision.stage,
        footage_id: revision.footage_id,
        footage_state: revision.footage_state,
        frames: revision.frames,
        submission: submission(revision.submission, quota.clone(), now),
    }
}
