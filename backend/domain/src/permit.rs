//! The one rule every read and write passes. The database's own policies stand behind it; neither relies on the other.

use crate::{Actor, PersonId, Role, SchoolId};

/// What is about to be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// Use one's own account: sessions, preferences.
    UseAccount,
    /// See every person of the school, add, invite and correct them.
    ManagePeople,
    /// List persons: the office all, a mentor their students.
    ListPersons,
    /// Offer and amend courses and assignments, enrol, move, grant, mail quota status.
    ManageCourses,
    /// See the courses one is in.
    ReadCourses,
    /// See enrolments and their ledgers.
    ReadEnrolment,
    /// Upload, start shots, send, withdraw.
    Send,
    /// See a shot, its revisions and submissions.
    ReadShot,
    /// See footage that belongs to the asker or was sent to them.
    ReadFootage,
    /// Cancel or repeat the preparation of one's own footage.
    ManageFootage,
    /// See what waits, open a submission.
    Critique,
    /// Change a draft, release it, take it back, amend it.
    WriteCritique,
    /// Read a critique: the student's mentor who writes it always, the student and their mentor once it is released, its author
    /// from then on even if the student has another mentor.
    ReadCritique,
    /// Answer a released note.
    AnswerNote,
    /// See which concerns recur.
    ReadRefrain,
    /// Search the archive.
    SearchArchive,
    /// See, add, remove and try the school's own words.
    ManageLexicon,
}

/// What the rule has to know about the thing in question. A list or a new thing has only a school.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Facts {
    /// The school it belongs to.
    pub school: SchoolId,
    /// The student it is about.
    pub student: Option<PersonId>,
    /// The student's mentor at present.
    pub mentor: Option<PersonId>,
    /// Who wrote the critique in question, or a critique of the footage.
    pub author: Option<PersonId>,
    /// Whether it is out in the open (sent, released).
    pub released: bool,
}

impl Facts {
    /// Of a list, or of a thing that does not exist yet.
    pub fn of_school(school: SchoolId) -> Facts {
        Facts {
            school,
            student: None,
            mentor: None,
            author: None,
            released: false,
        }
    }

    /// Of a thing between a student and a mentor.
    pub fn between(school: SchoolId, student: PersonId, mentor: PersonId) -> Facts {
        Facts {
            school,
            student: Some(student),
            mentor: Some(mentor),
            author: None,
            released: false,
        }
    }

    /// Of a critique by `author`. Without a `mentor` the asker may not even know who has the student now, so it is not them.
    pub fn of_critique(
        school: SchoolId,
        student: PersonId,
        mentor: Option<PersonId>,
        author: PersonId,
    ) -> Facts {
        Facts {
            author: Some(author),
            ..Facts::between(school, student, mentor.unwrap_or(NOBODY))
        }
    }

    /// The same, once it is out.
    pub fn released(self, released: bool) -> Facts {
        Facts { released, ..self }
    }
}

/// Stands for a person who is none of those that ask.
const NOBODY: PersonId = PersonId(uuid::Uuid::nil());

/// Why not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Denial {
    /// That it exists is already too much: answer as if it did not.
    Hide,
    /// Its existence is no secret; the asker may not do this.
    Refuse,
}

/// Whether `actor` may do `action` to what `facts` describe.
pub fn permit(actor: &Actor, action: Action, facts: &Facts) -> Result<(), Denial> {
    if facts.school != actor.school {
        return Err(Denial::Hide);
    }
    let office = actor.is(Role::Office);
    let about_me =
        actor.is(Role::Student) && facts.student.is_none_or(|student| student == actor.person);
    let my_student =
        actor.is(Role::Mentor) && facts.mentor.is_none_or(|mentor| mentor == actor.person);
    let wrote = actor.is(Role::Mentor) && facts.author == Some(actor.person);
    let names_someone = facts.student.is_some() || facts.mentor.is_some();
    let allowed = match action {
        Action::UseAccount => true,
        Action::ManagePeople | Action::ManageCourses => office,
        Action::ListPersons => office || my_student,
        Action::ReadCourses => true,
        Action::ReadEnrolment | Action::ReadShot => office || about_me || my_student,
        Action::Send | Action::ManageFootage => about_me,
        Action::ReadFootage => {
            about_me
                || (my_student && (facts.released || !names_someone))
                || (wrote && facts.released)
        }
        Action::ManageLexicon => office || my_student,
        Action::Critique => my_student,
        Action::WriteCritique => my_student && (wrote || facts.author.is_none()),
        Action::ReadCritique => {
            (my_student && (wrote || facts.released || facts.author.is_none()))
                || ((wrote || about_me) && facts.released)
        }
        Action::AnswerNote => about_me && facts.released,
        Action::ReadRefrain | Action::SearchArchive => about_me || my_student,
    };
    match allowed {
        true => Ok(()),
        false if names_someone && !may_know_of(actor, facts) => Err(Denial::Hide),
        false => Err(Denial::Refuse),
    }
}

/// Whether the asker knows anyway that the thing exists, so that a plain refusal gives nothing away.
fn may_know_of(actor: &Actor, facts: &Facts) -> bool {
    facts.student == Some(actor.person) && facts.released
        || facts.mentor == Some(actor.person)
            && (facts.released || facts.author.is_none_or(|author| author == actor.person))
        || facts.author == Some(actor.person) && facts.released
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use uuid::Uuid;

    fn actor(person: u128, roles: &[Role]) -> Actor {
        Actor {
            school: Uuid::from_u128(1).into(),
            person: Uuid::from_u128(person).into(),
            roles: roles.iter().copied().collect(),
        }
    }

    fn between(student: u128, mentor: u128) -> Facts {
        Facts::between(
            Uuid::from_u128(1).into(),
            Uuid::from_u128(student).into(),
            Uuid::from_u128(mentor).into(),
        )
    }

    #[test]
    fn a_draft_is_the_mentors_alone() {
        let (student, mentor) = (actor(10, &[Role::Student]), actor(20, &[Role::Mentor]));
        assert_eq!(
            permit(&mentor, Action::ReadCritique, &between(10, 20)),
            Ok(())
        );
        assert_eq!(
            permit(&student, Action::ReadCritique, &between(10, 20)),
            Err(Denial::Hide)
        );
        assert_eq!(
            permit(
                &student,
                Action::ReadCritique,
                &between(10, 20).released(true)
            ),
            Ok(())
        );
        assert_eq!(
            permit(
                &student,
                Action::WriteCritique,
                &between(10, 20).released(true)
            ),
            Err(Denial::Refuse)
        );
    }

    #[test]
    fn another_student_and_another_mentor_see_nothing() {
        for stranger in [actor(11, &[Role::Student]), actor(21, &[Role::Mentor])] {
            for action in [
                Action::ReadShot,
                Action::ReadFootage,
                Action::ReadCritique,
                Action::WriteCritique,
                Action::AnswerNote,
                Action::ReadRefrain,
            ] {
                assert_eq!(
                    permit(&stranger, action, &between(10, 20).released(true)),
                    Err(Denial::Hide),
                    "{action:?}"
                );
            }
        }
    }

    #[test]
    fn a_former_mentor_reads_what_they_released_and_no_more() {
        let former = actor(21, &[Role::Mentor]);
        for mentor in [Some(Uuid::from_u128(20).into()), None] {
            let own = Facts::of_critique(
                Uuid::from_u128(1).into(),
                Uuid::from_u128(10).into(),
                mentor,
                former.person,
            );
            let may = |action, facts: &Facts| permit(&former, action, facts);
            assert_eq!(may(Action::ReadCritique, &own.released(true)), Ok(()));
            assert_eq!(may(Action::ReadFootage, &own.released(true)), Ok(()));
            assert_eq!(
                may(Action::WriteCritique, &own.released(true)),
                Err(Denial::Refuse)
            );
            for action in [
                Action::ReadCritique,
                Action::ReadFootage,
                Action::WriteCritique,
            ] {
                assert_eq!(may(action, &own), Err(Denial::Hide), "{action:?}");
            }
            for action in [Action::ReadShot, Action::ReadRefrain] {
                assert_eq!(may(action, &between(10, 20)), Err(Denial::Hide));
            }
        }
    }

    #[test]
    fn a_new_mentor_reads_what_was_released_before_them_and_does_not_amend_it() {
        let (new, earlier) = (actor(20, &[Role::Mentor]), Uuid::from_u128(21).into());
        let facts = Facts::of_critique(
            Uuid::from_u128(1).into(),
            Uuid::from_u128(10).into(),
            Some(new.person),
            earlier,
        );
        let released = facts.released(true);
        assert_eq!(permit(&new, Action::ReadCritique, &released), Ok(()));
        assert_eq!(
            permit(&new, Action::WriteCritique, &released),
            Err(Denial::Refuse)
        );
        assert_eq!(
            permit(&new, Action::ReadCritique, &facts),
            Err(Denial::Hide)
        );
    }

    #[test]
    fn the_office_never_sees_pictures_or_notes() {
        let office = actor(30, &[Role::Office]);
        assert_eq!(permit(&office, Action::ReadShot, &between(10, 20)), Ok(()));
        for action in [
            Action::ReadFootage,
            Action::ReadCritique,
            Action::ReadRefrain,
        ] {
            assert_eq!(
                permit(&office, action, &between(10, 20).released(true)),
                Err(Denial::Hide)
            );
        }
    }

    proptest! {
        #[test]
        fn nothing_crosses_schools(action in 0..17usize, person in 0..40u128, student in 0..40u128, mentor in 0..40u128, released: bool) {
            const ACTIONS: [Action; 17] = [Action::UseAccount, Action::ManagePeople, Action::ListPersons, Action::ManageCourses, Action::ReadCourses,
                Action::ReadEnrolment, Action::Send, Action::ReadShot, Action::ReadFootage, Action::ManageFootage, Action::Critique,
                Action::WriteCritique, Action::ReadCritique, Action::AnswerNote, Action::ReadRefrain, Action::SearchArchive, Action::ManageLexicon];
            let mut facts = between(student, mentor).released(released);
            facts.school = Uuid::from_u128(2).into();
            let all = actor(person, Role::ALL);
            prop_assert_eq!(permit(&all, ACTIONS[action], &facts), Err(Denial::Hide));
        }
    }
}
