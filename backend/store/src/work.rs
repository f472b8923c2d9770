//! How the queue, the post and the ledger stand as a whole: counts without names.

use diesel::sql_types::{Double, Text};
use diesel_async::RunQueryDsl;

use crate::statement::statement;
use crate::{Db, StoreResult};

/// One number.
#[derive(Debug, Clone, diesel::QueryableByName)]
pub struct Line {
    /// What is counted: `jobs`, `oldest_job_seconds`, `mail`, `ledger`, `ledger_faults`.
    #[diesel(sql_type = Text)]
    pub what: String,
    /// Of which kind; for jobs `kind:state`.
    #[diesel(sql_type = Text)]
    pub label: String,
    /// How many.
    #[diesel(sql_type = Double)]
    pub n: f64,
}

/// Reads all of them through the door `work_state`.
///
/// # Errors
/// If the database does not answer.
pub async fn read(db: &Db) -> StoreResult<Vec<Line>> {
    db.door(async |conn| Ok(statement("SELECT * FROM work_state()").load(conn).await?))
        .await
}
