//! A private Postgres below the var folder, for when no `DATABASE_URL` is given.
//!
//! It listens on a socket in a closed folder and on no network address. It never runs as root: a root caller
//! (the tests) gets it started as another user. It dies with its keeper: the kernel sends it SIGINT when the
//! thread that started it ends, however that comes about.

mod account;
mod binaries;
mod cluster;
mod keeper;
mod leftovers;

use std::fs::{self, File, Permissions};
use std::os::fd::AsFd;
use std::os::unix::fs::{PermissionsExt, chown};
use std::path::{Path, PathBuf};
use std::time::Duration;

use rustix::fs::FlockOperation;

pub use account::{Account, account_named, runs_as_root};
pub use binaries::{Binaries, find_binaries};

/// The superuser of the cluster; only the start-up path connects as it.
pub const OWNER_ROLE: &str = "refrain_owner";

/// Roles that the operating system's user of this program may connect as.
const LOGIN_ROLES: [&str; 3] = [OWNER_ROLE, "refrain_ddl", "refrain_app"];

/// A Unix socket's address holds 108 bytes, the last of them zero (unix(7)).
const SOCKET_PATH_MAX: usize = 107;
const SOCKET_NAME: &str = ".s.PGSQL.5432";

/// What can keep the private Postgres from running. Each message says what to do about it.
#[derive(Debug, thiserror::Error)]
pub enum OwnPostgresError {
    /// No server binaries on this machine.
    #[error(
        "no Postgres server binaries found; install them (apt-get install postgresql), name their folder in REFRAIN_PG_BIN, or give a DATABASE_URL"
    )]
    NoBinaries,
    /// The folder named by `REFRAIN_PG_BIN` does not hold them.
    #[error("REFRAIN_PG_BIN: {0} does not hold both `postgres` and `initdb`")]
    WrongBinaries(PathBuf),
    /// Another live program holds the folder.
    #[error("another refrain is running on {0}; stop it or choose another REFRAIN_VAR")]
    Busy(PathBuf),
    /// The socket's path does not fit into a socket address.
    #[error("{path} is {excess} bytes too long for a socket; choose a shorter REFRAIN_VAR")]
    PathTooLong {
        /// Where the socket would be.
        path: PathBuf,
        /// By how much it is too long.
        excess: usize,
    },
    /// Started by root, and there is no other user to run Postgres as.
    #[error("Postgres must not run as root and there is neither a user postgres nor a user nobody")]
    NoAccount,
    /// A folder or file could not be made.
    #[error("{path}: {source}")]
    File {
        /// Which one.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A program could not be started.
    #[error("cannot start {program}: {source}")]
    Start {
        /// Which one.
        program: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// `initdb` gave up.
    #[error("initdb failed: {0}")]
    Init(String),
    /// Postgres ended while starting.
    #[error("Postgres ended while starting; the end of {log}:\n{tail}")]
    Ended {
        /// The log file.
        log: PathBuf,
        /// Its last lines.
        tail: String,
    },
    /// Postgres did not become ready.
    #[error("Postgres was not ready after {} s; see {log}", .waited.as_secs())]
    NotReady {
        /// The log file.
        log: PathBuf,
        /// How long was waited.
        waited: Duration,
    },
    /// The previous Postgres on this folder cannot be ended.
    #[error("an earlier Postgres (process {0}) still holds the folder and does not end")]
    Stuck(i32),
}

impl OwnPostgresError {
    fn file(path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::File { path, source }
    }
}

/// How to run it.
#[derive(Debug, Clone)]
pub struct OwnPostgresOptions {
    /// The folder that holds its data, socket, lock and log.
    pub folder: PathBuf,
    /// Where the server binaries are, if not at a usual place.
    pub binaries: Option<PathBuf>,
    /// Whether a confirmed transaction survives a power cut. Off for tests and throw-away data only.
    pub durable: bool,
    /// How many sessions it admits.
    pub max_connections: u32,
}

/// A running private Postgres, stopped when dropped unless it was joined.
#[derive(Debug)]
pub struct OwnPostgres {
    socket_folder: PathBuf,
    keeper: Option<keeper::Keeper>,
    _lock: Option<File>,
}

impl OwnPostgres {
    /// Starts it, taking over whatever an earlier program that was killed has left behind. Blocks until ready.
    ///
    /// # Errors
    /// [`OwnPostgresError::Busy`] if another program runs on the folder; else what kept it from starting.
    pub fn start(options: &OwnPostgresOptions) -> Result<Self, OwnPostgresError> {
        let folder = std::path::absolute(&options.folder)
            .map_err(OwnPostgresError::file(&options.folder))?;
        let socket_folder = socket_folder(&folder)?;
        fs::create_dir_all(&folder).map_err(OwnPostgresError::file(&folder))?;
        let lock = lock(&folder)?;
        let binaries = find_binaries(options.binaries.as_deref())?;
        let account = account::postgres_account()?;
        let data = folder.join("data");
        leftovers::end(&data, &socket_folder)?;
        closed_folder(&socket_folder, account.as_ref())?;
        if !data.join("PG_VERSION").exists() {
            cluster::init(&binaries, &folder, account.as_ref(), options.durable)?;
        }
        cluster::write_access_files(&data, account.as_ref())?;
        let log = folder.join("postgres.log");
        let launch = cluster::Launch {
            binaries: &binaries,
            data: &data,
            socket_folder: &socket_folder,
            log: &log,
            account: account.as_ref(),
            options,
        };
        let keeper = keeper::Keeper::start(launch.command()?, &data, &log)?;
        Ok(Self {
            socket_folder,
            keeper: Some(keeper),
            _lock: Some(lock),
        })
    }

    /// Starts it, or uses the one another program on the same folder is running now.
    ///
    /// # Errors
    /// What kept it from starting.
    pub fn start_or_join(options: &OwnPostgresOptions) -> Result<Self, OwnPostgresError> {
        match Self::start(options) {
            Err(OwnPostgresError::Busy(folder)) => {
                let socket_folder = socket_folder(&folder)?;
                if leftovers::answers(&socket_folder) {
                    Ok(Self {
                        socket_folder,
                        keeper: None,
                        _lock: None,
                    })
                } else {
                    Err(OwnPostgresError::Busy(folder))
                }
            }
            other => other,
        }
    }

    /// The address of a database in it, for one of its roles.
    #[must_use]
    pub fn url(&self, role: &str, database: &str) -> String {
        socket_url(&self.socket_folder, role, database)
    }

    /// Whether this program started it, and so stops it.
    #[must_use]
    pub fn is_ours(&self) -> bool {
        self.keeper.is_some()
    }

    /// The process id of the server this program started.
    #[must_use]
    pub fn process_id(&self) -> Option<i32> {
        self.keeper.as_ref().map(keeper::Keeper::process_id)
    }

    /// Whether the server this program started still runs (true for a joined one: its owner watches it).
    #[must_use]
    pub fn is_running(&self) -> bool {
        self.keeper.as_ref().is_none_or(keeper::Keeper::is_running)
    }
}

/// The address of a database reached over the socket of the Postgres that owns `folder`, running or not.
///
/// # Errors
/// If the folder's path is too long for a socket.
pub fn url_in(
    folder: &Path,
    role: &str,
    database: &str,
) -> Result<Option<String>, OwnPostgresError> {
    let folder = std::path::absolute(folder).map_err(OwnPostgresError::file(folder))?;
    let socket_folder = socket_folder(&folder)?;
    Ok(leftovers::answers(&socket_folder).then(|| socket_url(&socket_folder, role, database)))
}

fn socket_url(socket_folder: &Path, role: &str, database: &str) -> String {
    use std::os::unix::ffi::OsStrExt;
    let host: String = socket_folder
        .as_os_str()
        .as_bytes()
        .iter()
        .map(|b| match b {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' => {
                char::from(*b).to_string()
            }
            _ => format!("%{b:02X}"),
        })
        .collect();
    format!("postgres://{role}@{host}/{database}")
}

fn socket_folder(folder: &Path) -> Result<PathBuf, OwnPostgresError> {
    let socket_folder = folder.join("s");
    let path = socket_folder.join(SOCKET_NAME);
    match path.as_os_str().len().checked_sub(SOCKET_PATH_MAX) {
        Some(excess) if excess > 0 => Err(OwnPostgresError::PathTooLong { path, excess }),
        _ => Ok(socket_folder),
    }
}

/// Takes the folder for this program alone. The lock goes with the open file, so with the program.
fn lock(folder: &Path) -> Result<File, OwnPostgresError> {
    let path = folder.join("lock");
    let file = File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .map_err(OwnPostgresError::file(&path))?;
    match rustix::fs::flock(file.as_fd(), FlockOperation::NonBlockingLockExclusive) {
        Ok(()) => Ok(file),
        Err(rustix::io::Errno::WOULDBLOCK) => Err(OwnPostgresError::Busy(folder.to_owned())),
        Err(e) => Err(OwnPostgresError::file(&path)(e.into())),
    }
}

/// Makes a folder that only Postgres's user can enter.
fn closed_folder(path: &Path, account: Option<&Account>) -> Result<(), OwnPostgresError> {
    fs::create_dir_all(path).map_err(OwnPostgresError::file(path))?;
    hand_over(path, account)?;
    fs::set_permissions(path, Permissions::from_mode(0o700)).map_err(OwnPostgresError::file(path))
}

fn hand_over(path: &Path, account: Option<&Account>) -> Result<(), OwnPostgresError> {
    match account {
        Some(a) => chown(path, Some(a.uid), Some(a.gid)).map_err(OwnPostgresError::file(path)),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests;
