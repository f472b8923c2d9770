//! Who is asking.

use crate::{PersonId, Role, SchoolId};

/// The roles one person holds in a school; an account may hold several.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Roles {
    mentor: bool,
    student: bool,
    office: bool,
}

impl Roles {
    /// Whether `role` is held.
    pub fn has(self, role: Role) -> bool {
        match role {
            Role::Mentor => self.mentor,
            Role::Student => self.student,
            Role::Office => self.office,
        }
    }

    /// The held roles in a fixed order.
    pub fn iter(self) -> impl Iterator<Item = Role> {
        Role::ALL
            .iter()
            .copied()
            .filter(move |role| self.has(*role))
    }
}

impl FromIterator<Role> for Roles {
    fn from_iter<I: IntoIterator<Item = Role>>(roles: I) -> Self {
        let mut held = Roles::default();
        for role in roles {
            match role {
                Role::Mentor => held.mentor = true,
                Role::Student => held.student = true,
                Role::Office => held.office = true,
            }
        }
        held
    }
}

/// The person on whose behalf something is read or written; every transaction is scoped to one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Actor {
    /// The one school the person belongs to.
    pub school: SchoolId,
    /// The person.
    pub person: PersonId,
    /// What they are there.
    pub roles: Roles,
}

impl Actor {
    /// Whether the person holds `role`.
    pub fn is(&self, role: Role) -> bool {
        self.roles.has(role)
    }
}
