//! Statements in SQL's own words whose preparation each connection keeps, as diesel keeps that of the queries it writes. With
//! `diesel::sql_query` Postgres would read and plan them anew each time, policies and all: that is most of their cost.

use diesel::expression::expression_types::Untyped;
use diesel::pg::Pg;
use diesel::query_builder::{AstPass, BoxedSqlQuery, Query, QueryFragment, QueryId, SqlQuery};
use diesel::result::QueryResult;
use diesel::serialize::ToSql;
use diesel::sql_types::HasSqlType;

/// A statement with parameters `$1`, `$2` and so on, to be bound in this order. Its text must not depend on what is asked: each text is
/// kept for as long as its connection.
pub(crate) fn statement<'a>(text: impl Into<String>) -> Statement<'a> {
    Statement {
        query: diesel::sql_query(text).into_boxed(),
        kept: true,
    }
}

/// A statement whose best plan depends on what is bound, as that of a list with filters that may be absent: one plan for all would be
/// a bad one for each. Nothing of it is kept.
pub(crate) fn filtered<'a>(text: impl Into<String>) -> Statement<'a> {
    Statement {
        kept: false,
        ..statement(text)
    }
}

/// See [`statement`] and [`filtered`]. What it gives is loaded by name.
pub(crate) struct Statement<'a> {
    query: BoxedSqlQuery<'a, Pg, SqlQuery>,
    kept: bool,
}

impl<'a> Statement<'a> {
    /// Binds the next parameter, of the SQL type `T`.
    pub(crate) fn bind<T, V>(self, value: V) -> Self
    where
        T: Send + 'a,
        V: ToSql<T, Pg> + Send + 'a,
        Pg: HasSqlType<T>,
    {
        Self {
            query: self.query.bind::<T, V>(value),
            kept: self.kept,
        }
    }
}

impl Query for Statement<'_> {
    type SqlType = Untyped;
}

/// Known by its text alone.
impl QueryId for Statement<'_> {
    type QueryId = ();

    const HAS_STATIC_QUERY_ID: bool = false;
}

impl QueryFragment<Pg> for Statement<'_> {
    fn walk_ast<'b>(&'b self, out: AstPass<'_, 'b, Pg>) -> QueryResult<()> {
        self.query.walk_ast(out)
    }

    fn is_safe_to_cache_prepared(&self, _backend: &Pg) -> QueryResult<bool> {
        Ok(self.kept)
    }
}
