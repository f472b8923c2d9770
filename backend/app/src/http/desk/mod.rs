//! The mentor's desk.

use actix_web::get;
use actix_web::web::{Data, Json, Query};
use chrono::{DateTime, NaiveDate, Utc};
use domain::{Action, Facts, FootageId, FootageState, ShotId, Stage, SubmissionId, permit};
use serde::Serialize;
use store::{desk, quota, schools, standings, submissions};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::http::enrolments::types::Named;
use crate::http::footage::types::{Strip, strip_of};
use crate::http::page::{Page, PageQuery};
use crate::http::problem::{Answer, Problem};
use crate::http::submissions::promise::today;
use crate::http::submissions::types::{Submission, submission};
use crate::http::who::Who;
use crate::state::State;

/// Adds the route.
pub fn configure(api: &mut ServiceConfig) {
    api.service(read_desk);
}

/// One submission that waits, or whose critique is a draft.
#[derive(Debug, Serialize, ToSchema)]
pub struct DeskRow {
    /// The submission.
    pub submission: Submission,
    /// The shot.
    pub shot: Named,
    /// The student.
    pub student: Named,
    /// The course.
    pub course: Named,
    /// The revision's number.
    pub revision: i32,
    /// Its footage.
    pub footage: DeskFootage,
    /// Days past the promise; below zero: days left.
    pub late_days: i64,
    /// Days since the revision before was sent.
    #[schema(required)]
    pub days_since_last: Option<i64>,
    /// When this student's last critique went out.
    #[schema(required)]
    pub last_seen_at: Option<DateTime<Utc>>,
    /// Concerns of the shot that still want something.
    pub concerns_open: i64,
    /// Not opened yet.
    pub is_new: bool,
    /// Notes of the draft.
    pub drafted_notes: i64,
    /// The stage of the revision before, if it was another.
    #[schema(required)]
    pub stage_changed_from: Option<Stage>,
}

/// Footage on the desk.
#[derive(Debug, Serialize, ToSchema)]
pub struct DeskFootage {
    /// Its id.
    pub id: FootageId,
    /// Where its preparation stands.
    pub state: FootageState,
    /// 0..1.
    pub progress: f32,
    /// Its frames.
    pub frames: i32,
    /// How the strip is laid out.
    #[schema(required)]
    pub strip: Option<Strip>,
}

/// What waits, by promised day.
#[utoipa::path(tag = "desk", params(PageQuery), responses((status = 200, body = Page<DeskRow>)))]
#[get("/desk")]
async fn read_desk(
    state: Data<State>,
    who: Who,
    query: Query<PageQuery>,
) -> Answer<Json<Page<DeskRow>>> {
    permit(&who.0, Action::Critique, &Facts::of_school(who.0.school))?;
    let (limit, after, now) = (
        query.limit(),
        query.after::<(NaiveDate, SubmissionId)>()?,
        state.clock.now(),
    );
    let page = state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            let rows = desk::list(conn, who.0.person, now, after, limit + 1).await?;
            let page = Page::cut(
                rows,
                limit,
                |row| (row.promised_on, row.submission_id),
                |row| row,
            );
            let shots: Vec<ShotId> = page.items.iter().map(|row| row.shot_id).collect();
            let open = standings::open_counts(conn, &shots, now).await?;
            let mut sent: std::collections::HashMap<_, _> = submissions::of_shots(conn, &shots)
                .await?
                .into_iter()
                .map(|sent| (sent.id, sent))
                .collect();
            let enrolments: Vec<_> = sent.values().map(|sent| sent.enrolment_id).collect();
            let quotas = quota::of(conn, &enrolments).await?;
            let day = today(&schools::own(conn).await?, now);
            let mut items = vec![];
            for row in page.items {
                let Some(found) = sent.remove(&row.submission_id) else {
                    continue;
                };
                let quota = quotas.get(&found.enrolment_id).cloned().unwrap_or_default();
                items.push(shown(row, submission(found, quota, now), &open, day));
            }
            Ok(Page {
                items,
                next_cursor: page.next_cursor,
            })
        })
        .await?;
    Ok(Json(page))
}

fn shown(
    row: desk::Row,
    sent: Submission,
    open: &std::collections::HashMap<ShotId, i64>,
    day: NaiveDate,
) -> DeskRow {
    DeskRow {
        late_days: (day - row.promised_on).num_days(),
        days_since_last: row
            .sent_before
            .map(|before| (sent.sent_at - before).num_days()),
        stage_changed_from: row.stage_before.filter(|before| *before != sent.stage),
        is_new: sent.opened_at.is_none(),
        concerns_open: open.get(&row.shot_id).copied().unwrap_or(0),
        footage: DeskFootage {
            id: row.footage_id,
            state: row.footage_state,
            progress: row.progress,
            frames: row.frames,
            strip: strip_of(row.derived.as_ref()),
        },
        shot: Named {
            id: row.shot_id.0,
            name: row.shot,
        },
        student: Named {
            id: row.student_id.0,
            name: row.student,
        },
        course: Named {
            id: row.course_id.0,
            name: row.course,
        },
        revision: row.number,
        last_seen_at: row.last_seen_at,
        drafted_notes: row.drafted_notes,
        submission: sent,
    }
}
