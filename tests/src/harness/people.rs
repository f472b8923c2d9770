//! Builders: schools, people, courses and enrolments, written past the policies as a superuser and valid by
//! default. What a test is about it does itself, through the program.

use std::ops::Deref;

use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

use super::client::Client;
use super::cluster::Database;

/// A school.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct School {
    /// Its id.
    pub id: Uuid,
    /// What its address ends in.
    pub slug: String,
}

/// A person of a school; sends requests as themselves.
#[derive(Debug, Clone)]
pub struct Person {
    /// Their id.
    pub id: Uuid,
    /// Their school.
    pub school: School,
    /// Their name.
    pub name: String,
    /// Their address.
    pub email: String,
    /// Signed in as them.
    pub client: Client,
}

impl Deref for Person {
    type Target = Client;

    fn deref(&self) -> &Client {
        &self.client
    }
}

/// A course.
#[derive(Debug, Clone)]
pub struct Course {
    /// Its id.
    pub id: Uuid,
    /// Its name.
    pub name: String,
}

/// A student in a course.
#[derive(Debug, Clone)]
pub struct Enrolment {
    /// Its id.
    pub id: Uuid,
    /// The course's id.
    pub course_id: Uuid,
    /// The student's id.
    pub student_id: Uuid,
    /// The mentor's id.
    pub mentor_id: Uuid,
}

/// Writes rows past the policies.
pub(super) struct Builder<'a> {
    pub database: &'a Database,
    pub now: DateTime<Utc>,
}

impl Builder<'_> {
    /// A school of that slug.
    pub fn school(&self, slug: &str) -> School {
        let school = School {
            id: Uuid::now_v7(),
            slug: slug.to_owned(),
        };
        self.execute(
            "INSERT INTO school (id, slug, name, time_zone, created_at) VALUES ($1, $2, $3, 'Europe/Vienna', $4)",
            &[&school.id, &slug, &format!("School {slug}"), &self.now],
        );
        school
    }

    /// A person with those roles, joined, without a password; gives their id and address.
    pub fn person(&self, school: &School, name: &str, roles: &[&str]) -> (Uuid, String) {
        let id = Uuid::now_v7();
        let local: String = name
            .to_lowercase()
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() { c } else { '.' })
            .collect();
        let email = format!("{local}@{}.example", school.slug);
        self.execute(
            "INSERT INTO person (id, school_id, email, name, roles, invited_at, joined_at, created_at)
             VALUES ($1, $2, $3, $4, $5, $6, $6, $6)",
            &[&id, &school.id, &email, &name, &roles, &self.now],
        );
        (id, email)
    }

    /// A session of that person, under the hash of its token.
    pub fn session(&self, school: &School, person: Uuid, token_hash: &[u8]) {
        self.execute(
            "INSERT INTO session (token_hash, school_id, person_id, created_at, seen_at) VALUES ($1, $2, $3, $4, $4)",
            &[&token_hash, &school.id, &person, &self.now],
        );
    }

    /// A course that grants that many submissions and promises an answer in seven days.
    pub fn course(&self, school: &School, name: &str, granted: i32) -> Course {
        let course = Course {
            id: Uuid::now_v7(),
            name: name.to_owned(),
        };
        self.execute(
            "INSERT INTO course (id, school_id, name, brief, granted, promise_days, created_at)
             VALUES ($1, $2, $3, 'Bring a shot.', $4, 7, $5)",
            &[&course.id, &school.id, &name, &granted, &self.now],
        );
        course
    }

    /// That student in that course with that mentor, since long ago, holding `granted` submissions.
    pub fn enrolment(
        &self,
        course: &Course,
        student: &Person,
        mentor: &Person,
        granted: i32,
    ) -> Enrolment {
        let enrolment = Enrolment {
            id: Uuid::now_v7(),
            course_id: course.id,
            student_id: student.id,
            mentor_id: mentor.id,
        };
        let school = student.school.id;
        let starts_on = NaiveDate::from_ymd_opt(2020, 1, 1).expect("a day");
        self.execute(
            "INSERT INTO enrolment (id, school_id, course_id, student_id, mentor_id, starts_on, created_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7)",
            &[&enrolment.id, &school, &course.id, &student.id, &mentor.id, &starts_on, &self.now],
        );
        self.execute(
            "INSERT INTO quota_entry (id, school_id, enrolment_id, kind, amount, actor_id, created_at)
             VALUES ($1, $2, $3, 'grant', $4, $5, $6)",
            &[&Uuid::now_v7(), &school, &enrolment.id, &granted, &mentor.id, &self.now],
        );
        enrolment
    }

    fn execute(&self, sql: &str, values: &[&(dyn postgres::types::ToSql + Sync)]) {
        self.database.as_owner(|owner| {
            owner
                .execute(sql, values)
                .unwrap_or_else(|e| panic!("{sql}: {e:?}"));
        });
    }
}
