//! Where concerns stand, from what each critique said: read in three queries however many shots, decided by the rules of `domain`.

use crate::statement::statement;
use crate::{Conn, StoreResult};
use chrono::{DateTime, Utc};
use diesel::sql_types::{Array, Integer, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::standing::{Said, history, is_open};
use domain::{ConcernId, CritiqueId, NoteId, RevisionId, ShotId, Standing, Verdict};
use std::collections::HashMap;

/// One critique of a shot that the asker may see, in the order of revisions.
#[derive(Clone, Debug, diesel::QueryableByName)]
pub struct Round {
    /// The shot.
    #[diesel(sql_type = SqlUuid)]
    pub shot_id: ShotId,
    /// The critique.
    #[diesel(sql_type = SqlUuid)]
    pub critique_id: CritiqueId,
    /// The revision it answers.
    #[diesel(sql_type = SqlUuid)]
    pub revision_id: RevisionId,
    /// That revision's number.
    #[diesel(sql_type = Integer)]
    pub number: i32,
    /// When it goes or went out.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub released_at: Option<DateTime<Utc>>,
}

#[derive(diesel::QueryableByName)]
struct WordRow {
    #[diesel(sql_type = SqlUuid)]
    shot_id: ShotId,
    #[diesel(sql_type = SqlUuid)]
    concern_id: ConcernId,
    #[diesel(sql_type = SqlUuid)]
    critique_id: CritiqueId,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    note_id: Option<NoteId>,
    #[diesel(sql_type = Nullable<Text>)]
    judged: Option<Verdict>,
}

/// What one round did to a concern.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Step {
    /// The revision's number.
    pub number: i32,
    /// The critique.
    pub critique: CritiqueId,
    /// A note of it that names the concern.
    pub note: Option<NoteId>,
    /// Where the concern stands after it; none before it was first named.
    pub standing: Option<Standing>,
}

/// One concern through all rounds of its shot.
#[derive(Clone, Debug)]
pub struct Course {
    /// The concern.
    pub concern: ConcernId,
    /// Round by round.
    pub steps: Vec<Step>,
}

impl Course {
    /// Where it stands after the last round.
    #[must_use]
    pub fn now(&self) -> Option<Standing> {
        self.steps.last().and_then(|step| step.standing)
    }

    /// Where it stood before the revision of that number.
    #[must_use]
    pub fn before(&self, number: i32) -> Option<Standing> {
        self.steps
            .iter()
            .take_while(|step| step.number < number)
            .last()
            .and_then(|step| step.standing)
    }
}

/// Rounds and concerns of shots.
#[derive(Clone, Debug, Default)]
pub struct Standings {
    /// Per shot: its rounds in order.
    pub rounds: HashMap<ShotId, Vec<Round>>,
    /// Per shot: its concerns, in the order of being named.
    pub courses: HashMap<ShotId, Vec<Course>>,
}

/// How the concerns of these shots came to stand where they do. Without `drafts`, only what was released by `at` counts.
pub async fn of_shots(
    conn: &mut Conn,
    shots: &[ShotId],
    at: DateTime<Utc>,
    drafts: bool,
) -> StoreResult<Standings> {
    let rounds: Vec<Round> = statement(
        "SELECT c.shot_id, c.id AS critique_id, c.revision_id, r.number, c.released_at FROM critique c JOIN revision r ON r.id = c.revision_id
         WHERE c.shot_id = ANY ($1) AND ($3 OR c.released_at <= $2) ORDER BY c.shot_id, r.number",
    )
    .bind::<Array<SqlUuid>, _>(shots)
    .bind::<Timestamptz, _>(at)
    .bind::<diesel::sql_types::Bool, _>(drafts)
    .load(conn)
    .await?;
    let words: Vec<WordRow> = statement(
        "SELECT n.shot_id, n.concern_id, n.critique_id, n.id AS note_id, NULL::text AS judged FROM note n WHERE n.shot_id = ANY ($1)
         UNION ALL SELECT v.shot_id, v.concern_id, v.critique_id, NULL, v.judged FROM verdict v WHERE v.shot_id = ANY ($1)",
    )
    .bind::<Array<SqlUuid>, _>(shots)
    .load(conn)
    .await?;
    Ok(weave(rounds, words))
}

fn weave(rounds: Vec<Round>, words: Vec<WordRow>) -> Standings {
    let mut standings = Standings::default();
    for round in rounds {
        standings
            .rounds
            .entry(round.shot_id)
            .or_default()
            .push(round);
    }
    let mut said: Words = HashMap::new();
    let mut concerns: HashMap<ShotId, Vec<ConcernId>> = HashMap::new();
    for word in words {
        let entry = said.entry((word.concern_id, word.critique_id)).or_default();
        entry.0 = entry.0.or(word.note_id);
        entry.1 = entry.1.or(word.judged);
        let known = concerns.entry(word.shot_id).or_default();
        if !known.contains(&word.concern_id) {
            known.push(word.concern_id);
        }
    }
    for (shot, ids) in concerns {
        let rounds = standings
            .rounds
            .get(&shot)
            .map(Vec::as_slice)
            .unwrap_or_default();
        let mut courses: Vec<Course> = ids
            .into_iter()
            .map(|concern| course(concern, rounds, &said))
            .collect();
        courses.retain(|course| course.now().is_some());
        courses.sort_by_key(|course| {
            (
                course.steps.iter().position(|step| step.standing.is_some()),
                course.concern,
            )
        });
        standings.courses.insert(shot, courses);
    }
    standings
}

/// What each critique said of each concern: a note that names it, a verdict.
type Words = HashMap<(ConcernId, CritiqueId), (Option<NoteId>, Option<Verdict>)>;

fn course(concern: ConcernId, rounds: &[Round], said: &Words) -> Course {
    let words: Vec<(Option<NoteId>, Option<Verdict>)> = rounds
        .iter()
        .map(|round| {
            said.get(&(concern, round.critique_id))
                .copied()
                .unwrap_or_default()
        })
        .collect();
    let standings = history(words.iter().map(|(note, judged)| match (judged, note) {
        (Some(verdict), _) => Said::Judged(*verdict),
        (None, Some(_)) => Said::Named,
        (None, None) => Said::Nothing,
    }));
    let steps = rounds
        .iter()
        .zip(words)
        .zip(standings)
        .map(|((round, (note, _)), standing)| Step {
            number: round.number,
            critique: round.critique_id,
            note,
            standing,
        })
        .collect();
    Course { concern, steps }
}

/// How many concerns of each shot still want something, by what was released. Praise is no concern that wants something.
pub async fn open_counts(
    conn: &mut Conn,
    shots: &[ShotId],
    at: DateTime<Utc>,
) -> StoreResult<HashMap<ShotId, i64>> {
    let standings = of_shots(conn, shots, at, false).await?;
    let praise = praised(conn, shots).await?;
    Ok(standings
        .courses
        .into_iter()
        .map(|(shot, courses)| {
            let open = courses.iter().filter(|course| {
                course.now().is_some_and(is_open) && !praise.contains(&course.concern)
            });
            (shot, i64::try_from(open.count()).unwrap_or(i64::MAX))
        })
        .collect())
}

#[derive(diesel::QueryableByName)]
struct ConcernRow {
    #[diesel(sql_type = SqlUuid)]
    concern_id: ConcernId,
}

async fn praised(conn: &mut Conn, shots: &[ShotId]) -> StoreResult<Vec<ConcernId>> {
    let rows: Vec<ConcernRow> =
        statement("SELECT n.concern_id FROM note n WHERE n.shot_id = ANY ($1) GROUP BY n.concern_id HAVING bool_and(n.kind = 'keep')")
            .bind::<Array<SqlUuid>, _>(shots)
            .load(conn)
            .await?;
    Ok(rows.into_iter().map(|row| row.concern_id).collect())
}
