//! A school in the database of a program that runs as a process: founded by the command and filled through requests, as its users do it.

use serde_json::json;

use super::client::Client;
use super::process::{Serving, command, output};
use super::{mails_in, wait_for};

const PASSWORD: &str = "a long enough phrase";

/// A school with an office, a mentor who has not joined yet, and a student who has.
pub struct Founded {
    /// The office, signed in.
    pub office: Client,
    /// The student, signed in.
    pub student: Client,
    /// A shot of theirs.
    pub shot: String,
}

impl Founded {
    /// Founds it in the database of that program, which must deliver mail.
    pub async fn at(program: &Serving) -> Self {
        let founding =
            output(command(&program.var).args(["school", "yard", "The Yard", "orla@yard.example"]));
        let link = String::from_utf8_lossy(&founding.stdout).into_owned();
        assert!(
            founding.status.success(),
            "{}",
            String::from_utf8_lossy(&founding.stderr)
        );
        let office = join(program, token_in(&link).expect("a link")).await;
        let mentor = json!({ "name": "Mara", "email": "mara@yard.example", "roles": ["mentor"] });
        let mentor = office.post("/api/v1/persons", &mentor).await.expect(201);
        let course = json!({ "name": "Body mechanics", "brief": "Bring a shot.", "granted": 1000, "promise_days": 7 });
        let course = office.post("/api/v1/courses", &course).await.expect(201);
        let enrolment = json!({ "course_id": course["id"], "mentor_id": mentor["id"], "starts_on": "2020-01-01",
            "student": { "name": "Nia", "email": "nia@yard.example" } });
        let enrolment = office
            .post("/api/v1/enrolments", &enrolment)
            .await
            .expect(201);
        let student = join(program, invited(program, "nia@yard.example").await).await;
        let shot =
            json!({ "enrolment_id": enrolment["id"], "title": "Lantern jump", "first_frame": 1 });
        let shot = student.post("/api/v1/shots", &shot).await.expect(201);
        Self {
            office,
            student,
            shot: shot["id"].as_str().expect("an id").to_owned(),
        }
    }
}

/// Takes a link and chooses a password.
async fn join(program: &Serving, token: String) -> Client {
    let nobody = Client::anonymous(&program.address);
    let path = format!("/api/v1/access-links/{token}");
    let joined = nobody.post(&path, &json!({ "password": PASSWORD })).await;
    joined.expect(201);
    nobody.with_cookie(joined.cookie())
}

/// The token of the invitation to that address.
async fn invited(program: &Serving, address: &str) -> String {
    wait_for("the invitation", async || {
        let mails = mails_in(&program.var.join("post"));
        let mails = mails
            .iter()
            .filter_map(|bytes| mail_parser::MessageParser::default().parse(bytes));
        mails
            .filter(|mail| mail.to().and_then(|to| to.first()?.address()) == Some(address))
            .find_map(|mail| token_in(&mail.body_text(0)?))
    })
    .await
}

fn token_in(text: &str) -> Option<String> {
    let (_, rest) = text.split_once("/link/")?;
    Some(rest.split_whitespace().next()?.to_owned())
}
