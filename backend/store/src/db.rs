//! The pool, and the two ways to use a connection.

use crate::statement::statement;
use crate::{StoreError, StoreResult};
use deadpool::managed::QueueMode;
use diesel::sql_types::Text;
use diesel_async::pooled_connection::AsyncDieselConnectionManager;
use diesel_async::pooled_connection::deadpool::{Object, Pool};
use diesel_async::{AsyncConnection, AsyncPgConnection, RunQueryDsl, TransactionManager};
use domain::Actor;

type Manager = <AsyncPgConnection as AsyncConnection>::TransactionManager;

/// A connection inside a transaction; what the functions of the resource modules take.
pub type Conn = AsyncPgConnection;

/// The pool of connections under the role that no policy lets through unseen.
#[derive(Clone)]
pub struct Db {
    pool: Pool<AsyncPgConnection>,
}

impl Db {
    /// A pool of at most `size` connections to `url`; connects on first use. The connection that came back last goes out first: it
    /// has its plans and the pages of the catalogue at hand.
    pub fn new(url: &str, size: usize) -> StoreResult<Db> {
        let pool = Pool::builder(AsyncDieselConnectionManager::new(url))
            .max_size(size)
            .queue_mode(QueueMode::Lifo)
            .build()
            .map_err(|e| StoreError::Unreachable(e.into()))?;
        Ok(Db { pool })
    }

    async fn connection(&self) -> StoreResult<Object<AsyncPgConnection>> {
        self.pool
            .get()
            .await
            .map_err(|e| StoreError::Unreachable(e.into()))
    }

    /// Runs `work` as `actor`: one transaction that sees only what the policies show this person. An error rolls back; a cancelled
    /// future discards the connection, so its scope can never reach the next user.
    pub async fn scoped<T, E, F>(&self, actor: &Actor, work: F) -> Result<T, E>
    where
        E: From<StoreError>,
        F: AsyncFnOnce(&mut Conn) -> Result<T, E>,
    {
        let mut connection = self.connection().await?;
        let roles = actor
            .roles
            .iter()
            .map(|role| role.as_str())
            .collect::<Vec<_>>()
            .join(",");
        in_transaction(&mut connection, async |conn: &mut Conn| {
            statement("SELECT set_config('app.school', $1, true), set_config('app.person', $2, true), set_config('app.roles', $3, true)")
                .bind::<Text, _>(actor.school.to_string())
                .bind::<Text, _>(actor.person.to_string())
                .bind::<Text, _>(roles)
                .execute(conn)
                .await
                .map_err(StoreError::from)?;
            work(conn).await
        })
        .await
    }

    /// Runs `work` as nobody: tables are empty, only the functions made as doors answer.
    pub async fn door<T, E, F>(&self, work: F) -> Result<T, E>
    where
        E: From<StoreError>,
        F: AsyncFnOnce(&mut Conn) -> Result<T, E>,
    {
        let mut connection = self.connection().await?;
        in_transaction(&mut connection, work).await
    }
}

/// Begins through diesel's own manager, never by a statement of ours: it remembers that a transaction is open, and the pool discards a
/// connection that comes back with one.
async fn in_transaction<T, E, F>(conn: &mut Conn, work: F) -> Result<T, E>
where
    E: From<StoreError>,
    F: AsyncFnOnce(&mut Conn) -> Result<T, E>,
{
    Manager::begin_transaction(conn)
        .await
        .map_err(StoreError::from)?;
    match work(conn).await {
        Ok(value) => {
            Manager::commit_transaction(conn)
                .await
                .map_err(StoreError::from)?;
            Ok(value)
        }
        Err(error) => {
            if let Err(rollback) = Manager::rollback_transaction(conn).await {
                tracing::warn!(%rollback, "a transaction could not be rolled back; its connection is discarded");
            }
            Err(error)
        }
    }
}
