//! The demo school: invented people, courses, shots, critiques. A year of them.

mod marks;
mod people;
mod shots;
pub(crate) mod sketch;

use crate::plan::Scenario;

/// Everybody's password in the demo school.
pub const DEMO_PASSWORD: &str = "lantern-over-the-yard";

impl Scenario {
    /// The whole school.
    #[must_use]
    pub fn full() -> Self {
        Self {
            school: people::SCHOOL,
            password: DEMO_PASSWORD,
            people: people::everybody(),
            courses: people::courses(),
            enrolments: people::enrolments(),
            shots: shots::all(),
        }
    }

    /// A school of three shots, for tests: the same mentors and office, the students of those shots, few revisions.
    #[must_use]
    pub fn small() -> Self {
        let mut s = Self::full();
        s.shots.truncate(3);
        for (shot, keep) in s.shots.iter_mut().zip([3, 3, 2]) {
            shot.revisions.truncate(keep);
        }
        let plays = |key: &str| s.shots.iter().any(|shot| shot.student == key);
        s.people
            .retain(|p| p.role != crate::plan::Role::Student || plays(p.key));
        s.enrolments.retain(|e| plays(e.student));
        s.courses
            .retain(|c| s.enrolments.iter().any(|e| e.course == c.key));
        s
    }
}
