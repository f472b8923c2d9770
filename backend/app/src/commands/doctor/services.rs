//! What the program talks to: database, footage, mail, index.

use std::time::Duration;

use lettre::{AsyncSmtpTransport, Tokio1Executor};

use super::Finding;
use crate::config::{Config, MailWay};

const PATIENCE: Duration = Duration::from_secs(5);

pub(super) async fn examine(config: &Config) -> Vec<Finding> {
    vec![address(config), mail(config).await]
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
