//! Enrolling, one student or many.

use std::collections::{HashMap, HashSet};

use chrono::NaiveDate;
use domain::{Actor, CourseId, EnrolmentId, PersonId, Role};
use store::enrolments::{self, NewEnrolment};
use store::people::{self, NewPerson};
use store::quota::{self, NewEntry};
use store::schools::School;
use store::{Conn, StoreResult};
use uuid::Uuid;

use crate::invitations;
use crate::state::State;

/// A student to be enrolled.
#[derive(Debug, Clone)]
pub(super) struct ToEnrol {
    /// Somebody who is here; none: somebody new of this name and address.
    pub student: Option<PersonId>,
    /// Their name.
    pub name: String,
    /// Their address, in small letters.
    pub email: String,
    /// The course.
    pub course: CourseId,
    /// The mentor.
    pub mentor: PersonId,
    /// The first day.
    pub starts_on: NaiveDate,
    /// Submissions to begin with.
    pub granted: i32,
}

/// What to do about an address given for somebody of another name than its owner's.
pub(super) const ANOTHERS_ADDRESS: &str =
    "Write the address of the student you mean, or the name that is kept here.";

/// What is wrong with such an address.
pub(super) fn belongs_to(owner: &str) -> String {
    format!("belongs to {owner}, who is here already")
}

/// Whether two names are those of two people: small letters and spacing tell nobody apart.
pub(super) fn another(one: &str, other: &str) -> bool {
    let plain = |name: &str| {
        let words: Vec<&str> = name.split_whitespace().collect();
        words.join(" ").to_lowercase()
    };
    plain(one) != plain(other)
}

/// Enrols them, grants what they begin with, adds and invites those who are new; gives the enrolments in the same order.
pub(super) async fn enrol(
    conn: &mut Conn,
    state: &State,
    actor: &Actor,
    school: &School,
    all: &[ToEnrol],
) -> StoreResult<Vec<EnrolmentId>> {
    let at = state.clock.now();
    let new_people = add_new_people(conn, state, school, all).await?;
    let rows: Vec<NewEnrolment> = all
        .iter()
        .filter_map(|one| {
            let student = one
                .student
                .or_else(|| new_people.get(&one.email).copied())?;
            Some(NewEnrolment {
                id: Uuid::now_v7().into(),
                school: school.id,
                course: one.course,
                student,
                mentor: one.mentor,
                starts_on: one.starts_on,
                at,
            })
        })
        .collect();
    let grants: Vec<NewEntry> = rows
        .iter()
        .zip(all)
        .map(|(row, one)| NewEntry {
            id: Uuid::now_v7().into(),
            school: school.id,
            enrolment: row.id,
            amount: one.granted,
            reason: None,
            by: actor.person,
            at,
        })
        .collect();
    enrolments::add(conn, &rows).await?;
    quota::enter(conn, &grants).await?;
    Ok(rows.into_iter().map(|row| row.id).collect())
}

/// The new ones by their address; somebody who is in two courses of one file is one person.
async fn add_new_people(
    conn: &mut Conn,
    state: &State,
    school: &School,
    all: &[ToEnrol],
) -> StoreResult<HashMap<String, PersonId>> {
    let mut seen = HashSet::new();
    let new: Vec<NewPerson> = all
        .iter()
        .filter(|one| one.student.is_none() && seen.insert(one.email.as_str()))
        .map(|one| NewPerson {
            id: Uuid::now_v7().into(),
            school: school.id,
            email: one.email.clone(),
            name: one.name.clone(),
            roles: vec![Role::Student],
            at: state.clock.now(),
        })
        .collect();
    if new.is_empty() {
        return Ok(HashMap::new());
    }
    people::add(conn, &new).await?;
    let emails: Vec<String> = new.into_iter().map(|person| person.email).collect();
    let added = people::by_email(conn, &emails).await?;
    invitations::invite(conn, state, school, &added).await?;
    Ok(added
        .into_iter()
        .map(|person| (person.email, person.id))
        .collect())
}
