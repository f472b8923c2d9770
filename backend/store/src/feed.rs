//! What the index follows: every note, answer and amendment with words, in the order of the transactions that changed them last.
//! Read as nobody, through the doors `feed_head`, `count_documents` and `read_feed`.

use crate::sql::Number;
use crate::statement::statement;
use crate::{Conn, StoreError, StoreResult};
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel::sql_types::{
    Array, BigInt, Bool, Integer, Jsonb, Nullable, Text, Timestamptz, Uuid as SqlUuid,
};
use diesel_async::RunQueryDsl;
use domain::parts::PartRef;
use domain::{
    Actor, CritiqueId, EnrolmentId, FootageId, Kind, NoteId, PersonId, Principle, SchoolId, ShotId,
};
use uuid::Uuid;

/// How far the feed can be read.
#[derive(Clone, Debug, PartialEq, Eq, QueryableByName)]
pub struct FeedHead {
    /// Which history this is; a restored or copied database is another one.
    #[diesel(sql_type = Text)]
    pub source: String,
    /// The last transaction before the oldest one still running: nothing can turn up at or before it any more.
    #[diesel(sql_type = BigInt)]
    pub head: i64,
    /// Whether more has been written, to be read once the transactions before it are over.
    #[diesel(sql_type = Bool)]
    pub pending: bool,
}

/// A place in the feed; reading goes on behind it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FeedPlace {
    tx: i64,
    sort: String,
    id: Uuid,
}

impl FeedPlace {
    /// Behind everything of transaction `tx`.
    pub fn after(tx: i64) -> FeedPlace {
        FeedPlace {
            tx: tx.saturating_add(1),
            sort: String::new(),
            id: Uuid::nil(),
        }
    }

    /// Before everything.
    pub fn start() -> FeedPlace {
        FeedPlace::after(-1)
    }
}

/// One line of the feed.
#[derive(Clone, Debug, PartialEq)]
pub struct FeedLine {
    /// The transaction that changed the row last.
    pub tx: i64,
    /// `note`, `answer` or `amendment`.
    pub sort: String,
    /// Id of the row; of an answer the id of its note.
    pub id: Uuid,
    /// The row as it is now; none when it is gone or has no words.
    pub document: Option<FeedDocument>,
}

impl FeedLine {
    /// The place behind this line.
    pub fn place(&self) -> FeedPlace {
        FeedPlace {
            tx: self.tx,
            sort: self.sort.clone(),
            id: self.id,
        }
    }
}

/// A note, answer or amendment with what it shows and what decides who sees it.
#[derive(Clone, Debug, PartialEq)]
pub struct FeedDocument {
    /// Its school.
    pub school: SchoolId,
    /// The enrolment of its shot.
    pub enrolment: EnrolmentId,
    /// The student of the shot.
    pub student: PersonId,
    /// Their name.
    pub student_name: String,
    /// Its critique.
    pub critique: CritiqueId,
    /// The mentor whose critique it is.
    pub critic: PersonId,
    /// When the critique becomes visible to others; none for a draft.
    pub visible_from: Option<DateTime<Utc>>,
    /// The note it is or belongs to.
    pub note: Option<NoteId>,
    /// Its shot.
    pub shot: ShotId,
    /// The shot's title.
    pub shot_title: String,
    /// Number the shot's first frame is shown by.
    pub first_frame: i32,
    /// Number of the revision.
    pub revision: i32,
    /// Footage of the revision.
    pub footage: FootageId,
    /// Kind of the note.
    pub kind: Option<Kind>,
    /// Principles of the note.
    pub principles: Vec<Principle>,
    /// Parts of the note.
    pub parts: Vec<PartRef>,
    /// First and last frame of the note.
    pub span: Option<(i32, i32)>,
    /// The words.
    pub words: String,
    /// When they were written.
    pub at: DateTime<Utc>,
}

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = BigInt)]
    tx: i64,
    #[diesel(sql_type = Text)]
    feed_sort: String,
    #[diesel(sql_type = SqlUuid)]
    feed_id: Uuid,
    #[diesel(embed)]
    row: Row,
}

/// All columns are null together when there is no document; those of the note also for an amendment that stands alone.
#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = Nullable<SqlUuid>)]
    school_id: Option<SchoolId>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    enrolment_id: Option<EnrolmentId>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    student_id: Option<PersonId>,
    #[diesel(sql_type = Nullable<Text>)]
    student_name: Option<String>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    critique_id: Option<CritiqueId>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    critic_id: Option<PersonId>,
    #[diesel(sql_type = Nullable<Timestamptz>)]
    visible_from: Option<DateTime<Utc>>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    note_id: Option<NoteId>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    shot_id: Option<ShotId>,
    #[diesel(sql_type = Nullable<Text>)]
    shot_title: Option<String>,
    #[diesel(sql_type = Nullable<Integer>)]
    first_frame: Option<i32>,
    #[diesel(sql_type = Nullable<Integer>)]
    revision: Option<i32>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    footage_id: Option<FootageId>,
    #[diesel(sql_type = Nullable<Text>)]
    kind: Option<Kind>,
    #[diesel(sql_type = Nullable<Array<Text>>)]
    principles: Option<Vec<Principle>>,
    #[diesel(sql_type = Nullable<Jsonb>)]
    parts: Option<serde_json::Value>,
    #[diesel(sql_type = Nullable<Integer>)]
    span_start: Option<i32>,
    #[diesel(sql_type = Nullable<Integer>)]
    span_end: Option<i32>,
    #[diesel(sql_type = Nullable<Text>)]
    words: Option<String>,
    #[diesel(sql_type = Nullable<Timestamptz>)]
    at: Option<DateTime<Utc>>,
}

impl Row {
    fn document(self) -> StoreResult<Option<FeedDocument>> {
        let Some(school) = self.school_id else {
            return Ok(None);
        };
        let parts = match self.parts {
            Some(parts) => serde_json::from_value(parts)
                .map_err(|e| StoreError::Nonsense(format!("parts of a note: {e}")))?,
            None => Vec::new(),
        };
        Ok(Some(FeedDocument {
            school,
            enrolment: held("enrolment", self.enrolment_id)?,
            student: held("student", self.student_id)?,
            student_name: held("student name", self.student_name)?,
            critique: held("critique", self.critique_id)?,
            critic: held("critic", self.critic_id)?,
            visible_from: self.visible_from,
            note: self.note_id,
            shot: held("shot", self.shot_id)?,
            shot_title: held("shot title", self.shot_title)?,
            first_frame: held("first frame", self.first_frame)?,
            revision: held("revision", self.revision)?,
            footage: held("footage", self.footage_id)?,
            kind: self.kind,
            principles: self.principles.unwrap_or_default(),
            parts,
            span: self.span_start.zip(self.span_end),
            words: held("words", self.words)?,
            at: held("time", self.at)?,
        }))
    }
}

fn held<T>(what: &str, value: Option<T>) -> StoreResult<T> {
    value.ok_or_else(|| StoreError::Nonsense(format!("a document of the feed has no {what}")))
}

/// How far the feed can be read now.
pub async fn head(conn: &mut Conn) -> StoreResult<FeedHead> {
    Ok(statement("SELECT * FROM feed_head()")
        .get_result(conn)
        .await?)
}

/// How many documents an index of everything holds.
pub async fn count_documents(conn: &mut Conn) -> StoreResult<i64> {
    let count: Number = statement("SELECT n FROM count_documents()")
        .get_result(conn)
        .await?;
    Ok(count.n)
}

/// At most `limit` lines behind `place`, none of a transaction after `up_to`.
pub async fn read(
    conn: &mut Conn,
    place: &FeedPlace,
    up_to: i64,
    limit: i32,
) -> StoreResult<Vec<FeedLine>> {
    let lines: Vec<Line> = statement("SELECT * FROM read_feed($1, $2, $3, $4, $5)")
        .bind::<BigInt, _>(place.tx)
        .bind::<Text, _>(&place.sort)
        .bind::<SqlUuid, _>(place.id)
        .bind::<BigInt, _>(up_to)
        .bind::<Integer, _>(limit)
        .load(conn)
        .await?;
    lines
        .into_iter()
        .map(|line| {
            Ok(FeedLine {
                tx: line.tx,
                sort: line.feed_sort,
                id: line.feed_id,
                document: line.row.document()?,
            })
        })
        .collect()
}

/// What a search by one person has to know of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reach {
    /// The enrolments they mentor now.
    pub mentored: Vec<EnrolmentId>,
    /// The time zone their school counts its days in.
    pub time_zone: String,
}

/// What a search by `actor` has to know, in their own scope.
pub async fn reach(conn: &mut Conn, actor: &Actor) -> StoreResult<Reach> {
    use crate::schema::{enrolment, school};
    let mentored = enrolment::table
        .filter(enrolment::school_id.eq(actor.school.0))
        .filter(enrolment::mentor_id.eq(actor.person.0))
        .select(enrolment::id)
        .load(conn)
        .await?;
    let time_zone = school::table
        .find(actor.school.0)
        .select(school::time_zone)
        .get_result(conn)
        .await?;
    Ok(Reach {
        mentored,
        time_zone,
    })
}
