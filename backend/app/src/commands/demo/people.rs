//! Courses, people and enrolments, entered by the office.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, Utc};
use reqwest::Method;
use seed::plan::{AdjustmentPlan, CoursePlan, EnrolmentPlan, PersonPlan, Role, Scenario};
use serde_json::{Value, json};

use super::DemoError;
use super::calendar::Calendar;
use super::links::Links;
use super::stage::{Stage, Voice, text};

/// How long before their first day students are entered.
const ENTERED_BEFORE: Duration = Duration::days(6);

/// The school once its people and courses are there.
pub(super) struct Cast {
    /// Everybody, by the plan's key, signed in.
    pub voices: BTreeMap<&'static str, Voice>,
    /// Ids of enrolments by student and course.
    pub enrolments: BTreeMap<(&'static str, &'static str), String>,
    /// Ids of assignments by course and key.
    pub assignments: BTreeMap<(&'static str, &'static str), String>,
}

impl Cast {
    pub fn voice(&self, key: &str) -> Result<&Voice, DemoError> {
        let found = self.voices.get(key);
        found.ok_or_else(|| DemoError::Answer(format!("the plan names {key}, who is not in it")))
    }

    pub fn enrolment(&self, student: &str, course: &str) -> Result<&str, DemoError> {
        let found = self
            .enrolments
            .iter()
            .find(|((s, c), _)| *s == student && *c == course);
        found
            .map(|(_, id)| id.as_str())
            .ok_or_else(|| DemoError::Answer(format!("{student} is not in {course}")))
    }

    pub fn assignment(&self, course: &str, key: &str) -> Result<&str, DemoError> {
        let found = self
            .assignments
            .iter()
            .find(|((c, k), _)| *c == course && *k == key);
        found
            .map(|(_, id)| id.as_str())
            .ok_or_else(|| DemoError::Answer(format!("{course} has no assignment {key}")))
    }
}

/// Enters what is not there yet.
pub(super) struct Office<'a> {
    pub stage: &'a Stage,
    pub scenario: &'a Scenario,
    pub calendar: Calendar,
    pub links: &'a Links,
    pub now: DateTime<Utc>,
    /// Whether the school was founded just now, so that its office has not joined yet.
    pub founded_now: bool,
}

impl Office<'_> {
    pub async fn enter_all(&self) -> Result<Cast, DemoError> {
        let opening = self.opening();
        let head = self
            .scenario
            .people
            .iter()
            .find(|p| p.role == Role::Office)
            .ok_or_else(|| DemoError::Answer("the plan has no office".into()))?;
        let office = self.come_in(head, opening, self.founded_now).await?;
        let mut ids = BTreeMap::new();
        let mut voices = BTreeMap::from([(head.key, office.clone())]);
        for person in self.scenario.people.iter().filter(|p| p.key != head.key) {
            let at = self.entered_at(person, opening);
            let (id, is_new) = self.person(&office, person, at).await?;
            ids.insert(person.key, id);
            voices.insert(person.key, self.come_in(person, at, is_new).await?);
        }
        let mut courses = BTreeMap::new();
        let mut assignments = BTreeMap::new();
        for course in &self.scenario.courses {
            let (id, of_course) = self.course(&office, course, opening).await?;
            courses.insert(course.key, id);
            assignments.extend(of_course);
        }
        let mut enrolments = BTreeMap::new();
        for plan in &self.scenario.enrolments {
            let id = self.enrolment(&office, plan, &courses, &ids).await?;
            for adjustment in &plan.adjustments {
                self.adjustment(&office, &id, adjustment).await?;
            }
            enrolments.insert((plan.student, plan.course), id);
        }
        Ok(Cast {
            voices,
            enrolments,
            assignments,
        })
    }

    /// The school opened some days before its first student began.
    fn opening(&self) -> DateTime<Utc> {
        let first = self.scenario.enrolments.iter().map(|e| e.starts).min();
        first.map_or(self.now, |m| self.calendar.at(m)) - Duration::days(14)
    }

    fn entered_at(&self, person: &PersonPlan, opening: DateTime<Utc>) -> DateTime<Utc> {
        let of_person = self
            .scenario
            .enrolments
            .iter()
            .filter(|e| e.student == person.key);
        of_person
            .map(|e| self.calendar.at(e.starts) - ENTERED_BEFORE)
            .min()
            .unwrap_or(opening)
    }

    async fn person(
        &self,
        office: &Voice,
        plan: &PersonPlan,
        at: DateTime<Utc>,
    ) -> Result<(String, bool), DemoError> {
        let found = self
            .stage
            .find(office, self.now, "/api/v1/persons", |p| {
                p["email"] == plan.email
            })
            .await?;
        if let Some(person) = found {
            let is_new = person["joined_at"].is_null();
            return Ok((text(&person, "id")?.into(), is_new));
        }
        let role = match plan.role {
            Role::Mentor => "mentor",
            Role::Student => "student",
            Role::Office => "office",
        };
        let body = json!({ "name": plan.name, "email": plan.email, "roles": [role] });
        let person = self
            .stage
            .ask(office, at, Method::POST, "/api/v1/persons", Some(body))
            .await?;
        Ok((text(&person, "id")?.into(), true))
    }

    /// Joins, if new, some hours after having been entered; then comes in as of now, for a session begun
    /// long ago would have ended.
    async fn come_in(
        &self,
        plan: &PersonPlan,
        entered: DateTime<Utc>,
        is_new: bool,
    ) -> Result<Voice, DemoError> {
        let password = self.scenario.password;
        if is_new {
            let joined = entered + Duration::hours(5);
            let token = self.links.write(plan.email, "invitation", joined).await?;
            self.stage
                .enter(plan.name, joined, &token, password)
                .await?;
        }
        let token = self.links.write(plan.email, "reset", self.now).await?;
        self.stage
            .enter(plan.name, self.now, &token, password)
            .await
    }

    async fn course(
        &self,
        office: &Voice,
        plan: &CoursePlan,
        at: DateTime<Utc>,
    ) -> Result<(String, BTreeMap<(&'static str, &'static str), String>), DemoError> {
        let found = self
            .stage
            .find(office, self.now, "/api/v1/courses", |c| {
                c["name"] == plan.name
            })
            .await?;
        let course = match found {
            Some(course) => course,
            None => {
                let body = json!({ "name": plan.name, "brief": plan.brief,
                    "granted": plan.granted, "promise_days": plan.promise_days });
                self.stage
                    .ask(office, at, Method::POST, "/api/v1/courses", Some(body))
                    .await?
            }
        };
        let id = text(&course, "id")?.to_owned();
        let mut ids = BTreeMap::new();
        for assignment in &plan.assignments {
            let there = course["assignments"].as_array().into_iter().flatten();
            let known = there
                .clone()
                .find(|a| a["title"] == assignment.title)
                .cloned();
            let assigned: Value = match known {
                Some(a) => a,
                None => {
                    let path = format!("/api/v1/courses/{id}/assignments");
                    let body = json!({ "title": assignment.title, "brief": assignment.brief });
                    self.stage
                        .ask(office, at, Method::POST, path, Some(body))
                        .await?
                }
            };
            ids.insert(
                (plan.key, assignment.key),
                text(&assigned, "id")?.to_owned(),
            );
        }
        Ok((id, ids))
    }

    async fn enrolment(
        &self,
        office: &Voice,
        plan: &EnrolmentPlan,
        courses: &BTreeMap<&str, String>,
        people: &BTreeMap<&str, String>,
    ) -> Result<String, DemoError> {
        let id_of = |ids: &BTreeMap<&str, String>, key: &str| {
            ids.get(key)
                .cloned()
                .ok_or_else(|| DemoError::Answer(format!("the plan names {key}, who is not in it")))
        };
        let (course, student) = (id_of(courses, plan.course)?, id_of(people, plan.student)?);
        let path = format!("/api/v1/enrolments?course={course}&student={student}");
        if let Some(there) = self.stage.find(office, self.now, &path, |_| true).await? {
            return Ok(text(&there, "id")?.into());
        }
        let body = json!({ "course_id": course, "student_id": student,
            "mentor_id": id_of(people, plan.mentor)?, "starts_on": self.calendar.day(plan.starts) });
        let at = self.calendar.at(plan.starts) - ENTERED_BEFORE;
        let made = self
            .stage
            .ask(office, at, Method::POST, "/api/v1/enrolments", Some(body))
            .await?;
        Ok(text(&made, "id")?.into())
    }

    async fn adjustment(
        &self,
        office: &Voice,
        enrolment: &str,
        plan: &AdjustmentPlan,
    ) -> Result<(), DemoError> {
        let path = format!("/api/v1/enrolments/{enrolment}/quota-entries");
        let known = self
            .stage
            .find(office, self.now, &path, |q| q["reason"] == plan.reason)
            .await?;
        if known.is_none() {
            let body = json!({ "amount": plan.amount, "reason": plan.reason });
            let at = self.calendar.at(plan.at);
            self.stage
                .ask(office, at, Method::POST, path, Some(body))
                .await?;
        }
        Ok(())
    }
}
