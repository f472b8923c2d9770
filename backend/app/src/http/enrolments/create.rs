use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use domain::{Action, Facts, PersonId, Role, permit};
use store::{Conn, courses, people, schools};

use super::enrol::{ANOTHERS_ADDRESS, ToEnrol, another, belongs_to, enrol};
use super::types::{Enrolment, NewEnrolment};
use crate::http::input::Valid;
use crate::http::persons::types::as_kept;
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Enrols a student, who is invited if new.
#[utoipa::path(tag = "enrolments", request_body = NewEnrolment, responses((status = 201, body = Enrolment)))]
#[post("/enrolments")]
pub(super) async fn create_enrolment(
    state: Data<State>,
    who: Who,
    input: Valid<NewEnrolment>,
) -> Answer {
    permit(
        &who.0,
        Action::ManageCourses,
        &Facts::of_school(who.0.school),
    )?;
    let Valid(new) = input;
    let enrolment = state
        .db
        .scoped(&who.0, async |conn| {
            let school = schools::own(conn).await?;
            let course = courses::get(conn, new.course_id).await?.ok_or_else(|| {
                Problem::invalid(
                    "course_id",
                    "is not a course of this school",
                    "Choose one of the courses.",
                )
            })?;
            super::must_be_mentor(conn, new.mentor_id).await?;
            let student = find_student(conn, &new).await?;
            let (name, email) = new
                .student
                .map(|student| (student.name.trim().to_owned(), as_kept(&student.email)))
                .unwrap_or_default();
            let one = ToEnrol {
                student,
                name,
                email,
                course: course.id,
                mentor: new.mentor_id,
                starts_on: new
                    .starts_on
                    .unwrap_or_else(|| super::today(state.clock.now(), &school.time_zone)),
                granted: new.granted.unwrap_or(course.words.granted),
            };
            let ids = enrol(conn, &state, &who.0, &school, &[one])
                .await
                .map_err(super::explain)?;
            let id = ids.first().copied().ok_or_else(Problem::not_found)?;
            super::view(conn, &who.0, id).await
        })
        .await?;
    Ok(HttpResponse::Created().json(enrolment))
}

/// Somebody who is here already, by id or by the address given for somebody new.
async fn find_student(conn: &mut Conn, new: &NewEnrolment) -> Result<Option<PersonId>, Problem> {
    let (field, found) = match (new.student_id, &new.student) {
        (Some(id), _) => {
            let person = people::get(conn, id).await?.ok_or_else(|| {
                Problem::invalid(
                    "student_id",
                    "is nobody of this school",
                    "Choose one of the people.",
                )
            })?;
            ("student_id", Some(person))
        }
        (None, Some(student)) => {
            let found = people::by_email(conn, &[as_kept(&student.email)]).await?;
            ("student.email", found.into_iter().next())
        }
        (None, None) => ("student", None),
    };
    let given = new.student.as_ref().filter(|_| new.student_id.is_none());
    match found {
        Some(person) if !person.roles.contains(&Role::Student) => Err(Problem::invalid(
            field,
            "belongs to somebody who is not a student here",
            "A student needs an address of their own.",
        )),
        Some(person) if given.is_some_and(|given| another(&person.name, &given.name)) => Err(
            Problem::invalid(field, &belongs_to(&person.name), ANOTHERS_ADDRESS),
        ),
        found => Ok(found.map(|person| person.id)),
    }
}
