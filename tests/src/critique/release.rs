//! Going out: a time to take it back, then one mail, whatever happens in between.

use std::time::Duration;

use app::config::{MailWay, Secret};
use mail_parser::MessageParser;
use serde_json::json;
use tests::harness::servers::OtherServer;
use tests::harness::wait_for;

use super::{Yard, is_announcement, noted, put_summary, text};

/// Time enough to take it back on a busy machine.
const WINDOW: Duration = Duration::from_millis(3_000);

async fn yard() -> Yard {
    Yard::with(|config| config.take_back = WINDOW).await
}

/// Long enough for every job that is due to have been done.
async fn past_the_window() {
    tokio::time::sleep(WINDOW + Duration::from_millis(900)).await;
}

async fn announced(y: &Yard, n: usize) -> Vec<Vec<u8>> {
    wait_for("the mail", async || {
        Some(y.announcements()).filter(|mails| mails.len() >= n)
    })
    .await
}

#[actix_web::test]
async fn what_was_taken_back_in_time_is_mailed_to_nobody() {
    let y = yard().await;
    let critique = y.draft().await;
    noted(&y.mara, &critique, "The wrist jumps.").await;
    y.release(&critique).await;
    let refused = put_summary(&y.mara, &critique, 1, "Wait.").await;
    refused.expect_problem(409, "already-released");
    let path = format!("/api/v1/critiques/{critique}/take-back");
    let page = y.mara.post(&path, &json!({})).await.expect(200);
    assert_eq!(
        (&page["state"], &page["release_at"]),
        (&json!("draft"), &json!(null))
    );
    y.mara.post(&path, &json!({})).await.expect(200);
    past_the_window().await;
    assert_eq!(y.announcements().len(), 0);
    y.nia
        .get(&format!("/api/v1/critiques/{critique}"))
        .await
        .expect_problem(404, "not-found");
    put_summary(&y.mara, &critique, 1, "Now.").await.expect(200);
    noted(&y.mara, &critique, "The heel creeps.").await;
}

/// RFC 5322 identifies a mail by its Message-ID; the parser is of other make (mail-parser).
#[actix_web::test]
async fn a_release_is_mailed_once_and_then_stands() {
    let y = yard().await;
    let critique = y.draft().await;
    noted(&y.mara, &critique, "The wrist jumps.").await;
    noted(&y.mara, &critique, "The heel creeps.").await;
    y.release(&critique).await;
    assert_eq!(y.announcements().len(), 0, "it can still be taken back");
    let mails = announced(&y, 1).await;
    let mail = MessageParser::default().parse(&mails[0]).expect("a mail");
    let to = mail.to().and_then(|to| to.first()).expect("a recipient");
    assert_eq!(
        (to.address(), to.name()),
        (Some(y.nia.email.as_str()), Some("Nia"))
    );
    assert_eq!(mail.subject(), Some("Critique of Lantern jump, r1"));
    let words = mail.body_text(0).expect("words");
    assert!(words.contains("ready to read: 2 notes"), "{words}");
    assert!(
        words.contains(&format!("{}/read/{critique}", y.t.address)),
        "{words}"
    );
    assert!(
        !words.contains("wrist"),
        "what was said stays in the house: {words}"
    );
    for verb in ["take-back", "release"] {
        let again = y
            .mara
            .post(&format!("/api/v1/critiques/{critique}/{verb}"), &json!({}))
            .await;
        again.expect_problem(409, "already-released");
    }
    past_the_window().await;
    assert_eq!(y.announcements().len(), 1);
    assert_eq!(
        y.one("SELECT state FROM job WHERE kind = 'announce-critique'"),
        "done"
    );
}

#[actix_web::test]
async fn taken_back_and_released_again_is_mailed_once() {
    let y = yard().await;
    let critique = y.draft().await;
    for _ in 0..3 {
        y.release(&critique).await;
        let path = format!("/api/v1/critiques/{critique}/take-back");
        y.mara.post(&path, &json!({})).await.expect(200);
    }
    past_the_window().await;
    assert_eq!(y.announcements().len(), 0);
    noted(&y.mara, &critique, "The wrist jumps.").await;
    y.release(&critique).await;
    let mails = announced(&y, 1).await;
    let mail = MessageParser::default().parse(&mails[0]).expect("a mail");
    assert!(
        mail.body_text(0).expect("words").contains("1 note."),
        "as it was released at last"
    );
    past_the_window().await;
    assert_eq!(y.announcements().len(), 1);
}

/// The same through a server of other make (aiosmtpd, RFC 5321).
#[actix_web::test]
async fn an_smtp_server_gets_it_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let server = OtherServer::smtp(folder.path());
    let url = format!("smtp://127.0.0.1:{}", server.port);
    let y = Yard::with(|config| {
        config.take_back = WINDOW;
        config.mail.way = MailWay::Smtp(Secret::new(&url));
    })
    .await;
    let critique = y.draft().await;
    noted(&y.mara, &critique, "The wrist jumps.").await;
    y.release(&critique).await;
    y.mara
        .post(
            &format!("/api/v1/critiques/{critique}/take-back"),
            &json!({}),
        )
        .await
        .expect(200);
    y.release(&critique).await;
    let received = || {
        server
            .mails()
            .iter()
            .filter(|mail| is_announcement(mail))
            .count()
    };
    wait_for("the mail", async || (received() > 0).then_some(())).await;
    past_the_window().await;
    assert_eq!(received(), 1);
}

/// The draft goes to the new mentor with all that belongs to it, also after it was taken back once.
#[actix_web::test]
async fn a_new_mentor_releases_what_the_former_took_back() {
    let y = yard().await;
    let critique = y.draft().await;
    noted(&y.mara, &critique, "The wrist jumps.").await;
    y.release(&critique).await;
    y.mara
        .post(
            &format!("/api/v1/critiques/{critique}/take-back"),
            &json!({}),
        )
        .await
        .expect(200);
    let moved = json!({ "mentor_id": y.otto.id });
    y.office
        .patch(&format!("/api/v1/enrolments/{}", y.enrolment.id), &moved)
        .await
        .expect(200);
    y.mara
        .get(&format!("/api/v1/critiques/{critique}"))
        .await
        .expect_problem(404, "not-found");
    noted(&y.otto, &critique, "The heel creeps.").await;
    y.otto
        .post(&format!("/api/v1/critiques/{critique}/release"), &json!({}))
        .await
        .expect(200);
    announced(&y, 1).await;
    assert_eq!(y.page(&y.nia, &critique).await["mentor"]["name"], "Otto");
}

#[actix_web::test]
async fn a_note_without_words_keeps_the_critique_in() {
    let y = yard().await;
    let critique = y.draft().await;
    noted(&y.mara, &critique, "The wrist jumps.").await;
    let empty = noted(&y.mara, &critique, " \u{a0}\n").await;
    let path = format!("/api/v1/critiques/{critique}/release");
    let problem = y
        .mara
        .post(&path, &json!({}))
        .await
        .expect_problem(422, "invalid-input");
    assert_eq!(
        super::fields(&problem),
        [format!("notes.{}", text(&empty["id"]))]
    );
    assert_eq!(y.page(&y.mara, &critique).await["state"], "draft");
    assert_eq!(
        y.one("SELECT count(*)::text FROM job WHERE kind = 'announce-critique'"),
        "0"
    );
}

/// Silence is an answer too: a critique without notes goes out when it judges or says something.
#[actix_web::test]
async fn a_critique_may_have_no_notes() {
    let y = yard().await;
    let critique = y.draft().await;
    put_summary(&y.mara, &critique, 1, "Nothing to add. Send the next.")
        .await
        .expect(200);
    y.release(&critique).await;
    let mails = announced(&y, 1).await;
    let mail = MessageParser::default().parse(&mails[0]).expect("a mail");
    assert!(
        mail.body_text(0)
            .expect("words")
            .contains("ready to read: 0 notes")
    );
}
