//! What a roster file would do to a school.

use std::collections::{HashMap, HashSet};

use chrono::NaiveDate;
use domain::{CourseId, PersonId, Role};
use store::courses::Course;
use store::people::Person;
use store::{Conn, StoreResult, courses, enrolments, people};

use super::enrol::{ANOTHERS_ADDRESS, ToEnrol, another, belongs_to};
use super::roster_file::{Line, RosterFile, problem};
use super::types::{CsvRow, Effect};
use crate::http::problem::FieldError;

/// What the school has of what a file names.
#[derive(Debug, Default)]
pub(super) struct Known {
    courses: HashMap<String, Course>,
    people: HashMap<String, Person>,
    enrolled: HashSet<(CourseId, PersonId)>,
}

impl Known {
    /// Looks it up: three queries, however long the file is.
    pub async fn read(conn: &mut Conn, file: &RosterFile) -> StoreResult<Known> {
        let names = distinct(file.lines.iter().map(|line| &line.course));
        let emails = distinct(
            file.lines
                .iter()
                .flat_map(|line| [&line.email, &line.mentor_email]),
        );
        let courses = courses::by_name(conn, &names).await?;
        let people = people::by_email(conn, &emails).await?;
        let ids: Vec<PersonId> = people.iter().map(|person| person.id).collect();
        let enrolled = enrolments::of_students(conn, &ids).await?;
        Ok(Known {
            courses: courses
                .into_iter()
                .map(|course| (course.words.name.clone(), course))
                .collect(),
            people: people
                .into_iter()
                .map(|person| (person.email.clone(), person))
                .collect(),
            enrolled: enrolled.into_iter().collect(),
        })
    }
}

fn distinct<'a>(words: impl Iterator<Item = &'a String>) -> Vec<String> {
    words.collect::<HashSet<_>>().into_iter().cloned().collect()
}

/// What would happen.
#[derive(Debug, Default)]
pub(super) struct Plan {
    /// Line by line.
    pub rows: Vec<CsvRow>,
    /// What is to be mended.
    pub problems: Vec<FieldError>,
    /// Who would be enrolled, if nothing is to be mended.
    pub enrol: Vec<ToEnrol>,
}

impl Plan {
    /// From what a file says and what is known.
    pub fn make(file: RosterFile, known: &Known, today: NaiveDate) -> Plan {
        let mut plan = Plan {
            problems: file.problems,
            ..Plan::default()
        };
        let mut seen: HashMap<(String, String), u64> = HashMap::new();
        for line in &file.lines {
            let before = plan.problems.len();
            let key = (line.email.clone(), line.course.clone());
            if let Some(first) = seen.insert(key, line.number) {
                let reason = format!("is in this course already on line {first}");
                plan.problems.push(problem(
                    line.number,
                    "email",
                    &reason,
                    "Remove one of them.",
                ));
            }
            let planned = plan.look_up(line, known, today);
            let already = planned.as_ref().is_some_and(|planned| {
                planned
                    .student
                    .is_some_and(|id| known.enrolled.contains(&(planned.course, id)))
            });
            if !already {
                plan.hold_to_the_name(line, known);
            }
            let faulty = line.faulty || plan.problems.len() > before;
            let effect = match (faulty, already) {
                (true, _) => Effect::Problem,
                (false, true) => Effect::Unchanged,
                (false, false) => Effect::Enrol,
            };
            plan.rows
                .push(row(line, known, planned.as_ref(), today, effect));
            plan.enrol
                .extend(planned.filter(|_| effect == Effect::Enrol));
        }
        plan
    }

    fn look_up(&mut self, line: &Line, known: &Known, today: NaiveDate) -> Option<ToEnrol> {
        let mut fault = |field: &str, reason: &str, remedy: &str| {
            self.problems
                .push(problem(line.number, field, reason, remedy));
        };
        let course = known.courses.get(&line.course);
        if course.is_none() && !line.course.is_empty() {
            fault(
                "course",
                "is not a course of this school",
                "Write its name as the list of courses has it.",
            );
        }
        let mentor = known
            .people
            .get(&line.mentor_email)
            .filter(|person| person.roles.contains(&Role::Mentor));
        if mentor.is_none() && !line.mentor_email.is_empty() {
            fault(
                "mentor_email",
                "is not a mentor of this school",
                "Add them to the people first.",
            );
        }
        let student = known.people.get(&line.email);
        if student.is_some_and(|person| !person.roles.contains(&Role::Student)) {
            fault(
                "email",
                "belongs to somebody who is not a student here",
                "A student needs an address of their own.",
            );
        }
        let (course, mentor) = (course?, mentor?);
        Some(ToEnrol {
            student: student.map(|person| person.id),
            name: line.name.clone(),
            email: line.email.clone(),
            course: course.id,
            mentor: mentor.id,
            starts_on: line.starts_on.unwrap_or(today),
            granted: line.submissions.unwrap_or(course.words.granted),
        })
    }

    /// Nobody is enrolled by an address that is another's. Those enrolled before stay as they are, whatever they are called by now.
    fn hold_to_the_name(&mut self, line: &Line, known: &Known) {
        let owner = known
            .people
            .get(&line.email)
            .filter(|person| person.roles.contains(&Role::Student));
        if let Some(owner) = owner.filter(|owner| another(&owner.name, &line.name)) {
            self.problems.push(problem(
                line.number,
                "email",
                &belongs_to(&owner.name),
                ANOTHERS_ADDRESS,
            ));
        }
    }

    /// Those who are enrolled already.
    pub fn unchanged(&self) -> usize {
        self.rows
            .iter()
            .filter(|row| row.effect == Effect::Unchanged)
            .count()
    }
}

fn row(
    line: &Line,
    known: &Known,
    planned: Option<&ToEnrol>,
    today: NaiveDate,
    effect: Effect,
) -> CsvRow {
    let mentor = known.people.get(&line.mentor_email);
    CsvRow {
        line: line.number,
        name: line.name.clone(),
        email: line.email.clone(),
        course: line.course.clone(),
        mentor: mentor.map_or_else(|| line.mentor_email.clone(), |person| person.name.clone()),
        starts_on: line.starts_on.unwrap_or(today).to_string(),
        submissions: planned.map_or(line.submissions.unwrap_or(0), |planned| planned.granted),
        effect,
    }
}
