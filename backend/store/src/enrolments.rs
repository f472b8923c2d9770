//! Enrolments: who is in which course with which mentor.

use crate::schema::enrolment;
use crate::sql::Number;
use crate::statement::{filtered, statement};
use crate::{Conn, StoreResult};
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use diesel::sql_types::{Array, BigInt, Bool, Date, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use domain::{CourseId, EnrolmentId, PersonId, SchoolId};

/// The constraint that keeps a student once in a course.
pub const ONCE_IN_A_COURSE: &str = "enrolment_school_id_course_id_student_id_key";

/// An enrolment as the roster shows it.
#[derive(Clone, Debug, QueryableByName)]
pub struct Enrolment {
    /// Its id.
    #[diesel(sql_type = SqlUuid)]
    pub id: EnrolmentId,
    /// The student.
    #[diesel(sql_type = SqlUuid)]
    pub student_id: PersonId,
    /// Their name.
    #[diesel(sql_type = Text)]
    pub student_name: String,
    /// Their address.
    #[diesel(sql_type = Text)]
    pub student_email: String,
    /// Whether they have chosen a password.
    #[diesel(sql_type = Bool)]
    pub joined: bool,
    /// The mentor.
    #[diesel(sql_type = SqlUuid)]
    pub mentor_id: PersonId,
    /// Their name.
    #[diesel(sql_type = Text)]
    pub mentor_name: String,
    /// The course.
    #[diesel(sql_type = SqlUuid)]
    pub course_id: CourseId,
    /// Its name.
    #[diesel(sql_type = Text)]
    pub course_name: String,
    /// The first day.
    #[diesel(sql_type = Date)]
    pub starts_on: NaiveDate,
    /// When the last submission was sent that was not withdrawn.
    #[diesel(sql_type = Nullable<Timestamptz>)]
    pub last_sent_at: Option<DateTime<Utc>>,
    /// How many shots there are.
    #[diesel(sql_type = BigInt)]
    pub shots: i64,
    /// Concerns of released critiques that are neither cleared nor set aside, as far as the asker sees critiques.
    #[diesel(sql_type = BigInt)]
    pub open_concerns: i64,
    /// What lists are in the order of: the student's name in small letters, as the database makes them.
    #[diesel(sql_type = Text)]
    pub sort_key: String,
}

/// Which enrolments are listed.
#[derive(Clone, Debug, Default)]
pub struct Wanted {
    /// Only those among these.
    pub among: Option<Vec<EnrolmentId>>,
    /// Only those of this course.
    pub course: Option<CourseId>,
    /// Only those with this mentor.
    pub mentor: Option<PersonId>,
    /// Only those of this student.
    pub student: Option<PersonId>,
    /// Only those whose student's name or address holds these words.
    pub words: Option<String>,
    /// Only those after this sort key and id.
    pub after: Option<(String, EnrolmentId)>,
    /// How many at most.
    pub limit: i64,
}

/// An enrolment to be.
#[derive(Clone, Debug)]
pub struct NewEnrolment {
    /// Its id.
    pub id: EnrolmentId,
    /// The school.
    pub school: SchoolId,
    /// The course.
    pub course: CourseId,
    /// The student.
    pub student: PersonId,
    /// The mentor.
    pub mentor: PersonId,
    /// The first day.
    pub starts_on: NaiveDate,
    /// Now.
    pub at: DateTime<Utc>,
}

/// Enrolments by the student's name. A concern is open when the last word that closed it (cleared) was followed by another note or
/// judgement, or none ever closed it; set aside holds until it is cleared. Praise is no concern that is open.
const SELECT: &str = "
SELECT e.id, e.starts_on, lower(s.name) AS sort_key, s.id AS student_id, s.name AS student_name, s.email AS student_email, s.joined_at IS NOT NULL AS joined,
  m.id AS mentor_id, m.name AS mentor_name, c.id AS course_id, c.name AS course_name,
  (SELECT max(x.sent_at) FROM submission x WHERE x.school_id = e.school_id AND x.enrolment_id = e.id AND x.withdrawn_at IS NULL) AS last_sent_at,
  (SELECT count(*) FROM shot h WHERE h.school_id = e.school_id AND h.enrolment_id = e.id) AS shots,
  (SELECT count(*) FROM (
     SELECT said.concern_id,
       bool_or(said.kind <> 'keep') AS wants_something,
       max(said.number) FILTER (WHERE said.judged IN ('cleared', 'set-aside')) AS closed,
       max(said.number) FILTER (WHERE said.judged = 'set-aside') AS aside,
       max(said.number) FILTER (WHERE coalesce(said.judged, 'named') IN ('named', 'still', 'eased')) AS named
     FROM (
       SELECT n.concern_id, n.kind, NULL AS judged, r.number
       FROM shot h JOIN critique k ON k.school_id = h.school_id AND k.shot_id = h.id AND k.released_at <= now()
       JOIN revision r ON r.id = k.revision_id JOIN note n ON n.critique_id = k.id
       WHERE h.school_id = e.school_id AND h.enrolment_id = e.id
       UNION ALL
       SELECT v.concern_id, NULL, v.judged, r.number
       FROM shot h JOIN critique k ON k.school_id = h.school_id AND k.shot_id = h.id AND k.released_at <= now()
       JOIN revision r ON r.id = k.revision_id JOIN verdict v ON v.critique_id = k.id
       WHERE h.school_id = e.school_id AND h.enrolment_id = e.id) said
     GROUP BY said.concern_id) concern
   WHERE concern.wants_something AND (concern.closed IS NULL OR (concern.closed IS DISTINCT FROM concern.aside AND concern.named > concern.closed)))
   AS open_concerns
FROM enrolment e
JOIN person s ON s.id = e.student_id
JOIN person m ON m.id = e.mentor_id
JOIN course c ON c.id = e.course_id";

/// Enrolments by the student's name.
pub async fn list(conn: &mut Conn, wanted: &Wanted) -> StoreResult<Vec<Enrolment>> {
    let (name, id) = wanted.after.clone().unzip();
    Ok(filtered(format!(
        "{SELECT} WHERE ($1::uuid[] IS NULL OR e.id = ANY ($1)) AND ($2::uuid IS NULL OR e.course_id = $2)
           AND ($3::uuid IS NULL OR e.mentor_id = $3) AND ($4::uuid IS NULL OR e.student_id = $4)
           AND ($5::text IS NULL OR strpos(lower(s.name), lower($5)) > 0 OR strpos(s.email, lower($5)) > 0)
           AND ($6::text IS NULL OR (lower(s.name), e.id) > ($6, $7))
         ORDER BY lower(s.name), e.id LIMIT $8"
    ))
    .bind::<Nullable<Array<SqlUuid>>, _>(wanted.among.as_deref())
    .bind::<Nullable<SqlUuid>, _>(wanted.course.map(|id| id.0))
    .bind::<Nullable<SqlUuid>, _>(wanted.mentor.map(|id| id.0))
    .bind::<Nullable<SqlUuid>, _>(wanted.student.map(|id| id.0))
    .bind::<Nullable<Text>, _>(wanted.words.as_deref())
    .bind::<Nullable<Text>, _>(name)
    .bind::<Nullable<SqlUuid>, _>(id.map(|id| id.0))
    .bind::<BigInt, _>(wanted.limit)
    .load(conn)
    .await?)
}

/// One enrolment.
pub async fn get(conn: &mut Conn, id: EnrolmentId) -> StoreResult<Option<Enrolment>> {
    Ok(statement(format!("{SELECT} WHERE e.id = $1"))
        .bind::<SqlUuid, _>(id.0)
        .get_result(conn)
        .await
        .optional()?)
}

/// Adds enrolments; refused by [`ONCE_IN_A_COURSE`] if a student is in the course already.
pub async fn add(conn: &mut Conn, new: &[NewEnrolment]) -> StoreResult<()> {
    let rows: Vec<_> = new
        .iter()
        .map(|new| {
            (
                enrolment::id.eq(new.id.0),
                enrolment::school_id.eq(new.school.0),
                enrolment::course_id.eq(new.course.0),
                enrolment::student_id.eq(new.student.0),
                enrolment::mentor_id.eq(new.mentor.0),
                enrolment::starts_on.eq(new.starts_on),
                enrolment::created_at.eq(new.at),
            )
        })
        .collect();
    diesel::insert_into(enrolment::table)
        .values(rows)
        .execute(conn)
        .await?;
    Ok(())
}

/// Who of these students is in which course.
pub async fn of_students(
    conn: &mut Conn,
    students: &[PersonId],
) -> StoreResult<Vec<(CourseId, PersonId)>> {
    let ids: Vec<uuid::Uuid> = students.iter().map(|student| student.0).collect();
    let rows: Vec<(uuid::Uuid, uuid::Uuid)> = enrolment::table
        .filter(enrolment::student_id.eq_any(ids))
        .select((enrolment::course_id, enrolment::student_id))
        .load(conn)
        .await?;
    Ok(rows
        .into_iter()
        .map(|(course, student)| (course.into(), student.into()))
        .collect())
}

/// Gives the student to another mentor, and with them all that is not released yet, through the door `move_enrolment`; false if
/// there is no such enrolment or no such mentor.
pub async fn move_to(conn: &mut Conn, id: EnrolmentId, mentor: PersonId) -> StoreResult<bool> {
    let moved: Number =
        statement("SELECT count(*) FILTER (WHERE moved) AS n FROM move_enrolment($1, $2) moved")
            .bind::<SqlUuid, _>(id)
            .bind::<SqlUuid, _>(mentor)
            .get_result(conn)
            .await?;
    Ok(moved.n == 1)
}
