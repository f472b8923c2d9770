use actix_web::get;
use actix_web::web::{Data, Json, Query};
use critique::habits::{Habit, HabitKey};
use domain::{Action, Facts, PersonId, Role, permit};
use store::StoreError;

use super::recurring::{Clearing, Recurring, recurring};
use super::types::{HabitClearing, HabitsQuery, RefrainHabit, RefrainHabits};
use crate::http::enrolments::types::Named;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// What keeps coming back for a student over their shots, beside the school; by released critiques alone.
#[utoipa::path(tag = "refrain", params(HabitsQuery), responses((status = 200, body = RefrainHabits)))]
#[get("/refrain/habits")]
pub(super) async fn read_habits(
    state: Data<State>,
    who: Who,
    query: Query<HabitsQuery>,
) -> Answer<Json<RefrainHabits>> {
    permit(&who.0, Action::ReadRefrain, &Facts::of_school(who.0.school))?;
    let own = who.0.is(Role::Student).then_some(who.0.person);
    let student: PersonId =
        query.student.map(PersonId).or(own).ok_or_else(|| {
            Problem::invalid("student", "is missing", "Say whose habits you mean.")
        })?;
    let found = state
        .db
        .scoped::<_, StoreError, _>(&who.0, async |conn| {
            recurring(conn, &state, &who.0, student).await
        })
        .await?;
    Ok(Json(shown(&found)))
}

fn shown(found: &Recurring) -> RefrainHabits {
    RefrainHabits {
        shots: found.shots.len(),
        school_known: found.school_known,
        habits: found.habits.iter().map(|habit| one(found, habit)).collect(),
    }
}

fn one(found: &Recurring, habit: &Habit) -> RefrainHabit {
    let key: &HabitKey = &habit.key;
    let has = |id| found.places.get(key).is_some_and(|at| at.contains(&id));
    let named = found.shots.iter().filter(|shot| has(shot.shot_id));
    RefrainHabit {
        principle: key.principle,
        area: key.area.clone(),
        with_it: habit.count.with,
        shots: habit.count.shots,
        rate: habit.rate,
        low: habit.interval.0,
        high: habit.interval.1,
        school: habit.school,
        above_school: habit.above_school,
        caution: habit.caution,
        in_shots: named
            .map(|shot| Named {
                id: shot.shot_id.0,
                name: shot.title.clone(),
            })
            .collect(),
        clearing: found.own.get(key).map(clearing),
        school_clearing: found.usual.get(key).map(clearing),
    }
}

fn clearing(of: &Clearing) -> HabitClearing {
    HabitClearing {
        concerns: of.concerns,
        cleared_count: of.cleared,
        middle: of.curve.median,
        caution: of.curve.caution,
    }
}
