//! Notes, and the concerns they belong to.

use crate::schema::{concern, note};
use crate::statement::statement;
use crate::{Conn, StoreError, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{Array, Integer, Jsonb, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::ask::Ask;
use domain::parts::PartRef;
use domain::picture::{Region, Span};
use domain::{
    AnswerKind, ConcernId, CritiqueId, Kind, NoteId, PersonId, Principle, ShotId, Urgency,
};

/// What of a note its author writes.
#[derive(Clone, Debug, PartialEq)]
pub struct Content {
    /// What it wants.
    pub kind: Kind,
    /// How much it weighs.
    pub urgency: Urgency,
    /// What it is about.
    pub principles: Vec<Principle>,
    /// Which parts.
    pub parts: Vec<PartRef>,
    /// Which frames.
    pub span: Span,
    /// Where in the picture.
    pub region: Option<Region>,
    /// The words.
    pub words: String,
    /// A measurable request.
    pub ask: Option<Ask>,
}

/// The student's answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// Which.
    pub kind: AnswerKind,
    /// In words.
    pub words: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// A note as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// Its id.
    pub id: NoteId,
    /// Of which critique.
    pub critique: CritiqueId,
    /// Of which concern.
    pub concern: ConcernId,
    /// Of which shot.
    pub shot: ShotId,
    /// Of whose.
    pub student: PersonId,
    /// The revision's number.
    pub number: i32,
    /// What was written.
    pub content: Content,
    /// From 1.
    pub version: i32,
    /// When it was last changed.
    pub updated_at: DateTime<Utc>,
    /// The student's answer.
    pub answer: Option<Answer>,
}

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = SqlUuid)]
    id: NoteId,
    #[diesel(sql_type = SqlUuid)]
    critique_id: CritiqueId,
    #[diesel(sql_type = SqlUuid)]
    concern_id: ConcernId,
    #[diesel(sql_type = SqlUuid)]
    shot_id: ShotId,
    #[diesel(sql_type = SqlUuid)]
    student_id: PersonId,
    #[diesel(sql_type = Integer)]
    number: i32,
    #[diesel(sql_type = Text)]
    kind: Kind,
    #[diesel(sql_type = Text)]
    urgency: Urgency,
    #[diesel(sql_type = Array<Text>)]
    principles: Vec<Principle>,
    #[diesel(sql_type = Jsonb)]
    parts: serde_json::Value,
    #[diesel(sql_type = Integer)]
    span_start: i32,
    #[diesel(sql_type = Integer)]
    span_end: i32,
    #[diesel(sql_type = Nullable<Jsonb>)]
    region: Option<serde_json::Value>,
    #[diesel(sql_type = Text)]
    words: String,
    #[diesel(sql_type = Nullable<Jsonb>)]
    ask: Option<serde_json::Value>,
    #[diesel(sql_type = Integer)]
    version: i32,
    #[diesel(sql_type = Timestamptz)]
    updated_at: DateTime<Utc>,
    #[diesel(sql_type = Nullable<Text>)]
    answer_kind: Option<AnswerKind>,
    #[diesel(sql_type = Nullable<Text>)]
    answer_words: Option<String>,
    #[diesel(sql_type = Nullable<Timestamptz>)]
    answer_at: Option<DateTime<Utc>>,
}

fn read<T: serde::de::DeserializeOwned>(value: serde_json::Value) -> StoreResult<T> {
    serde_json::from_value(value).map_err(|e| StoreError::Nonsense(e.to_string()))
}

fn write(value: &impl serde::Serialize) -> StoreResult<serde_json::Value> {
    serde_json::to_value(value).map_err(|e| StoreError::Nonsense(e.to_string()))
}

impl TryFrom<Row> for Note {
    type Error = StoreError;

    fn try_from(row: Row) -> StoreResult<Note> {
        let answer = match (row.answer_kind, row.answer_words, row.answer_at) {
            (Some(kind), Some(words), Some(at)) => Some(Answer { kind, words, at }),
            _ => None,
        };
        Ok(Note {
            id: row.id,
            critique: row.critique_id,
            concern: row.concern_id,
            shot: row.shot_id,
            student: row.student_id,
            number: row.number,
            content: Content {
                kind: row.kind,
                urgency: row.urgency,
                principles: row.principles,
                parts: read(row.parts)?,
                span: Span {
                    start: row.span_start,
                    end: row.span_end,
                },
                region: row.region.map(read).transpose()?,
                words: row.words,
                ask: row.ask.map(read).transpose()?,
            },
            version: row.version,
            updated_at: row.updated_at,
            answer,
        })
    }
}

const SELECT: &str = "SELECT n.id, n.critique_id, n.concern_id, n.shot_id, n.student_id, r.number, n.kind, n.urgency, n.principles, n.parts,
   n.span_start, n.span_end, n.region, n.words, n.ask, n.version, n.updated_at,
   a.kind AS answer_kind, a.words AS answer_words, a.updated_at AS answer_at
 FROM note n JOIN revision r ON r.id = n.revision_id LEFT JOIN answer a ON a.note_id = n.id";

/// The note, if the asker may see it.
pub async fn get(conn: &mut Conn, id: NoteId) -> StoreResult<Option<Note>> {
    let row: Option<Row> = statement(format!("{SELECT} WHERE n.id = $1"))
        .bind::<SqlUuid, _>(id)
        .get_result(conn)
        .await
        .optional()?;
    row.map(Note::try_from).transpose()
}

/// Every note of these shots that the asker may see, by revision and place.
pub async fn of_shots(conn: &mut Conn, shots: &[ShotId]) -> StoreResult<Vec<Note>> {
    let rows: Vec<Row> = statement(format!(
        "{SELECT} WHERE n.shot_id = ANY ($1) ORDER BY r.number, n.span_start, n.created_at, n.id"
    ))
    .bind::<Array<SqlUuid>, _>(shots)
    .load(conn)
    .await?;
    rows.into_iter().map(Note::try_from).collect()
}

/// Writes a new note; with a concern of its own unless it is tied to one.
pub async fn add(
    conn: &mut Conn,
    critique: &crate::critiques::Critique,
    school: domain::SchoolId,
    id: NoteId,
    tied: Option<ConcernId>,
    content: &Content,
    at: DateTime<Utc>,
) -> StoreResult<()> {
    let own = uuid::Uuid::now_v7();
    if tied.is_none() {
        begin_concern(conn, critique, school, own.into(), at).await?;
    }
    diesel::insert_into(note::table)
        .values((
            note::id.eq(id.0),
            note::school_id.eq(school.0),
            note::critique_id.eq(critique.id.0),
            note::concern_id.eq(tied.map_or(own, |concern| concern.0)),
            note::revision_id.eq(critique.revision_id.0),
            note::shot_id.eq(critique.shot_id.0),
            note::student_id.eq(critique.student_id.0),
            (
                note::kind.eq(content.kind.as_str()),
                note::urgency.eq(content.urgency.as_str()),
            ),
            note::principles.eq(content
                .principles
                .iter()
                .map(|p| p.as_str())
                .collect::<Vec<_>>()),
            note::parts.eq(write(&content.parts)?),
            (
                note::span_start.eq(content.span.start),
                note::span_end.eq(content.span.end),
            ),
            note::region.eq(content.region.as_ref().map(write).transpose()?),
            note::words.eq(&content.words),
            note::ask.eq(content.ask.as_ref().map(write).transpose()?),
            (note::created_at.eq(at), note::updated_at.eq(at)),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

async fn begin_concern(
    conn: &mut Conn,
    critique: &crate::critiques::Critique,
    school: domain::SchoolId,
    id: ConcernId,
    at: DateTime<Utc>,
) -> StoreResult<()> {
    diesel::insert_into(concern::table)
        .values((
            concern::id.eq(id.0),
            concern::school_id.eq(school.0),
            concern::shot_id.eq(critique.shot_id.0),
            concern::student_id.eq(critique.student_id.0),
            concern::critique_id.eq(critique.id.0),
            concern::created_at.eq(at),
        ))
        .execute(conn)
        .await?;
    Ok(())
}

/// Rewrites a note that is at `version`; false if it is at another. Untied from an earlier concern it gets one of its own.
pub async fn change(
    conn: &mut Conn,
    critique: &crate::critiques::Critique,
    school: domain::SchoolId,
    old: &Note,
    tied: Option<ConcernId>,
    content: &Content,
    at: DateTime<Utc>,
) -> StoreResult<bool> {
    let own = own_concern(conn, old).await?;
    let target = match (tied, own) {
        (Some(tied), _) => tied,
        (None, true) => old.concern,
        (None, false) => {
            let fresh = ConcernId(uuid::Uuid::now_v7());
            begin_concern(conn, critique, school, fresh, at).await?;
            fresh
        }
    };
    let rows = diesel::update(
        note::table.filter(note::id.eq(old.id.0).and(note::version.eq(old.version))),
    )
    .set((
        note::concern_id.eq(target.0),
        (
            note::kind.eq(content.kind.as_str()),
            note::urgency.eq(content.urgency.as_str()),
        ),
        note::principles.eq(content
            .principles
            .iter()
            .map(|p| p.as_str())
            .collect::<Vec<_>>()),
        note::parts.eq(write(&content.parts)?),
        (
            note::span_start.eq(content.span.start),
            note::span_end.eq(content.span.end),
        ),
        note::region.eq(content.region.as_ref().map(write).transpose()?),
        note::words.eq(&content.words),
        note::ask.eq(content.ask.as_ref().map(write).transpose()?),
        (note::version.eq(old.version + 1), note::updated_at.eq(at)),
    ))
    .execute(conn)
    .await?;
    forget_empty(conn, old.concern).await?;
    Ok(rows == 1)
}

/// Whether the note's concern began with this critique.
async fn own_concern(conn: &mut Conn, old: &Note) -> StoreResult<bool> {
    let began: Option<uuid::Uuid> = concern::table
        .find(old.concern.0)
        .select(concern::critique_id)
        .first(conn)
        .await
        .optional()?;
    Ok(began == Some(old.critique.0))
}

/// Removes a note that is at `version`; false if it is at another.
pub async fn remove(conn: &mut Conn, old: &Note, version: i32) -> StoreResult<bool> {
    let rows =
        diesel::delete(note::table.filter(note::id.eq(old.id.0).and(note::version.eq(version))))
            .execute(conn)
            .await?;
    forget_empty(conn, old.concern).await?;
    Ok(rows == 1)
}

/// A concern that no note names and no verdict judges any more was never one.
async fn forget_empty(conn: &mut Conn, id: ConcernId) -> StoreResult<()> {
    statement(
        "DELETE FROM concern c WHERE c.id = $1 AND NOT EXISTS (SELECT FROM note n WHERE n.concern_id = c.id)
           AND NOT EXISTS (SELECT FROM verdict v WHERE v.concern_id = c.id)",
    )
    .bind::<SqlUuid, _>(id)
    .execute(conn)
    .await?;
    Ok(())
}

/// Whether the concern is one of the shot's that the asker may see.
pub async fn is_concern_of(conn: &mut Conn, id: ConcernId, shot: ShotId) -> StoreResult<bool> {
    let found: i64 = concern::table
        .filter(concern::id.eq(id.0).and(concern::shot_id.eq(shot.0)))
        .count()
        .get_result(conn)
        .await?;
    Ok(found == 1)
}

/// Answers a note, or answers it otherwise.
pub async fn answer(
    conn: &mut Conn,
    school: domain::SchoolId,
    note: &Note,
    answer: &Answer,
) -> StoreResult<()> {
    statement(
        "INSERT INTO answer (note_id, school_id, critique_id, student_id, kind, words, updated_at) VALUES ($1, $2, $3, $4, $5, $6, $7)
         ON CONFLICT (note_id) DO UPDATE SET kind = excluded.kind, words = excluded.words, updated_at = excluded.updated_at",
    )
    .bind::<SqlUuid, _>(note.id)
    .bind::<SqlUuid, _>(school)
    .bind::<SqlUuid, _>(note.critique)
    .bind::<SqlUuid, _>(note.student)
    .bind::<Text, _>(answer.kind)
    .bind::<Text, _>(&answer.words)
    .bind::<Timestamptz, _>(answer.at)
    .execute(conn)
    .await?;
    Ok(())
}

#[derive(QueryableByName)]
struct Phrase {
    #[diesel(sql_type = Text)]
    words: String,
}

/// The asker's own wordings that hold `part`: those that begin with it first, then the most used, then the newest.
pub async fn phrases(
    conn: &mut Conn,
    mentor: PersonId,
    part: &str,
    limit: i32,
) -> StoreResult<Vec<String>> {
    let rows: Vec<Phrase> = statement(
        "SELECT n.words FROM note n JOIN critique c ON c.id = n.critique_id
         WHERE c.mentor_id = $1 AND strpos(lower(n.words), lower($2)) > 0
         GROUP BY n.words ORDER BY starts_with(lower(n.words), lower($2)) DESC, count(*) DESC, max(n.updated_at) DESC LIMIT $3",
    )
    .bind::<SqlUuid, _>(mentor)
    .bind::<Text, _>(part)
    .bind::<Integer, _>(limit)
    .load(conn)
    .await?;
    Ok(rows.into_iter().map(|row| row.words).collect())
}
