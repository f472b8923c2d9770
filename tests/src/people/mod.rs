//! People, courses, the roster and quotas: the program's answers and the mails it writes.

mod letters;
mod links;
mod quotas;
mod roster;
mod sign_in;

use mail_parser::{Message, MessageParser};
use serde_json::{Value, json};
use tests::harness::client::Client;
use tests::harness::{TestApp, wait_for};

const PASSWORD: &str = "walk before you run";

/// The mails to that address, oldest first, once there are `n` of them.
async fn mails_to(t: &TestApp, email: &str, n: usize) -> Vec<Vec<u8>> {
    wait_for("the mails", async || {
        let mails: Vec<Vec<u8>> = t
            .post()
            .into_iter()
            .filter(|mail| recipient(&parse(mail)) == email)
            .collect();
        (mails.len() >= n).then_some(mails)
    })
    .await
}

/// Read by a parser of other make.
fn parse(mail: &[u8]) -> Message<'_> {
    MessageParser::default().parse(mail).expect("a mail")
}

fn recipient(mail: &Message<'_>) -> String {
    let to = mail.to().and_then(|to| to.first()).expect("a recipient");
    to.address().expect("an address").to_owned()
}

/// The token of the link in a mail.
fn token_in(mail: &[u8]) -> String {
    let mail = parse(mail);
    let text = mail.body_text(0).expect("plain text");
    let (_, rest) = text.split_once("/link/").expect("a link");
    rest.split_whitespace().next().expect("a token").to_owned()
}

/// Adds somebody through the office; gives the token of their invitation.
async fn invite(t: &TestApp, office: &Client, name: &str, email: &str, roles: &[&str]) -> String {
    let new = json!({ "name": name, "email": email, "roles": roles });
    office.post("/api/v1/persons", &new).await.expect(201);
    let mails = mails_to(t, email, 1).await;
    token_in(&mails[0])
}

/// Chooses a password by a link; gives the signed-in client.
async fn choose(t: &TestApp, token: &str, password: &str) -> Client {
    let answer = t
        .anonymous()
        .post(
            &format!("/api/v1/access-links/{token}"),
            &json!({ "password": password }),
        )
        .await;
    answer.expect(201);
    t.anonymous().with_cookie(answer.cookie())
}

fn sign_in(school: &str, email: &str, password: &str) -> Value {
    json!({ "school": school, "email": email, "password": password })
}
