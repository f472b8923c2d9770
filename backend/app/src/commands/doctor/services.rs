//! What the program talks to: database, footage, mail, index.

use std::time::Duration;

use futures_util::StreamExt;
use lettre::{AsyncSmtpTransport, Tokio1Executor};
use object_store::ObjectStore;

use store::prepare_database::pending;

use super::Finding;
use crate::commands::ground::OWN_DATABASE;
use crate::config::{Config, FootageConfig, MailWay};
use crate::own_postgres::{OWNER_ROLE, url_in};
use crate::state::{choose_cryptography, open_bucket};

const PATIENCE: Duration = Duration::from_secs(5);

pub(super) async fn examine(config: &Config) -> Vec<Finding> {
    vec![
        address(config),
        database(config).await,
        footage(config).await,
        mail(config).await,
        index(config),
    ]
}

fn address(config: &Config) -> Finding {
    let listen = config.server.listen;
    match std::net::TcpListener::bind(listen) {
        Ok(_) => Finding::good("address", format!("{listen} is free")),
        Err(e) if e.kind() == std::io::ErrorKind::AddrInUse => Finding::notice(
            "address",
            format!("{listen} is taken; by a running Refrain, if all is well"),
            "another program's? set REFRAIN_LISTEN",
        ),
        Err(e) => Finding::missing(
            "address",
            format!("{listen}: {e}"),
            "set REFRAIN_LISTEN to an address of this machine and a free port",
        ),
    }
}

async fn database(config: &Config) -> Finding {
    const REMEDY: &str = "look at DATABASE_URL and at the server it names";
    let address = match &config.database.url {
        Some(url) => Ok(Some(url.reveal().to_owned())),
        None => url_in(&config.var.postgres(), OWNER_ROLE, OWN_DATABASE),
    };
    let address = match address {
        Ok(Some(address)) => address,
        Ok(None) => {
            return Finding::good(
                "database",
                format!(
                    "private, below {}; not running now",
                    config.var.postgres().display()
                ),
            );
        }
        Err(e) => return Finding::missing("database", e.to_string(), "set REFRAIN_VAR"),
    };
    match tokio::time::timeout(PATIENCE, pending(&address)).await {
        Ok(Ok(waiting)) if waiting.is_empty() => {
            Finding::good("database", "answers, in its present form")
        }
        Ok(Ok(waiting)) => Finding::notice(
            "database",
            format!("answers; {} migrations are pending", waiting.len()),
            "refrain migrate, or start refrain serve, which does it",
        ),
        Ok(Err(e)) => Finding::missing("database", e.to_string(), REMEDY),
        Err(_) => Finding::missing("database", "does not answer within 5 s", REMEDY),
    }
}

async fn footage(config: &Config) -> Finding {
    const REMEDY: &str = "look at the REFRAIN_S3_ variables and at the server they name";
    let s3 = match &config.footage {
        FootageConfig::Folder(folder) => {
            return Finding::good("footage", format!("kept below {}", folder.display()));
        }
        FootageConfig::S3(s3) => s3,
    };
    choose_cryptography();
    let bucket = match open_bucket(s3) {
        Ok(bucket) => bucket,
        Err(e) => return Finding::missing("footage", e.to_string(), REMEDY),
    };
    let mut listing = bucket.list(None);
    match tokio::time::timeout(PATIENCE, listing.next()).await {
        Ok(None | Some(Ok(_))) => {
            Finding::good("footage", format!("bucket {} can be read", s3.bucket))
        }
        Ok(Some(Err(e))) => Finding::missing("footage", e.to_string(), REMEDY),
        Err(_) => Finding::missing("footage", "no answer within 5 s", REMEDY),
    }
}

fn index(config: &Config) -> Finding {
    let root = config.var.index();
    match archive::index_in_use(&root) {
        Some(folder) => Finding::good("search index", folder.display().to_string()),
        None => Finding::good(
            "search index",
            format!("none below {}; refrain serve builds it", root.display()),
        ),
    }
}

async fn mail(config: &Config) -> Finding {
    const REMEDY: &str = "look at REFRAIN_SMTP_URL and at the server it names";
    let url = match &config.mail.way {
        MailWay::Folder(folder) => {
            return Finding::good("mail", format!("written to {}", folder.display()));
        }
        MailWay::Smtp(url) => url,
    };
    let transport = match AsyncSmtpTransport::<Tokio1Executor>::from_url(url.reveal()) {
        Ok(builder) => builder.timeout(Some(PATIENCE)).build::<Tokio1Executor>(),
        Err(e) => return Finding::missing("mail", e.to_string(), REMEDY),
    };
    match tokio::time::timeout(PATIENCE, transport.test_connection()).await {
        Ok(Ok(true)) => Finding::good("mail", "the SMTP server answers"),
        Ok(Ok(false)) => Finding::missing("mail", "the SMTP server does not greet", REMEDY),
        Ok(Err(e)) => Finding::missing("mail", format!("the SMTP server: {e}"), REMEDY),
        Err(_) => Finding::missing("mail", "the SMTP server does not answer within 5 s", REMEDY),
    }
}
