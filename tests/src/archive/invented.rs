//! A school and its neighbour with random critiques, written past the policies, and random changes to them.

use chrono::{DateTime, Duration, Utc};
use postgres::Client;
use postgres::types::ToSql;
use rand::rngs::StdRng;
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use uuid::Uuid;

/// Words that notes are made of.
pub const WORDS: [&str; 10] = [
    "hand",
    "holds",
    "hold",
    "hips",
    "settle",
    "arc",
    "late",
    "the",
    "r2",
    "caf\u{E9}",
];
/// Parts that notes are about.
pub const PARTS: [&str; 6] = ["wrist", "arm", "foot", "spine", "prop", "hand"];
/// Principles of notes.
pub const PRINCIPLES: [&str; 4] = ["spacing", "timing", "arcs", "weight"];
/// Kinds of notes.
pub const KINDS: [&str; 4] = ["fix", "consider", "keep", "question"];

/// A person who can ask.
#[derive(Debug, Clone)]
pub struct Asking {
    /// Their school.
    pub school: Uuid,
    /// Themselves.
    pub person: Uuid,
    /// What they are.
    pub roles: Vec<&'static str>,
}

/// What has been written so far.
pub struct Invented<'a> {
    /// The source of all that is random.
    pub dice: StdRng,
    /// Past the policies.
    pub sql: &'a mut Client,
    /// Everybody.
    pub people: Vec<Asking>,
    /// Every shot.
    pub shots: Vec<Uuid>,
    begun: DateTime<Utc>,
    enrolments: Vec<Enrolment>,
    critiques: Vec<Critique>,
}

struct Enrolment {
    id: Uuid,
    school: Uuid,
    course: Uuid,
    student: Uuid,
}

#[derive(Clone)]
struct Critique {
    id: Uuid,
    school: Uuid,
    student: Uuid,
    mentor: Uuid,
    shot: Uuid,
    revision: Uuid,
    concern: Uuid,
    released: Option<DateTime<Utc>>,
    notes: Vec<Uuid>,
}

impl<'a> Invented<'a> {
    /// Two schools of five people and a course each, with nothing sent yet.
    pub fn new(sql: &'a mut Client, seed: u64) -> Self {
        let dice = StdRng::seed_from_u64(seed);
        let begun = Utc::now() - Duration::days(300);
        let mut invented = Self {
            dice,
            sql,
            people: Vec::new(),
            shots: Vec::new(),
            begun,
            enrolments: Vec::new(),
            critiques: Vec::new(),
        };
        for slug in ["north-school", "south-school"] {
            invented.school(slug);
        }
        invented
    }

    fn run(&mut self, sql: &str, values: &[&(dyn ToSql + Sync)]) {
        self.sql
            .execute(sql, values)
            .unwrap_or_else(|e| panic!("{sql}: {e:?}"));
    }

    fn moment(&mut self) -> DateTime<Utc> {
        self.begun + Duration::microseconds(self.dice.random_range(0..290 * 86_400_000_000))
    }

    fn sentence(&mut self) -> String {
        let count = self.dice.random_range(0..9);
        let words: Vec<&str> = (0..count)
            .filter_map(|_| WORDS.choose(&mut self.dice).copied())
            .collect();
        words.join(" ")
    }

    fn school(&mut self, slug: &str) {
        let (school, course) = (Uuid::now_v7(), Uuid::now_v7());
        self.run("INSERT INTO school (id, slug, name, time_zone, created_at) VALUES ($1, $2, $2, 'UTC', now())", &[&school, &slug]);
        self.run(
            "INSERT INTO course (id, school_id, name, brief, granted, promise_days, created_at) VALUES ($1, $2, 'Walks', '', 16, 14, now())",
            &[&course, &school],
        );
        let roles: [&[&str]; 6] = [
            &["mentor"],
            &["mentor", "student"],
            &["student"],
            &["student"],
            &["office"],
            &["office", "mentor"],
        ];
        let first = self.people.len();
        for (n, roles) in roles.into_iter().enumerate() {
            let person = Uuid::now_v7();
            let email = format!("p{n}@{slug}.example");
            self.run(
                "INSERT INTO person (id, school_id, email, name, roles, created_at) VALUES ($1, $2, $3, $3, $4, now())",
                &[&person, &school, &email, &roles],
            );
            self.people.push(Asking {
                school,
                person,
                roles: roles.to_vec(),
            });
        }
        let students: Vec<Uuid> = self.people[first..]
            .iter()
            .filter(|p| p.roles.contains(&"student"))
            .map(|p| p.person)
            .collect();
        for student in students {
            let (id, mentor) = (Uuid::now_v7(), self.mentor(school));
            self.run(
                "INSERT INTO enrolment (id, school_id, course_id, student_id, mentor_id, starts_on, created_at)
                 VALUES ($1, $2, $3, $4, $5, current_date, now())",
                &[&id, &school, &course, &student, &mentor],
            );
            self.enrolments.push(Enrolment {
                id,
                school,
                course,
                student,
            });
        }
    }

    fn mentor(&mut self, school: Uuid) -> Uuid {
        let mentors: Vec<Uuid> = self
            .people
            .iter()
            .filter(|p| p.school == school && p.roles.contains(&"mentor"))
            .map(|p| p.person)
            .collect();
        *mentors.choose(&mut self.dice).expect("a mentor")
    }

    /// A new shot or a new revision of one, with a draft of its critique by the student's mentor.
    fn send(&mut self) {
        let at = self.dice.random_range(0..self.enrolments.len());
        let Enrolment {
            id: enrolment,
            school,
            course,
            student,
        } = self.enrolments[at];
        let [shot, footage, revision, submission, critique, concern] =
            [(); 6].map(|()| Uuid::now_v7());
        self.run(
            "INSERT INTO shot (id, school_id, enrolment_id, course_id, student_id, title, created_at) VALUES ($1, $2, $3, $4, $5, 'A shot', now())",
            &[&shot, &school, &enrolment, &course, &student],
        );
        self.run(
            "INSERT INTO footage (id, school_id, student_id, filename, source_key, source_bytes, probe, width, height, frames, fps_num, fps_den, created_at)
             VALUES ($1, $2, $3, 'a.mp4', 'a', 1, '{}', 16, 16, 24, 24, 1, now())",
            &[&footage, &school, &student],
        );
        self.run(
            "INSERT INTO revision (id, school_id, shot_id, number, footage_id, stage, created_at) VALUES ($1, $2, $3, 1, $4, 'spline', now())",
            &[&revision, &school, &shot, &footage],
        );
        // Spend, mail and job of the submission are not what this is about.
        self.run("SET session_replication_role = replica", &[]);
        self.run(
            "INSERT INTO submission (id, school_id, enrolment_id, student_id, shot_id, revision_id, idem_key, request_hash, words, sent_at, promised_on)
             VALUES ($1, $2, $3, $4, $5, $6, $7, '', '', now(), current_date)",
            &[&submission, &school, &enrolment, &student, &shot, &revision, &submission.to_string()],
        );
        self.run("SET session_replication_role = origin", &[]);
        let row = self
            .sql
            .query_one(
                "SELECT mentor_id FROM enrolment WHERE id = $1",
                &[&enrolment],
            )
            .expect("the enrolment");
        let mentor: Uuid = row.get(0);
        self.run(
            "INSERT INTO critique (id, school_id, enrolment_id, submission_id, revision_id, shot_id, student_id, mentor_id, created_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, now())",
            &[&critique, &school, &enrolment, &submission, &revision, &shot, &student, &mentor],
        );
        self.run(
            "INSERT INTO concern (id, school_id, shot_id, student_id, critique_id, created_at) VALUES ($1, $2, $3, $4, $5, now())",
            &[&concern, &school, &shot, &student, &critique],
        );
        self.shots.push(shot);
        let notes = Vec::new();
        self.critiques.push(Critique {
            id: critique,
            school,
            student,
            mentor,
            shot,
            revision,
            concern,
            released: None,
            notes,
        });
        for _ in 0..self.dice.random_range(1..4) {
            self.note(self.critiques.len() - 1);
        }
    }

    fn note(&mut self, at: usize) {
        let (id, words, moment) = (Uuid::now_v7(), self.sentence(), self.moment());
        let kind = *KINDS.choose(&mut self.dice).expect("a kind");
        let principles: Vec<&str> = PRINCIPLES
            .into_iter()
            .filter(|_| self.dice.random_bool(0.4))
            .collect();
        let sides = [None, Some("left"), Some("right"), Some("both")];
        let parts: Vec<serde_json::Value> = (0..self.dice.random_range(0..3))
            .map(|_| {
                let part = *PARTS.choose(&mut self.dice).expect("a part");
                let side = if matches!(part, "spine" | "prop") {
                    None
                } else {
                    *sides.choose(&mut self.dice).expect("a side")
                };
                serde_json::json!({ "part": part, "side": side })
            })
            .collect();
        let parts = serde_json::Value::Array(parts);
        let critique = self.critiques[at].clone();
        self.run(
            "INSERT INTO note (id, school_id, critique_id, concern_id, revision_id, shot_id, student_id, kind, urgency, principles, parts, span_start,
               span_end, words, created_at, updated_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, 'must', $9, $10, 3, 9, $11, $12, $12)",
            &[
                &id, &critique.school, &critique.id, &critique.concern, &critique.revision, &critique.shot, &critique.student, &kind,
                &principles, &parts, &words, &moment,
            ],
        );
        self.critiques[at].notes.push(id);
    }

    /// One random thing happens.
    pub fn change(&mut self) {
        if self.critiques.len() < 4 || self.dice.random_bool(0.2) {
            return self.send();
        }
        let at = self.dice.random_range(0..self.critiques.len());
        match (self.dice.random_range(0..8), self.critiques[at].released) {
            (0, _) => self.move_student(),
            (1, _) => {
                let shot = self.critiques[at].shot;
                self.run(
                    "UPDATE shot SET title = title || ' again' WHERE id = $1",
                    &[&shot],
                );
            }
            (2..=4, None) => self.release(at),
            (2, Some(time)) if time > Utc::now() => self.take_back(at),
            (_, None) => self.edit(at),
            (3 | 4, Some(time)) if time <= Utc::now() => self.answer(at),
            (_, Some(_)) => self.amend(at),
        }
    }

    fn move_student(&mut self) {
        let at = self.dice.random_range(0..self.enrolments.len());
        let (id, school) = (self.enrolments[at].id, self.enrolments[at].school);
        let mentor = self.mentor(school);
        self.run(
            "UPDATE enrolment SET mentor_id = $2 WHERE id = $1",
            &[&id, &mentor],
        );
    }

    fn release(&mut self, at: usize) {
        let soon = self.dice.random_bool(0.3);
        let time = if soon {
            Utc::now() + Duration::hours(1)
        } else {
            self.moment()
        };
        self.critiques[at].released = Some(time);
        let id = self.critiques[at].id;
        self.run(
            "UPDATE critique SET released_at = $2 WHERE id = $1",
            &[&id, &time],
        );
    }

    fn take_back(&mut self, at: usize) {
        self.critiques[at].released = None;
        let id = self.critiques[at].id;
        self.run(
            "UPDATE critique SET released_at = NULL WHERE id = $1",
            &[&id],
        );
    }

    fn edit(&mut self, at: usize) {
        let Some(note) = self.critiques[at].notes.choose(&mut self.dice).copied() else {
            return self.note(at);
        };
        if self.dice.random_bool(0.3) {
            self.critiques[at].notes.retain(|kept| *kept != note);
            return self.run("DELETE FROM note WHERE id = $1", &[&note]);
        }
        let (words, moment) = (self.sentence(), self.moment());
        self.run(
            "UPDATE note SET words = $2, updated_at = $3, version = version + 1 WHERE id = $1",
            &[&note, &words, &moment],
        );
    }

    fn answer(&mut self, at: usize) {
        let critique = self.critiques[at].clone();
        let Some(note) = critique.notes.choose(&mut self.dice) else {
            return;
        };
        let (words, moment) = (self.sentence(), self.moment());
        self.run(
            "INSERT INTO answer (note_id, school_id, critique_id, student_id, kind, words, updated_at) VALUES ($1, $2, $3, $4, 'done', $5, $6)
             ON CONFLICT (note_id) DO UPDATE SET words = EXCLUDED.words, updated_at = EXCLUDED.updated_at",
            &[note, &critique.school, &critique.id, &critique.student, &words, &moment],
        );
    }

    fn amend(&mut self, at: usize) {
        let critique = self.critiques[at].clone();
        let note = if self.dice.random_bool(0.5) {
            critique.notes.choose(&mut self.dice).copied()
        } else {
            None
        };
        let (words, moment) = (format!("then {}", self.sentence()), self.moment());
        self.run(
            "INSERT INTO amendment (id, school_id, critique_id, note_id, author_id, words, created_at) VALUES ($1, $2, $3, $4, $5, $6, $7)",
            &[&Uuid::now_v7(), &critique.school, &critique.id, &note, &critique.mentor, &words, &moment],
        );
    }
}
