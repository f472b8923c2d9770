//! Configuration: one struct per concern, read from the environment once, in `main`.
//!
//! The variables, their defaults and what they mean stand in [`variables`]; the table in the README is made
//! from it (`refrain doctor --variables`). Tests build the structs literally, by [`Config::for_tests`].

mod environment;
mod secret;
mod variables;

use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::time::Duration;

pub use environment::{ConfigError, Environment};
pub use secret::Secret;
pub use variables::{VARIABLES, Variable, markdown_table};

use crate::own_postgres::runs_as_root;
use variables as v;

/// Everything that can be configured.
#[derive(Debug, Clone)]
pub struct Config {
    /// Where to listen and what the outside calls this place.
    pub server: ServerConfig,
    /// The folder for all that this program writes.
    pub var: VarFolder,
    /// The user that a program started by root becomes.
    pub run_as: String,
    /// Where the data is.
    pub database: DatabaseConfig,
    /// Where footage is kept.
    pub footage: FootageConfig,
    /// How mail leaves.
    pub mail: MailConfig,
    /// How passwords are hashed.
    pub passwords: PasswordConfig,
    /// How long a sign-in lasts.
    pub sessions: SessionConfig,
    /// What an upload may be.
    pub uploads: UploadLimits,
    /// How work in the background is done.
    pub jobs: JobsConfig,
    /// How long a release can be taken back before its mail leaves.
    pub take_back: Duration,
    /// What is logged and how.
    pub logs: LogConfig,
}

/// Where to listen and what the outside calls this place.
#[derive(Debug, Clone)]
pub struct ServerConfig {
    /// Address and port; port 0 takes a free one.
    pub listen: SocketAddr,
    /// What links in mails begin with, without a slash at the end. Cookies are `__Host-` when it is https.
    pub public_url: Option<String>,
    /// Threads that answer requests.
    pub threads: usize,
}

impl ServerConfig {
    /// The address people use: the configured one, else the one listened on.
    #[must_use]
    pub fn public_url(&self, bound: SocketAddr) -> String {
        self.public_url
            .clone()
            .unwrap_or_else(|| format!("http://{bound}"))
    }
}

/// The folder for all that this program writes.
#[derive(Debug, Clone)]
pub struct VarFolder(PathBuf);

impl VarFolder {
    /// That folder; a relative path counts from where the program was started.
    #[must_use]
    pub fn new(path: &Path) -> Self {
        Self(std::path::absolute(path).unwrap_or_else(|_| path.to_owned()))
    }

    /// The folder itself.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.0
    }

    /// The private Postgres.
    #[must_use]
    pub fn postgres(&self) -> PathBuf {
        self.0.join("postgres")
    }

    /// Uploads on their way.
    #[must_use]
    pub fn uploads(&self) -> PathBuf {
        self.0.join("uploads")
    }

    /// Mails that are written as files.
    #[must_use]
    pub fn post(&self) -> PathBuf {
        self.0.join("post")
    }

    /// The search index.
    #[must_use]
    pub fn index(&self) -> PathBuf {
        self.0.join("index")
    }

    /// Room for work in progress: frames, copies being made.
    #[must_use]
    pub fn scratch(&self) -> PathBuf {
        self.0.join("scratch")
    }

    /// The copy of the program that runs after stepping down from root.
    #[must_use]
    pub fn bin(&self) -> PathBuf {
        self.0.join("bin")
    }
}

/// Where the data is.
#[derive(Debug, Clone)]
pub struct DatabaseConfig {
    /// A Postgres of your own; none: the private one below the var folder.
    pub url: Option<Secret>,
    /// Where the private one's binaries are.
    pub binaries: Option<PathBuf>,
    /// Whether a confirmed transaction of the private one survives a power cut.
    pub durable: bool,
    /// Sessions a program keeps open at most.
    pub pool: usize,
}

/// Where footage is kept.
#[derive(Debug, Clone)]
pub enum FootageConfig {
    /// In a folder of this machine.
    Folder(PathBuf),
    /// In an S3-compatible store.
    S3(S3Config),
}

/// An S3-compatible store.
#[derive(Debug, Clone)]
pub struct S3Config {
    /// The bucket.
    pub bucket: String,
    /// What every key begins with; may be empty.
    pub prefix: String,
    /// The store's address, if it is not Amazon's.
    pub endpoint: Option<String>,
    /// The region.
    pub region: String,
    /// The key's name.
    pub access_key: Secret,
    /// The key.
    pub secret_key: Secret,
}

/// How mail leaves.
#[derive(Debug, Clone)]
pub struct MailConfig {
    /// Where to.
    pub way: MailWay,
    /// The sender's address, as in a mail's `From`.
    pub from: String,
    /// How long one delivery may take.
    pub timeout: Duration,
}

/// Where mails go.
#[derive(Debug, Clone)]
pub enum MailWay {
    /// Written as `.eml` files into a folder.
    Folder(PathBuf),
    /// To an SMTP server, `smtp://` or `smtps://`, perhaps with user and password.
    Smtp(Secret),
}

/// How passwords are hashed: argon2id's parameters (RFC 9106) and how many at a time.
#[derive(Debug, Clone)]
pub struct PasswordConfig {
    /// Memory, KiB.
    pub memory_kib: u32,
    /// Passes over it.
    pub passes: u32,
    /// Lanes.
    pub lanes: u32,
    /// Hashes computed at the same time; further sign-ins wait.
    pub at_once: usize,
}

/// How long a sign-in lasts.
#[derive(Debug, Clone)]
pub struct SessionConfig {
    /// Since the last request.
    pub idle: Duration,
    /// Since the sign-in.
    pub absolute: Duration,
}

/// What an upload may be.
#[derive(Debug, Clone)]
pub struct UploadLimits {
    /// Size of the file, bytes.
    pub bytes: u64,
    /// Duration of the footage, seconds.
    pub seconds: u32,
    /// Frames of the footage.
    pub frames: u32,
    /// How long an unfinished upload is kept.
    pub expires: Duration,
    /// Silence after which a connection counts as lost.
    pub idle: Duration,
}

/// How work in the background is done.
#[derive(Debug, Clone)]
pub struct JobsConfig {
    /// Jobs worked on at the same time by this program; 0: none here.
    pub workers: usize,
    /// How long a job is a worker's before another may take it, unless renewed.
    pub lease: Duration,
    /// How long one job may take.
    pub timeout: Duration,
}

/// What is logged and how.
#[derive(Debug, Clone)]
pub struct LogConfig {
    /// Levels by module, as in `info,store=debug`.
    pub filter: String,
    /// One line of words or one JSON object per event.
    pub format: LogFormat,
}

/// How a log line looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogFormat {
    /// Words, for a terminal.
    Text,
    /// A JSON object, for a collector.
    Json,
}

impl Config {
    /// Reads the process's environment.
    ///
    /// # Errors
    /// The first variable whose value is not allowed.
    pub fn from_process() -> Result<Self, ConfigError> {
        Self::read(&Environment::of_process())
    }

    /// Reads an environment.
    ///
    /// # Errors
    /// The first variable whose value is not allowed.
    pub fn read(env: &Environment) -> Result<Self, ConfigError> {
        let var = VarFolder::new(&env.optional_path(&v::VAR)?.unwrap_or_else(default_var));
        Ok(Self {
            server: ServerConfig {
                listen: env.get(&v::LISTEN)?,
                public_url: env.optional_http_url(&v::PUBLIC_URL)?,
                threads: env.within(&v::HTTP_THREADS, 1..=256)?,
            },
            run_as: env.get(&v::USER)?,
            database: DatabaseConfig {
                url: env.optional_url(&v::DATABASE_URL, &["postgres://", "postgresql://"])?,
                binaries: env.optional_path(&v::PG_BIN)?,
                durable: env.flag(&v::PG_DURABLE)?,
                pool: env.within(&v::DATABASE_POOL, 1..=500)?,
            },
            footage: footage(env, &var)?,
            mail: MailConfig {
                way: match env.optional_url(&v::SMTP_URL, &["smtp://", "smtps://"])? {
                    Some(url) => MailWay::Smtp(url),
                    None => MailWay::Folder(var.post()),
                },
                from: env.checked(&v::MAIL_FROM, |s| {
                    s.parse::<lettre::message::Mailbox>().is_ok()
                })?,
                timeout: env.seconds(&v::MAIL_TIMEOUT, 1..=600)?,
            },
            passwords: PasswordConfig {
                memory_kib: env.within(&v::ARGON2_MEMORY_KIB, 8..=4_194_304)?,
                passes: env.within(&v::ARGON2_PASSES, 1..=100)?,
                lanes: env.within(&v::ARGON2_LANES, 1..=64)?,
                at_once: env.within(&v::ARGON2_AT_ONCE, 1..=256)?,
            },
            sessions: SessionConfig {
                idle: env.seconds(&v::SESSION_IDLE, 60..=31_536_000)?,
                absolute: env.seconds(&v::SESSION_ABSOLUTE, 60..=31_536_000)?,
            },
            uploads: UploadLimits {
                bytes: env.within(&v::UPLOAD_BYTES, 1..=1 << 40)?,
                seconds: env.within(&v::UPLOAD_SECONDS, 1..=3_600)?,
                frames: env.within(&v::UPLOAD_FRAMES, 1..=216_000)?,
                expires: env.seconds(&v::UPLOAD_EXPIRES, 60..=31_536_000)?,
                idle: env.seconds(&v::UPLOAD_IDLE, 1..=3_600)?,
            },
            jobs: JobsConfig {
                workers: env.within(&v::WORKERS, 0..=256)?,
                lease: env.seconds(&v::JOB_LEASE, 1..=86_400)?,
                timeout: env.seconds(&v::JOB_TIMEOUT, 1..=86_400)?,
            },
            take_back: env.seconds(&v::TAKE_BACK, 0..=86_400)?,
            logs: LogConfig {
                filter: env.checked(&v::LOG, |s| {
                    s.parse::<tracing_subscriber::filter::EnvFilter>().is_ok()
                })?,
                format: env.one_of(
                    &v::LOG_FORMAT,
                    &[("text", LogFormat::Text), ("json", LogFormat::Json)],
                )?,
            },
            var,
        })
    }

    /// A configuration for tests: everything below `var`, cheap hashing, the database given, a free port.
    #[must_use]
    pub fn for_tests(var: &Path, database_url: &str) -> Self {
        let var = VarFolder::new(var);
        Self {
            server: ServerConfig {
                listen: SocketAddr::from(([127, 0, 0, 1], 0)),
                public_url: None,
                threads: 1,
            },
            run_as: "nobody".into(),
            database: DatabaseConfig {
                url: Some(Secret::new(database_url)),
                binaries: None,
                durable: false,
                pool: 6,
            },
            footage: FootageConfig::Folder(var.path().join("footage")),
            mail: MailConfig {
                way: MailWay::Folder(var.post()),
                from: "Refrain <refrain@school.example>".into(),
                timeout: Duration::from_secs(10),
            },
            passwords: PasswordConfig {
                memory_kib: 8,
                passes: 1,
                lanes: 1,
                at_once: 4,
            },
            sessions: SessionConfig {
                idle: Duration::from_secs(3_600),
                absolute: Duration::from_secs(86_400),
            },
            uploads: UploadLimits {
                bytes: 64 << 20,
                seconds: 60,
                frames: 3_600,
                expires: Duration::from_secs(3_600),
                idle: Duration::from_secs(5),
            },
            jobs: JobsConfig {
                workers: 1,
                lease: Duration::from_secs(10),
                timeout: Duration::from_secs(120),
            },
            take_back: Duration::ZERO,
            logs: LogConfig {
                filter: "warn".into(),
                format: LogFormat::Text,
            },
            var,
        }
    }
}

/// Root's clone may lie in a closed home, which the user it steps down to cannot enter.
fn default_var() -> PathBuf {
    if runs_as_root() {
        "/var/lib/refrain".into()
    } else {
        "var".into()
    }
}

fn footage(env: &Environment, var: &VarFolder) -> Result<FootageConfig, ConfigError> {
    let Some(place) = env.optional(&v::FOOTAGE_URL) else {
        return Ok(FootageConfig::Folder(var.path().join("footage")));
    };
    let Some(rest) = place.strip_prefix("s3://") else {
        return if place.contains("://") {
            Err(ConfigError::wrong(&v::FOOTAGE_URL, &place))
        } else {
            Ok(FootageConfig::Folder(VarFolder::new(Path::new(&place)).0))
        };
    };
    let (bucket, prefix) = rest.split_once('/').unwrap_or((rest, ""));
    if bucket.is_empty() {
        return Err(ConfigError::wrong(&v::FOOTAGE_URL, &place));
    }
    Ok(FootageConfig::S3(S3Config {
        bucket: bucket.into(),
        prefix: prefix.trim_matches('/').into(),
        endpoint: env.optional_http_url(&v::S3_ENDPOINT)?,
        region: env.get(&v::S3_REGION)?,
        access_key: env.required_secret(&v::S3_ACCESS_KEY)?,
        secret_key: env.required_secret(&v::S3_SECRET_KEY)?,
    }))
}

#[cfg(test)]
mod tests;
