//! Mails as they leave: read by a parser of other make (mail-parser), sent to a server of other make (aiosmtpd).

use std::fs;

use app::config::{MailWay, Secret};
use tests::harness::servers::OtherServer;
use tests::harness::{TestApp, cluster, wait_for};

use super::{invite, mails_to, parse, token_in};

/// RFC 5322 (dates, identifiers), RFC 2047 (names and subjects outside ASCII), RFC 2046 (two parts that say the same).
#[actix_web::test]
async fn an_invitation_is_a_well_formed_mail() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let office = t.person(&school, "Orla", &["office"]);
    let (name, email) = ("Þóra \"Tóta\" Øst", "thora@yard.example");
    invite(&t, &office, name, email, &["student"]).await;
    let mails = mails_to(&t, email, 1).await;
    assert!(mails[0].is_ascii(), "7 bit all through");
    assert!(
        mails[0]
            .split(|b| *b == b'\n')
            .all(|line| line.len() <= 999),
        "RFC 5322, 2.1.1"
    );
    let mail = parse(&mails[0]);
    let to = mail.to().unwrap().first().unwrap();
    assert_eq!((to.name(), to.address()), (Some(name), Some(email)));
    assert_eq!(
        mail.from().unwrap().first().unwrap().address(),
        Some("refrain@school.example")
    );
    assert_eq!(mail.subject(), Some("School yard invites you"));
    assert!(mail.date().is_some() && mail.message_id().unwrap().starts_with("invitation."));
    let token = token_in(&mails[0]);
    assert!(
        mail.body_text(0)
            .unwrap()
            .contains(&format!("{}/link/{token}", t.address))
    );
    assert!(
        mail.body_html(0)
            .unwrap()
            .contains(&format!("href=\"{}/link/{token}\"", t.address))
    );
    assert!(!mail.message_id().unwrap().contains(&token));
}

#[actix_web::test]
async fn a_mail_reaches_an_smtp_server_once() {
    let folder = tempfile::tempdir().unwrap();
    let server = OtherServer::smtp(folder.path());
    let url = format!("smtp://127.0.0.1:{}", server.port);
    let t = TestApp::start_with(|config| config.mail.way = MailWay::Smtp(Secret::new(&url))).await;
    let school = t.school("yard");
    let office = t.person(&school, "Orla", &["office"]);
    let body =
        serde_json::json!({ "name": "Nía", "email": "nia@yard.example", "roles": ["student"] });
    office.post("/api/v1/persons", &body).await.expect(201);
    let mails = || -> Vec<Vec<u8>> {
        let files = fs::read_dir(server.folder.join("mails/new"))
            .into_iter()
            .flatten()
            .flatten();
        files.map(|file| fs::read(file.path()).unwrap()).collect()
    };
    let received = wait_for("the mail", async || Some(mails()).filter(|m| !m.is_empty())).await;
    let mail = parse(&received[0]);
    assert_eq!(mail.to().unwrap().first().unwrap().name(), Some("Nía"));
    wait_for("its being noted", async || {
        (state_of_mail(&t) == "sent").then_some(())
    })
    .await;
    tokio::time::sleep(std::time::Duration::from_millis(500)).await;
    assert_eq!(mails().len(), 1);
}

#[actix_web::test]
async fn a_server_that_is_away_is_tried_again() {
    // Nothing listens on a port that was just given back.
    let port = std::net::TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap()
        .port();
    let url = format!("smtp://127.0.0.1:{port}");
    let t = TestApp::start_with(|config| config.mail.way = MailWay::Smtp(Secret::new(&url))).await;
    let school = t.school("yard");
    let office = t.person(&school, "Orla", &["office"]);
    let body =
        serde_json::json!({ "name": "Nía", "email": "nia@yard.example", "roles": ["student"] });
    office.post("/api/v1/persons", &body).await.expect(201);
    wait_for("the first attempt", async || {
        (attempts(&t) == 1).then_some(())
    })
    .await;
    assert_eq!(state_of_mail(&t), "queued");
    wait_for("the second attempt", async || {
        (attempts(&t) >= 2).then_some(())
    })
    .await;
    assert_eq!(state_of_mail(&t), "queued");
}

fn state_of_mail(t: &TestApp) -> String {
    one(t, "SELECT state FROM mail")
}

fn attempts(t: &TestApp) -> u32 {
    let n = one(
        t,
        "SELECT attempt::text FROM job WHERE kind = 'send-mail' AND last_error IS NOT NULL UNION ALL SELECT '0' LIMIT 1",
    );
    n.parse().unwrap()
}

fn one(t: &TestApp, sql: &str) -> String {
    cluster::aside(|| {
        cluster::connect(&t.database.owner_url)
            .query_one(sql, &[])
            .unwrap()
            .get(0)
    })
}
