//! What keeps coming back for a student beside their school, computed once for whoever asks.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use critique::habits::{self, Count, Counted, HabitKey};
use critique::survival::{self, Curve};
use domain::{Action, Actor, ConcernId, Facts, PersonId, ShotId, permit};
use store::habits::{Followed, OfSchool, OfStudent, SchoolHabit, TalkedOf};
use store::{Conn, StoreResult};

use crate::state::State;

/// What keeps coming back, as far as the asker may know.
pub(super) struct Recurring {
    /// The shots with a released critique, newest first.
    pub shots: Vec<TalkedOf>,
    /// The habits, surest above the school first.
    pub habits: Vec<habits::Habit>,
    /// The shots of each.
    pub places: HashMap<HabitKey, BTreeSet<ShotId>>,
    /// How long they took to clear for the student.
    pub own: HashMap<HabitKey, Clearing>,
    /// How long they take in the school; none for what the school says nothing about.
    pub usual: HashMap<HabitKey, Clearing>,
    /// What each concern is about.
    pub keys: HashMap<ConcernId, HabitKey>,
    /// Whether the school's numbers are known: fewer than five students say nothing.
    pub school_known: bool,
}

/// How long concerns of one sort take to clear.
pub(super) struct Clearing {
    /// How many there were.
    pub concerns: usize,
    /// How many of them were cleared.
    pub cleared: usize,
    /// The estimate.
    pub curve: Curve,
}

/// Reads and computes it.
pub(super) async fn recurring(
    conn: &mut Conn,
    state: &State,
    who: &Actor,
    student: PersonId,
) -> StoreResult<Recurring> {
    let areas = state.critics.built_in().lexicon.areas();
    let mut own = store::habits::of_student(conn, student).await?;
    own.shots.retain(|shot| {
        let facts = Facts::between(who.school, student, shot.mentor_id);
        permit(who, Action::ReadRefrain, &facts).is_ok()
    });
    let (critics, now) = (&state.critics, state.clock.now());
    let school = state
        .usual
        .of_school(conn, critics, who.school, now)
        .await?;
    Ok(compute(areas, own, &school))
}

fn compute(areas: &BTreeMap<String, String>, own: OfStudent, school: &OfSchool) -> Recurring {
    let seen: HashSet<ShotId> = own.shots.iter().map(|shot| shot.shot_id).collect();
    let mut places: HashMap<HabitKey, BTreeSet<ShotId>> = HashMap::new();
    let mut took: HashMap<HabitKey, Vec<survival::Followed>> = HashMap::new();
    let mut keys = HashMap::new();
    for concern in own.concerns.iter().filter(|c| seen.contains(&c.shot_id)) {
        let Some(key) = key_of(areas, concern) else {
            continue;
        };
        places
            .entry(key.clone())
            .or_default()
            .insert(concern.shot_id);
        took.entry(key.clone())
            .or_default()
            .push(followed(concern.revisions, concern.cleared));
        keys.insert(concern.concern_id, key);
    }
    let shots = count(own.shots.len());
    let counted = places
        .iter()
        .map(|(key, shots_with)| Counted {
            key: key.clone(),
            own: Count {
                with: count(shots_with.len()),
                shots,
            },
            school: counts_of(key, &school.habits),
        })
        .collect();
    Recurring {
        habits: habits::habits(counted),
        school_known: !school.habits.is_empty(),
        own: curves(took),
        usual: curves(of_all(school)),
        shots: own.shots,
        places,
        keys,
    }
}

fn key_of(areas: &BTreeMap<String, String>, concern: &Followed) -> Option<HabitKey> {
    Some(HabitKey {
        principle: concern.principle?,
        area: areas.get(concern.part.as_ref()?)?.clone(),
    })
}

fn followed(revisions: i32, cleared: bool) -> survival::Followed {
    survival::Followed {
        time: f64::from(revisions),
        cleared,
    }
}

fn curves(took: HashMap<HabitKey, Vec<survival::Followed>>) -> HashMap<HabitKey, Clearing> {
    took.into_iter()
        .map(|(key, followed)| {
            let clearing = Clearing {
                concerns: followed.len(),
                cleared: followed.iter().filter(|f| f.cleared).count(),
                curve: survival::curve(&followed),
            };
            (key, clearing)
        })
        .collect()
}

fn of_all(school: &OfSchool) -> HashMap<HabitKey, Vec<survival::Followed>> {
    let mut all: HashMap<HabitKey, Vec<survival::Followed>> = HashMap::new();
    for row in &school.clearing {
        let key = HabitKey {
            principle: row.principle,
            area: row.area.clone(),
        };
        let same = std::iter::repeat_n(followed(row.revisions, row.cleared), size(row.concerns));
        all.entry(key).or_default().extend(same);
    }
    all
}

/// The count of every student of the school: those who have it as they are counted, all others with none.
fn counts_of(key: &HabitKey, rows: &[SchoolHabit]) -> Vec<Count> {
    let mut left: BTreeMap<i32, i32> = BTreeMap::new();
    let mut counts = vec![];
    for row in rows {
        let all = row.principle.is_none();
        if all {
            *left.entry(row.shots).or_default() += row.students;
        } else if row.principle == Some(key.principle) && row.area.as_ref() == Some(&key.area) {
            *left.entry(row.shots).or_default() -= row.students;
            let one = Count {
                with: row.with_it.unsigned_abs(),
                shots: row.shots.unsigned_abs(),
            };
            counts.extend(std::iter::repeat_n(one, size(row.students)));
        }
    }
    for (shots, students) in left {
        let none = Count {
            with: 0,
            shots: shots.unsigned_abs(),
        };
        counts.extend(std::iter::repeat_n(none, size(students)));
    }
    counts
}

fn size(number: i32) -> usize {
    usize::try_from(number).unwrap_or_default()
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
