//! A school in which many students have many shots ready to be sent. Ids follow from a student's group and number, so that SQL can
//! compute them as well.

use tests::harness::TestApp;
use tests::harness::cluster::{aside, connect};
use tests::harness::people::{Course, Person, School};

/// The SQL that gives an id, as text: of what, of whose, and which.
pub fn id_sql(what: &str, group: &str, student: &str, which: &str) -> String {
    format!("md5('{what} {group} ' || {student} || ' ' || {which})::uuid::text")
}

/// Where footage is sent from.
pub struct Yard<'a> {
    app: &'a TestApp,
    school: School,
    mentor: Person,
    course: Course,
}

/// Somebody who sends.
pub struct Student {
    /// What they sign in with; the table keeps its SHA-256.
    pub token: String,
    /// Their id.
    pub person: String,
    /// Their enrolment.
    pub enrolment: String,
    /// Their one shot.
    pub shot: String,
    /// What they send.
    pub footage: Vec<String>,
    /// The key of each send.
    pub keys: Vec<String>,
}

impl<'a> Yard<'a> {
    pub fn new(app: &'a TestApp) -> Self {
        let school = app.school("yard");
        let mentor = app.person(&school, "Mara", &["mentor"]);
        let course = app.course(&school, "Body mechanics", 16);
        Self {
            app,
            school,
            mentor,
            course,
        }
    }

    /// The ids that every send has in common.
    pub fn shared(&self) -> Vec<String> {
        [self.school.id, self.mentor.id, self.course.id]
            .map(|id| id.to_string())
            .to_vec()
    }

    /// Adds students of a group with `sends` pieces of prepared footage each.
    pub fn students(&self, group: &str, n: usize, sends: usize) -> Vec<Student> {
        let id = |what: &str| id_sql(what, group, "k", "0");
        let (school, course, mentor) = (self.school.id, self.course.id, self.mentor.id);
        let (person, enrolment, shot) = (id("person"), id("enrolment"), id("shot"));
        let entry = id("grant");
        let footage = id_sql("footage", group, "k", "i");
        let of_each = format!("FROM generate_series(0, {n} - 1) k");
        let sql = format!(
            "INSERT INTO person (id, school_id, email, name, roles, invited_at, joined_at, created_at)
               SELECT ({person})::uuid, '{school}', '{group}.' || k || '@yard.example', 'Nia', '{{student}}', now(), now(), now() {of_each};
             INSERT INTO session (token_hash, school_id, person_id, created_at, seen_at)
               SELECT sha256(convert_to('{group}-' || k, 'UTF8')), '{school}', ({person})::uuid, now(), now() {of_each};
             INSERT INTO enrolment (id, school_id, course_id, student_id, mentor_id, starts_on, created_at)
               SELECT ({enrolment})::uuid, '{school}', '{course}', ({person})::uuid, '{mentor}', '2020-01-01', now() {of_each};
             INSERT INTO quota_entry (id, school_id, enrolment_id, kind, amount, actor_id, created_at)
               SELECT ({entry})::uuid, '{school}', ({enrolment})::uuid, 'grant', {sends}, '{mentor}', now() {of_each};
             INSERT INTO shot (id, school_id, enrolment_id, course_id, student_id, title, created_at)
               SELECT ({shot})::uuid, '{school}', ({enrolment})::uuid, '{course}', ({person})::uuid, 'Lantern jump', now() {of_each};
             INSERT INTO footage (id, school_id, student_id, filename, source_key, source_bytes, probe, state, progress, width, height, frames,
                 fps_num, fps_den, time_base_num, time_base_den, frame_pts, last_duration, derived, recipe, created_at, ready_at)
               SELECT ({footage})::uuid, '{school}', ({person})::uuid, 'clip.mp4', 'none', 1, '{{}}', 'ready', 1, 320, 180, 2,
                 24, 1, 1, 24, '{{0,1}}', 1, '{{}}', 1, now(), now() {of_each}, generate_series(1, {sends}) i;
             ANALYZE"
        );
        aside(|| {
            let mut owner = connect(&self.app.database.owner_url);
            owner
                .batch_execute(&sql)
                .unwrap_or_else(|e| panic!("{sql}: {e:?}"));
            let mut text = |sql: String| -> String {
                owner
                    .query_one(&format!("SELECT {sql}"), &[])
                    .expect("an id")
                    .get(0)
            };
            let mut one = |k: usize| {
                let mut of = |what: &str, i: usize| {
                    text(id_sql(
                        what,
                        group,
                        &format!("{k}::text"),
                        &format!("{i}::text"),
                    ))
                };
                Student {
                    token: format!("{group}-{k}"),
                    person: of("person", 0),
                    enrolment: of("enrolment", 0),
                    shot: of("shot", 0),
                    footage: (1..=sends).map(|i| of("footage", i)).collect(),
                    keys: (1..=sends).map(|i| of("key", i)).collect(),
                }
            };
            (0..n).map(&mut one).collect()
        })
    }
}
