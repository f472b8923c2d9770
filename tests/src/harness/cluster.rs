//! One private Postgres for the whole test run, and a fresh copy of a migrated database for each test.

use std::fs::{self, File, Permissions};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::thread;

use app::own_postgres::{OWNER_ROLE, OwnPostgres, OwnPostgresOptions};
use rustix::fs::FlockOperation;
use store::make_database::{Logins, create_database, make};

const TEMPLATE: &str = "template_of_tests";

/// The run's Postgres. It dies with the test process, whatever ends that.
pub struct Cluster {
    postgres: OwnPostgres,
    folder: PathBuf,
    next: AtomicUsize,
    _lock: File,
}

/// The addresses of one test's own database.
#[derive(Debug, Clone)]
pub struct Database {
    /// A superuser's: sees and changes everything, past every policy.
    pub owner_url: String,
    /// The owner of the tables'.
    pub ddl_url: String,
    /// The program's.
    pub app_url: String,
    owner: Arc<Mutex<Kept>>,
}

/// A connection that waits for the next who needs it.
#[derive(Default)]
struct Kept(Option<postgres::Client>);

impl Drop for Kept {
    fn drop(&mut self) {
        aside(|| drop(self.0.take()));
    }
}

impl std::fmt::Debug for Kept {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("Kept").field(&self.0.is_some()).finish()
    }
}

impl Database {
    /// Runs work as the superuser, past every policy, over a connection that is kept for the next time.
    pub fn as_owner<T: Send>(&self, work: impl FnOnce(&mut postgres::Client) -> T + Send) -> T {
        aside(|| {
            let mut kept = self.owner.lock().unwrap_or_else(PoisonError::into_inner);
            work(kept.0.get_or_insert_with(|| connect(&self.owner_url)))
        })
    }
}

/// The one cluster of this process, started by whoever asks first.
pub fn cluster() -> &'static Cluster {
    static CLUSTER: OnceLock<Cluster> = OnceLock::new();
    CLUSTER.get_or_init(|| aside(start))
}

/// Runs blocking work on a thread of its own: the blocking Postgres client must not run within a runtime.
pub fn aside<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    thread::scope(|scope| match scope.spawn(work).join() {
        Ok(value) => value,
        Err(panic) => std::panic::resume_unwind(panic),
    })
}

impl Cluster {
    /// A database of its own with every migration run and nothing in it.
    pub fn database(&self) -> Database {
        let name = format!("t{}", self.next.fetch_add(1, Ordering::Relaxed));
        aside(|| {
            let mut owner = connect(&self.postgres.url(OWNER_ROLE, "postgres"));
            owner
                .batch_execute(&format!(
                    "CREATE DATABASE {name} TEMPLATE {TEMPLATE} STRATEGY file_copy"
                ))
                .expect("a copy of the template");
        });
        Database {
            owner_url: self.postgres.url(OWNER_ROLE, &name),
            ddl_url: self.postgres.url("refrain_ddl", &name),
            app_url: self.postgres.url("refrain_app", &name),
            owner: Arc::default(),
        }
    }

    /// A new folder for one test's program. Removed with the run, not with the test.
    pub fn var_folder(&self) -> PathBuf {
        let number = self.next.fetch_add(1, Ordering::Relaxed);
        let folder = self.folder.join(format!("var{number}"));
        fs::create_dir_all(&folder).expect("a folder for the test");
        folder
    }
}

/// Connects as the blocking client; call it [`aside`].
pub fn connect(url: &str) -> postgres::Client {
    postgres::Client::connect(url, postgres::NoTls)
        .unwrap_or_else(|e| panic!("cannot connect to {url}: {e}"))
}

fn start() -> Cluster {
    let base = base_folder();
    sweep(&base);
    let folder = base.join(format!("refrain-tests-{}", std::process::id()));
    fs::create_dir_all(&folder).expect("a folder for the tests");
    fs::set_permissions(&folder, Permissions::from_mode(0o755)).expect("an open folder");
    let lock = File::create(folder.join("lock")).expect("a lock file");
    rustix::fs::flock(&lock, FlockOperation::NonBlockingLockExclusive).expect("our own lock");
    let postgres = OwnPostgres::start(&OwnPostgresOptions {
        folder: folder.join("pg"),
        binaries: None,
        durable: false,
        max_connections: 200,
    })
    .unwrap_or_else(|e| panic!("{e}"));
    create_database(&postgres.url(OWNER_ROLE, "postgres"), TEMPLATE).expect("the template");
    make(
        &Logins {
            admin: &postgres.url(OWNER_ROLE, TEMPLATE),
            ddl: &postgres.url("refrain_ddl", TEMPLATE),
            password: None,
        },
        TEMPLATE,
    )
    .unwrap_or_else(|e| panic!("{e}"));
    Cluster {
        postgres,
        folder,
        next: AtomicUsize::new(0),
        _lock: lock,
    }
}

/// In memory where there is some: databases are copied there in a tenth of the time.
fn base_folder() -> PathBuf {
    if let Some(given) = std::env::var_os("REFRAIN_TEST_ROOT") {
        return given.into();
    }
    let memory = Path::new("/dev/shm");
    if memory.is_dir() {
        memory.to_owned()
    } else {
        std::env::temp_dir()
    }
}

/// Removes what earlier runs left: those whose lock nobody holds any more.
fn sweep(base: &Path) {
    for entry in fs::read_dir(base).into_iter().flatten().flatten() {
        let is_ours = entry
            .file_name()
            .to_string_lossy()
            .starts_with("refrain-tests-");
        let Ok(lock) = File::open(entry.path().join("lock")) else {
            continue;
        };
        if is_ours && rustix::fs::flock(&lock, FlockOperation::NonBlockingLockExclusive).is_ok() {
            fs::remove_dir_all(entry.path()).ok();
        }
    }
}
