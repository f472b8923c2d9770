//! What every request and every job can reach.

use std::net::SocketAddr;
use std::sync::{Arc, OnceLock};
use std::time::Duration;

use critique::CriticError;
use object_store::{ClientOptions, ObjectStore, RetryConfig};
use store::Db;

use crate::clock::Clock;
use crate::config::{Config, FootageConfig, S3Config, Secret};
use crate::critics::Critics;
use crate::jobs::{Post, PostError};
use crate::limits::Limits;
use crate::passwords::{PasswordError, Passwords};
use crate::telemetry::Metrics;
use crate::usual::Usual;

/// How long a bucket may say nothing.
const SILENCE: Duration = Duration::from_secs(30);
/// How often a request to a bucket is tried again; within a few seconds, for a person may be waiting. Jobs come back by themselves.
const RETRIES: usize = 4;

/// Why the program cannot begin.
#[derive(Debug, thiserror::Error)]
pub enum StateError {
    /// The pool of connections could not be made.
    #[error(transparent)]
    Database(#[from] store::StoreError),
    /// A number's name is taken.
    #[error(transparent)]
    Metrics(#[from] prometheus::Error),
    /// The place for footage cannot be used.
    #[error("footage cannot be kept: {0}")]
    Footage(#[from] object_store::Error),
    /// Mail cannot be sent as configured.
    #[error(transparent)]
    Post(#[from] PostError),
    /// The words or the weights that come with the program are at fault.
    #[error(transparent)]
    Critic(#[from] CriticError),
    /// Passwords cannot be hashed as configured.
    #[error(transparent)]
    Passwords(#[from] PasswordError),
    /// A folder could not be made.
    #[error("the folder {path} cannot be made: {source}")]
    Folder {
        /// Which.
        path: std::path::PathBuf,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
}

/// Shared by every thread of the program.
#[derive(Clone)]
pub struct State {
    /// The configuration.
    pub config: Arc<Config>,
    /// What links in mails begin with.
    pub public_url: String,
    /// The database.
    pub db: Db,
    /// The time.
    pub clock: Clock,
    /// The numbers.
    pub metrics: Metrics,
    /// Where ffmpeg runs.
    pub sandbox: Arc<media::Sandbox>,
    /// Where footage is kept.
    pub footage: Arc<dyn ObjectStore>,
    /// The search index, once it is open; see [`crate::jobs::index`].
    pub archive: Arc<OnceLock<Arc<archive::Archive>>>,
    /// Hashes and checks passwords.
    pub passwords: Passwords,
    /// Where mails go.
    pub post: Post,
    /// Counts attempts.
    pub limits: Arc<Limits>,
    /// What notes say, in the words of each school.
    pub critics: Arc<Critics>,
    /// What is usual in each school.
    pub usual: Arc<Usual>,
}

impl State {
    /// Makes the folders and the pools; connects on first use.
    ///
    /// # Errors
    /// What could not be made.
    pub async fn open(
        config: Config,
        url: &Secret,
        address: SocketAddr,
    ) -> Result<Self, StateError> {
        choose_cryptography();
        for folder in [config.var.uploads(), config.var.scratch()] {
            tokio::fs::create_dir_all(&folder)
                .await
                .map_err(|source| StateError::Folder {
                    path: folder,
                    source,
                })?;
        }
        Ok(Self {
            public_url: config.server.public_url(address),
            db: Db::new(url.reveal(), config.database.pool)?,
            clock: Clock::default(),
            metrics: Metrics::new()?,
            sandbox: Arc::new(media::Sandbox::detect()),
            footage: open_footage(&config.footage).await?,
            archive: Arc::default(),
            passwords: Passwords::new(&config.passwords)?,
            post: Post::new(&config.mail)?,
            limits: Arc::default(),
            critics: Arc::new(Critics::new()?),
            usual: Arc::default(),
            config: Arc::new(config),
        })
    }

    /// Whether the outside reaches this program over TLS.
    #[must_use]
    pub fn over_tls(&self) -> bool {
        self.public_url.starts_with("https://")
    }

    /// What a piece of footage may be.
    #[must_use]
    pub fn limits_of_footage(&self) -> media::Limits {
        let uploads = &self.config.uploads;
        media::Limits {
            bytes: uploads.bytes,
            seconds: uploads.seconds,
            frames: uploads.frames,
            ..media::Limits::default()
        }
    }
}

/// Names the cryptography that every TLS connection of this process uses. Whoever is first installs it; a
/// second time is refused and harmless.
pub fn choose_cryptography() {
    drop(rustls::crypto::ring::default_provider().install_default());
}

/// The folder or the bucket that keeps footage.
///
/// # Errors
/// If the folder cannot be made or the bucket's settings make no sense.
pub async fn open_footage(config: &FootageConfig) -> Result<Arc<dyn ObjectStore>, StateError> {
    match config {
        FootageConfig::Folder(folder) => {
            tokio::fs::create_dir_all(folder)
                .await
                .map_err(|source| StateError::Folder {
                    path: folder.clone(),
                    source,
                })?;
            let local = object_store::local::LocalFileSystem::new_with_prefix(folder)?;
            Ok(Arc::new(local.with_automatic_cleanup(true)))
        }
        FootageConfig::S3(s3) => open_bucket(s3),
    }
}

/// The bucket that keeps footage. Asks nothing of it yet.
///
/// # Errors
/// If its settings make no sense.
pub fn open_bucket(s3: &S3Config) -> Result<Arc<dyn ObjectStore>, StateError> {
    // A person on a slow line reads for minutes; only silence is a fault.
    let patient = ClientOptions::new()
        .with_timeout_disabled()
        .with_read_timeout(SILENCE);
    let mut builder = object_store::aws::AmazonS3Builder::new()
        .with_client_options(patient)
        .with_retry(RetryConfig {
            max_retries: RETRIES,
            ..RetryConfig::default()
        })
        .with_bucket_name(&s3.bucket)
        .with_region(&s3.region)
        .with_access_key_id(s3.access_key.reveal())
        .with_secret_access_key(s3.secret_key.reveal());
    if let Some(endpoint) = &s3.endpoint {
        builder = builder
            .with_endpoint(endpoint)
            .with_allow_http(endpoint.starts_with("http://"));
    }
    let bucket = builder.build()?;
    Ok(match s3.prefix.as_str() {
        "" => Arc::new(bucket),
        prefix => Arc::new(object_store::prefix::PrefixStore::new(bucket, prefix)),
    })
}
