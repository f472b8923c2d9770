//! One registry of typed ids, so that a shot's id cannot be passed where a revision's is meant.

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        #[serde(transparent)]
        #[cfg_attr(feature = "sql", derive(diesel::expression::AsExpression, diesel::deserialize::FromSqlRow), diesel(sql_type = diesel::sql_types::Uuid))]
        #[cfg_attr(feature = "openapi", derive(utoipa::ToSchema), schema(value_type = uuid::Uuid))]
        pub struct $name(pub uuid::Uuid);

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result { self.0.fmt(f) }
        }

        impl From<uuid::Uuid> for $name {
            fn from(id: uuid::Uuid) -> Self { Self(id) }
        }

        impl std::str::FromStr for $name {
            type Err = uuid::Error;
            fn from_str(s: &str) -> Result<Self, Self::Err> { s.parse().map(Self) }
        }

        #[cfg(feature = "sql")]
        impl diesel::serialize::ToSql<diesel::sql_types::Uuid, diesel::pg::Pg> for $name {
            fn to_sql<'b>(&'b self, out: &mut diesel::serialize::Output<'b, '_, diesel::pg::Pg>) -> diesel::serialize::Result {
                diesel::serialize::ToSql::<diesel::sql_types::Uuid, diesel::pg::Pg>::to_sql(&self.0, out)
            }
        }

        #[cfg(feature = "sql")]
        impl diesel::deserialize::FromSql<diesel::sql_types::Uuid, diesel::pg::Pg> for $name {
            fn from_sql(bytes: diesel::pg::PgValue<'_>) -> diesel::deserialize::Result<Self> {
                <uuid::Uuid as diesel::deserialize::FromSql<diesel::sql_types::Uuid, diesel::pg::Pg>>::from_sql(bytes).map(Self)
            }
        }
    )+};
}

ids! {
    /// A tenant.
    SchoolId,
    /// An account of one school.
    PersonId,
    /// An offering with a brief, a quota and a promise.
    CourseId,
    /// A brief inside a course.
    AssignmentId,
    /// A student in a course with a mentor.
    EnrolmentId,
    /// One line of the ledger.
    QuotaEntryId,
    /// A file on its way in.
    UploadId,
    /// The file sent and all derived from it.
    FootageId,
    /// One piece of a student's animation.
    ShotId,
    /// r1, r2, ... of a shot.
    RevisionId,
    /// The act of sending a revision.
    SubmissionId,
    /// The mentor's answer to a submission.
    CritiqueId,
    /// The thread of notes about one underlying problem.
    ConcernId,
    /// One observation.
    NoteId,
    /// One stroke drawn on a frame.
    StrokeId,
    /// A path of dots set by hand.
    TraceId,
    /// A dated addition to a released critique.
    AmendmentId,
    /// A word of a school's own.
    LexiconWordId,
    /// One mail of the outbox.
    MailId,
}
