//! The start-up path as one call: database, roles, schema and migrations. Blocking; needs a superuser.

use crate::prepare_database::{PrepareError, ensure_roles, ensure_schema, migrate};

/// How to reach one database as each of the logins that the start needs.
#[derive(Clone, Copy)]
pub struct Logins<'a> {
    /// A superuser, in the database.
    pub admin: &'a str,
    /// The owner of the tables, in the database.
    pub ddl: &'a str,
    /// The password to give to the program's own roles; none where the system's user is proof enough.
    pub password: Option<&'a str>,
}

/// Creates the database if it is not there. `maintenance` is an address of the same server in a database that is.
///
/// # Errors
/// What Postgres refused.
pub fn create_database(maintenance: &str, database: &str) -> Result<(), PrepareError> {
    let mut admin = connect(maintenance)?;
    let there = admin
        .query_opt("SELECT FROM pg_database WHERE datname = $1", &[&database])
        .map_err(refused("look for the database"))?;
    if there.is_none() {
        let quoted = database.replace('"', "\"\"");
        match admin.batch_execute(&format!("CREATE DATABASE \"{quoted}\"")) {
            Err(e) if e.code() == Some(&postgres::error::SqlState::DUPLICATE_DATABASE) => {}
            other => other.map_err(refused("create the database"))?,
        }
    }
    Ok(())
}

/// Makes the roles, opens the schema and runs what migrations are pending; returns the versions that ran.
///
/// # Errors
/// What Postgres refused, or the migration that failed.
pub fn make(logins: &Logins<'_>, database: &str) -> Result<Vec<String>, PrepareError> {
    let mut admin = connect(logins.admin)?;
    ensure_roles(&mut admin, database)?;
    if let Some(password) = logins.password {
        for role in ["refrain_ddl", "refrain_app"] {
            let quoted = password.replace('\'', "''");
            admin
                .batch_execute(&format!("ALTER ROLE {role} PASSWORD '{quoted}'"))
                .map_err(refused("set the roles' password"))?;
        }
    }
    ensure_schema(&mut admin)?;
    drop(admin);
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(1)
        .enable_all()
        .build()
        .map_err(|e| PrepareError::Migration(e.to_string()))?
        .block_on(migrate(logins.ddl))
}

fn connect(url: &str) -> Result<postgres::Client, PrepareError> {
    postgres::Client::connect(url, postgres::NoTls).map_err(refused("sign in"))
}

fn refused(doing: &'static str) -> impl FnOnce(postgres::Error) -> PrepareError {
    move |source| PrepareError::Statement { doing, source }
}
