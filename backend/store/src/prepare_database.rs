//! The start-up path, under a login that may create roles: roles, database and migrations. Blocking; nothing else uses it.

use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

const MIGRATIONS: EmbeddedMigrations = embed_migrations!("../../migrations");
/// Guards roles and migrations when several programs start at once.
const LOCK: i64 = 0x5245_4652_4149_4e01;

/// Why the database could not be made ready.
#[derive(Debug, thiserror::Error)]
pub enum PrepareError {
    /// The login failed or a statement was refused.
    #[error("the database refused \"{doing}\": {source}")]
    Statement {
        /// What was being done.
        doing: &'static str,
        /// What Postgres said.
        #[source]
        source: postgres::Error,
    },
    /// A migration failed; the earlier ones stand.
    #[error("a migration failed: {0}")]
    Migration(String),
}

fn doing(what: &'static str) -> impl FnOnce(postgres::Error) -> PrepareError {
    move |source| PrepareError::Statement {
        doing: what,
        source,
    }
}

/// Creates the roles if they are missing and makes sure that none of ours could pass the policies:
/// `refrain_ddl` owns the tables, `refrain_app` is what the program signs in as, `refrain_definer` owns the doors.
pub fn ensure_roles(admin: &mut postgres::Client, database: &str) -> Result<(), PrepareError> {
    admin
        .batch_execute(&format!("SELECT pg_advisory_lock({LOCK})"))
        .map_err(doing("lock"))?;
    let roles = format!(
        "DO $$ BEGIN
           IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'refrain_ddl') THEN CREATE ROLE refrain_ddl LOGIN; END IF;
           IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'refrain_app') THEN CREATE ROLE refrain_app LOGIN; END IF;
           IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'refrain_definer') THEN CREATE ROLE refrain_definer NOLOGIN; END IF;
         END $$;
         ALTER ROLE refrain_ddl NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE;
         ALTER ROLE refrain_app NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE;
         ALTER ROLE refrain_definer NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE;
         GRANT refrain_definer TO refrain_ddl;
         GRANT CONNECT ON DATABASE \"{database}\" TO refrain_ddl, refrain_app;"
    );
    admin
        .batch_execute(&roles)
        .map_err(doing("create the roles"))?;
    admin
        .batch_execute(&format!("SELECT pg_advisory_unlock({LOCK})"))
        .map_err(doing("unlock"))
}

/// Lets the roles use the schema of the database that `admin` is connected to.
pub fn ensure_schema(admin: &mut postgres::Client) -> Result<(), PrepareError> {
    admin
        .batch_execute(
            "REVOKE ALL ON SCHEMA public FROM PUBLIC;
             GRANT USAGE, CREATE ON SCHEMA public TO refrain_ddl, refrain_definer;
             GRANT USAGE ON SCHEMA public TO refrain_app;",
        )
        .map_err(doing("open the schema"))
}

/// Runs the pending migrations as `ddl_url` (the role `refrain_ddl`) under a lock; returns the versions that ran.
/// Needs a multi-threaded runtime around it.
pub async fn migrate(ddl_url: &str) -> Result<Vec<String>, PrepareError> {
    use diesel_async::AsyncConnection;
    let failed = |e: &dyn std::fmt::Display| PrepareError::Migration(e.to_string());
    let mut connection = diesel_async::AsyncPgConnection::establish(ddl_url)
        .await
        .map_err(|e| failed(&e))?;
    {
        use diesel_async::SimpleAsyncConnection;
        connection
            .batch_execute(&format!("SELECT pg_advisory_lock({LOCK})"))
            .await
            .map_err(|e| failed(&e))?;
    }
    let mut harness = diesel_async::AsyncMigrationHarness::new(connection);
    let ran = harness
        .run_pending_migrations(MIGRATIONS)
        .map_err(|e| failed(&e))?;
    Ok(ran.into_iter().map(|version| version.to_string()).collect())
}

/// The versions that have not run yet, read only.
pub async fn pending(ddl_url: &str) -> Result<Vec<String>, PrepareError> {
    use diesel::migration::{Migration, MigrationSource};
    use diesel_async::AsyncConnection;
    let failed = |e: &dyn std::fmt::Display| PrepareError::Migration(e.to_string());
    let all: Vec<Box<dyn Migration<diesel::pg::Pg>>> =
        MIGRATIONS.migrations().map_err(|e| failed(&e))?;
    let mut connection = diesel_async::AsyncPgConnection::establish(ddl_url)
        .await
        .map_err(|e| failed(&e))?;
    let ran = {
        use diesel::prelude::*;
        use diesel_async::RunQueryDsl;
        diesel::table! { __diesel_schema_migrations (version) { version -> Text, } }
        let known: Result<Vec<String>, _> = __diesel_schema_migrations::table
            .select(__diesel_schema_migrations::version)
            .load(&mut connection)
            .await;
        known.unwrap_or_default()
    };
    Ok(all
        .iter()
        .map(|m| m.name().version().to_string())
        .filter(|v| !ran.contains(v))
        .collect())
}
