//! Shapes of schools.

/// A school.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, utoipa::ToSchema)]
pub struct School {
    /// What its sign-in address ends in.
    pub slug: String,
    /// Its name.
    pub name: String,
    /// The time zone its days are counted in, as in `Europe/Vienna`.
    pub time_zone: String,
}

impl From<store::schools::School> for School {
    fn from(row: store::schools::School) -> School {
        School {
            slug: row.slug,
            name: row.name,
            time_zone: row.time_zone,
        }
    }
}
