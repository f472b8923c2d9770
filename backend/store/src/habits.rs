//! What keeps coming back for a student, and for a school as numbers alone.

use crate::statement::statement;
use crate::{Conn, StoreError, StoreResult};
use diesel::sql_types::{Bool, Integer, Jsonb, Nullable, Text, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{ConcernId, PersonId, Principle, ShotId};
use std::collections::BTreeMap;

/// A shot of a student with a released critique.
#[derive(Clone, Debug, diesel::QueryableByName)]
pub struct TalkedOf {
    /// The shot.
    #[diesel(sql_type = SqlUuid)]
    pub shot_id: ShotId,
    /// Its title.
    #[diesel(sql_type = Text)]
    pub title: String,
    /// The student's present mentor; nobody (nil) if the asker may not know them.
    #[diesel(sql_type = SqlUuid)]
    pub mentor_id: PersonId,
}

/// A concern that wants something, and how long it was followed.
#[derive(Clone, Debug, diesel::QueryableByName)]
pub struct Followed {
    /// Which.
    #[diesel(sql_type = SqlUuid)]
    pub concern_id: ConcernId,
    /// Of which shot.
    #[diesel(sql_type = SqlUuid)]
    pub shot_id: ShotId,
    /// Its main principle, if one was named.
    #[diesel(sql_type = Nullable<Text>)]
    pub principle: Option<Principle>,
    /// Its main part, if one was named.
    #[diesel(sql_type = Nullable<Text>)]
    pub part: Option<String>,
    /// Critiques after the one that noted it, until it was cleared or as far as there are any.
    #[diesel(sql_type = Integer)]
    pub revisions: i32,
    /// Whether it was cleared then.
    #[diesel(sql_type = Bool)]
    pub cleared: bool,
}

/// How many students of the school have something in so many of their shots.
#[derive(Clone, Debug, PartialEq, Eq, diesel::QueryableByName)]
pub struct SchoolHabit {
    /// The principle; none in the rows that count all students by their shots.
    #[diesel(sql_type = Nullable<Text>)]
    pub principle: Option<Principle>,
    /// The body area; none there too.
    #[diesel(sql_type = Nullable<Text>)]
    pub area: Option<String>,
    /// Shots that have it.
    #[diesel(sql_type = Integer)]
    pub with_it: i32,
    /// Shots with a released critique.
    #[diesel(sql_type = Integer)]
    pub shots: i32,
    /// So many students.
    #[diesel(sql_type = Integer)]
    pub students: i32,
}

/// How many concerns of the school took so long.
#[derive(Clone, Debug, PartialEq, Eq, diesel::QueryableByName)]
pub struct SchoolClearing {
    /// The principle.
    #[diesel(sql_type = Text)]
    pub principle: Principle,
    /// The body area.
    #[diesel(sql_type = Text)]
    pub area: String,
    /// Critiques after the first.
    #[diesel(sql_type = Integer)]
    pub revisions: i32,
    /// Cleared then; else still open when last seen.
    #[diesel(sql_type = Bool)]
    pub cleared: bool,
    /// So many concerns.
    #[diesel(sql_type = Integer)]
    pub concerns: i32,
}

/// What was released to one student, as far as the asker sees it.
#[derive(Clone, Debug, Default)]
pub struct OfStudent {
    /// Their shots with a released critique, newest first.
    pub shots: Vec<TalkedOf>,
    /// The concerns of these.
    pub concerns: Vec<Followed>,
}

/// What the asker's school has, as numbers alone; both empty while fewer than five of its students have been told anything.
#[derive(Clone, Debug, Default)]
pub struct OfSchool {
    /// How often what recurs.
    pub habits: Vec<SchoolHabit>,
    /// How long what takes to clear.
    pub clearing: Vec<SchoolClearing>,
}

/// What was released to the student.
pub async fn of_student(conn: &mut Conn, student: PersonId) -> StoreResult<OfStudent> {
    let shots = statement(
        "SELECT s.id AS shot_id, s.title, coalesce(e.mentor_id, '00000000-0000-0000-0000-000000000000') AS mentor_id
         FROM shot s LEFT JOIN enrolment e ON e.id = s.enrolment_id
         WHERE s.id IN (SELECT c.shot_id FROM critique c WHERE c.student_id = $1 AND c.released_at <= now())
         ORDER BY s.created_at DESC, s.id DESC",
    )
    .bind::<SqlUuid, _>(student)
    .load(conn)
    .await?;
    let concerns = statement(
        "SELECT f.concern_id, f.shot_id, f.principle, f.part, f.revisions, f.cleared FROM concern_followed f
         WHERE f.school_id = app_school() AND f.student_id = $1",
    )
    .bind::<SqlUuid, _>(student)
    .load(conn)
    .await?;
    Ok(OfStudent { shots, concerns })
}

/// What the school has, through the doors `school_habits` and `school_clearing`; `areas` says which body area a part belongs to.
pub async fn of_school(conn: &mut Conn, areas: &BTreeMap<String, String>) -> StoreResult<OfSchool> {
    let areas = serde_json::to_value(areas).map_err(|e| StoreError::Nonsense(e.to_string()))?;
    let habits = statement("SELECT * FROM school_habits($1)")
        .bind::<Jsonb, _>(&areas)
        .load(conn)
        .await?;
    let clearing = statement("SELECT * FROM school_clearing($1)")
        .bind::<Jsonb, _>(&areas)
        .load(conn)
        .await?;
    Ok(OfSchool { habits, clearing })
}
