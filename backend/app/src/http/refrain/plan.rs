use std::collections::HashMap;

use actix_web::get;
use actix_web::web::{Data, Json, Path};
use critique::plan::{OpenConcern, plan};
use domain::{Action, Facts, Kind, NoteId, ShotId, permit};
use store::notes::Note;
use store::standings::Course;
use store::{notes, shots, standings};

use super::recurring::{Recurring, recurring};
use super::types::{RefrainPlan, RefrainPlanStep};
use crate::http::critiques::concern;
use crate::http::critiques::types::Concern;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// A habit is what was noted in so many shots.
const HABIT_SHOTS: u32 = 2;

/// What to take up in the next pass of a shot: at most three of its open concerns, with reasons; by released critiques alone.
#[utoipa::path(tag = "refrain", responses((status = 200, body = RefrainPlan)))]
#[get("/shots/{id}/plan")]
pub(super) async fn read_shot_plan(
    state: Data<State>,
    who: Who,
    id: Path<ShotId>,
) -> Answer<Json<RefrainPlan>> {
    let now = state.clock.now();
    let plan = state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            let row = shots::get(conn, *id)
                .await?
                .ok_or_else(Problem::not_found)?;
            permit(
                &who.0,
                Action::ReadRefrain,
                &Facts::between(who.0.school, row.student_id, row.mentor_id),
            )?;
            let mut standings = standings::of_shots(conn, &[*id], now, false).await?;
            let notes = notes::of_shots(conn, &[*id]).await?;
            let found = recurring(conn, &state, &who.0, row.student_id).await?;
            let courses = standings.courses.remove(&id).unwrap_or_default();
            Ok(planned(&courses, &notes, &found))
        })
        .await?;
    Ok(Json(plan))
}

fn planned(courses: &[Course], notes: &[Note], found: &Recurring) -> RefrainPlan {
    let by_id: HashMap<NoteId, &Note> = notes.iter().map(|note| (note.id, note)).collect();
    let mut concerns: HashMap<String, Concern> = courses
        .iter()
        .filter(|course| course.now().is_some_and(domain::standing::is_open))
        .filter_map(|course| concern(course, &by_id, None))
        .filter(|concern| concern.kind != Kind::Keep)
        .map(|concern| (concern.id.to_string(), concern))
        .collect();
    let open: Vec<OpenConcern> = courses
        .iter()
        .filter_map(|course| {
            let concern = concerns.get(&course.concern.to_string())?;
            asked(course, concern, found)
        })
        .collect();
    let steps = plan(&open)
        .into_iter()
        .filter_map(|step| {
            Some(RefrainPlanStep {
                concern: concerns.remove(&step.id)?,
                reasons: step.reasons,
            })
        })
        .collect();
    RefrainPlan {
        open: open.len(),
        steps,
    }
}

fn asked(course: &Course, concern: &Concern, found: &Recurring) -> Option<OpenConcern> {
    let key = found.keys.get(&course.concern);
    let since = course
        .steps
        .iter()
        .skip_while(|step| step.standing.is_none());
    let habit = found
        .habits
        .iter()
        .find(|habit| Some(&habit.key) == key && habit.count.with >= HABIT_SHOTS);
    Some(OpenConcern {
        id: course.concern.to_string(),
        standing: course.now()?,
        urgency: Some(concern.urgency),
        principle: concern.principles.first().copied(),
        age: u32::try_from(since.count().saturating_sub(1)).unwrap_or(u32::MAX),
        usual: key
            .and_then(|key| found.usual.get(key))
            .and_then(|usual| usual.curve.median),
        // Where the school says nothing, nothing is above it.
        habit: habit
            .filter(|_| found.school_known)
            .map(|habit| habit.above_school),
    })
}
