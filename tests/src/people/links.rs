//! Invitations and new passwords.

use chrono::TimeDelta;
use serde_json::json;
use tests::harness::{TestApp, now};

use super::{PASSWORD, choose, invite, mails_to, sign_in, token_in};

const NEW_PASSWORD: &str = "twelve drawings a second";

#[actix_web::test]
async fn an_invitation_says_whose_it_is_and_works_once() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let office = t.person(&school, "Orla", &["office"]);
    let token = invite(&t, &office, "Nia", "nia@yard.example", &["student"]).await;
    let path = format!("/api/v1/access-links/{token}");
    let link = t.anonymous().get(&path).await.expect(200);
    assert_eq!(
        (&link["purpose"], &link["name"], &link["email"]),
        (
            &json!("invitation"),
            &json!("Nia"),
            &json!("nia@yard.example")
        )
    );
    let short = t
        .anonymous()
        .post(&path, &json!({ "password": "short" }))
        .await;
    assert_eq!(
        short.expect_problem(422, "invalid-input")["errors"][0]["field"],
        "password"
    );
    let nia = choose(&t, &token, PASSWORD).await;
    nia.get("/api/v1/me").await.expect(200);
    t.anonymous()
        .get(&path)
        .await
        .expect_problem(410, "link-spent");
    t.anonymous()
        .post(&path, &json!({ "password": NEW_PASSWORD }))
        .await
        .expect_problem(410, "link-spent");
    t.anonymous()
        .post(
            "/api/v1/sessions",
            &sign_in("yard", "nia@yard.example", PASSWORD),
        )
        .await
        .expect(201);
    t.anonymous()
        .get("/api/v1/access-links/made-up")
        .await
        .expect_problem(410, "link-spent");
}

#[actix_web::test]
async fn one_of_two_who_use_a_link_at_once_gets_in() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let office = t.person(&school, "Orla", &["office"]);
    let token = invite(&t, &office, "Nia", "nia@yard.example", &["student"]).await;
    let path = format!("/api/v1/access-links/{token}");
    let password = json!({ "password": PASSWORD });
    let clients: Vec<_> = (0..8).map(|_| t.anonymous()).collect();
    let tries = clients.iter().map(|client| client.post(&path, &password));
    let mut statuses: Vec<u16> = futures_util::future::join_all(tries)
        .await
        .iter()
        .map(|a| a.status)
        .collect();
    statuses.sort_unstable();
    assert_eq!(statuses, [201, 410, 410, 410, 410, 410, 410, 410]);
}

#[actix_web::test]
async fn an_invitation_runs_out_and_a_newer_one_makes_it_void() {
    let begun = now();
    let (t, hand) = TestApp::start_at(begun, |config| {
        config.sessions.idle = std::time::Duration::from_secs(30 * 86_400);
        config.sessions.absolute = config.sessions.idle;
    })
    .await;
    let school = t.school("yard");
    let office = t.person(&school, "Orla", &["office"]);
    let email = "nia@yard.example";
    let first = invite(&t, &office, "Nia", email, &["student"]).await;
    let people = office.get("/api/v1/persons?q=nia").await.expect(200);
    let id = people["items"][0]["id"].as_str().unwrap().to_owned();
    let again = format!("/api/v1/persons/{id}/invitations");
    assert_eq!(office.post(&again, &json!({})).await.status, 202);
    let mails = mails_to(&t, email, 2).await;
    let second = mails
        .iter()
        .map(|mail| token_in(mail))
        .find(|token| *token != first)
        .unwrap();
    let path = |token: &str| format!("/api/v1/access-links/{token}");
    t.anonymous()
        .get(&path(&first))
        .await
        .expect_problem(410, "link-spent");
    hand.set(begun + TimeDelta::days(14) - TimeDelta::minutes(1));
    t.anonymous().get(&path(&second)).await.expect(200);
    hand.set(begun + TimeDelta::days(14) + TimeDelta::minutes(1));
    t.anonymous()
        .get(&path(&second))
        .await
        .expect_problem(410, "link-spent");
    t.anonymous()
        .post(&path(&second), &json!({ "password": PASSWORD }))
        .await
        .expect_problem(410, "link-spent");
}

#[actix_web::test]
async fn a_corrected_address_is_invited_anew_until_they_join() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let office = t.person(&school, "Orla", &["office"]);
    let old = invite(&t, &office, "Nia", "nai@yard.example", &["student"]).await;
    let people = office.get("/api/v1/persons?q=nai@").await.expect(200);
    let path = format!(
        "/api/v1/persons/{}",
        people["items"][0]["id"].as_str().unwrap()
    );
    let person = office
        .patch(&path, &json!({ "email": "Nia@yard.example" }))
        .await
        .expect(200);
    assert_eq!(person["email"], "nia@yard.example");
    t.anonymous()
        .get(&format!("/api/v1/access-links/{old}"))
        .await
        .expect_problem(410, "link-spent");
    let mails = mails_to(&t, "nia@yard.example", 1).await;
    choose(&t, &token_in(&mails[0]), PASSWORD).await;
    let person = office
        .patch(&path, &json!({ "email": "nia.o@yard.example" }))
        .await
        .expect(200);
    assert!(person["joined_at"].is_string());
    tokio::time::sleep(std::time::Duration::from_millis(600)).await;
    assert_eq!(t.post().len(), 2, "somebody who has joined is not invited");
    office
        .post(&format!("{path}/invitations"), &json!({}))
        .await
        .expect_problem(409, "conflict");
    let taken = office.patch(&path, &json!({ "email": office.email })).await;
    assert_eq!(
        taken.expect_problem(409, "duplicate")["errors"][0]["field"],
        "email"
    );
}

#[actix_web::test]
async fn a_new_password_ends_all_sessions_and_the_old_password() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let office = t.person(&school, "Orla", &["office"]);
    let email = "nia@yard.example";
    let token = invite(&t, &office, "Nia", email, &["student"]).await;
    let before = choose(&t, &token, PASSWORD).await;
    let ask = async |email: &str| {
        let body = json!({ "school": "yard", "email": email });
        t.anonymous().post("/api/v1/password-resets", &body).await
    };
    let (known, unknown) = (ask(email).await, ask("nobody@yard.example").await);
    assert_eq!(
        (known.status, known.text()),
        (unknown.status, unknown.text())
    );
    assert_eq!(known.status, 202);
    let mails = mails_to(&t, email, 2).await;
    let reset = mails
        .iter()
        .map(|mail| token_in(mail))
        .find(|other| *other != token)
        .unwrap();
    let link = t
        .anonymous()
        .get(&format!("/api/v1/access-links/{reset}"))
        .await
        .expect(200);
    assert_eq!(link["purpose"], "reset");
    let after = choose(&t, &reset, NEW_PASSWORD).await;
    before
        .get("/api/v1/me")
        .await
        .expect_problem(401, "sign-in-required");
    after.get("/api/v1/me").await.expect(200);
    let old = t
        .anonymous()
        .post("/api/v1/sessions", &sign_in("yard", email, PASSWORD))
        .await;
    old.expect_problem(401, "sign-in-refused");
    t.anonymous()
        .post("/api/v1/sessions", &sign_in("yard", email, NEW_PASSWORD))
        .await
        .expect(201);
    for _ in 0..8 {
        if ask(email).await.status == 429 {
            return;
        }
    }
    panic!("anybody can have them mailed without end");
}

#[actix_web::test]
async fn a_link_to_a_new_password_runs_out_within_the_hour() {
    let begun = now();
    let (t, hand) = TestApp::start_at(begun, |_| {}).await;
    let school = t.school("yard");
    let nia = t.person(&school, "Nia", &["student"]);
    let body = json!({ "school": "yard", "email": nia.email });
    assert_eq!(
        t.anonymous()
            .post("/api/v1/password-resets", &body)
            .await
            .status,
        202
    );
    let mails = mails_to(&t, &nia.email, 1).await;
    let path = format!("/api/v1/access-links/{}", token_in(&mails[0]));
    hand.set(begun + TimeDelta::minutes(59));
    t.anonymous().get(&path).await.expect(200);
    hand.set(begun + TimeDelta::minutes(61));
    t.anonymous()
        .get(&path)
        .await
        .expect_problem(410, "link-spent");
}

#[actix_web::test]
async fn only_the_office_manages_people_and_mentors_see_their_students() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let (mara, other) = (
        t.person(&school, "Mara", &["mentor"]),
        t.person(&school, "Otto", &["mentor"]),
    );
    let (nia, bo) = (
        t.person(&school, "Nia", &["student"]),
        t.person(&school, "Bo", &["student"]),
    );
    let office = t.person(&school, "Orla", &["office"]);
    let course = t.course(&school, "Body mechanics", 16);
    t.enrolment(&course, &nia, &mara, 16);
    t.enrolment(&course, &bo, &other, 16);
    let new = json!({ "name": "X", "email": "x@yard.example", "roles": ["office"] });
    for person in [&mara, &nia] {
        person
            .post("/api/v1/persons", &new)
            .await
            .expect_problem(403, "not-allowed");
    }
    t.anonymous()
        .post("/api/v1/persons", &new)
        .await
        .expect_problem(401, "sign-in-required");
    let names = |page: serde_json::Value| -> Vec<String> {
        page["items"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| p["name"].as_str().unwrap().to_owned())
            .collect()
    };
    assert_eq!(
        names(mara.get("/api/v1/persons").await.expect(200)),
        ["Nia"]
    );
    nia.get("/api/v1/persons")
        .await
        .expect_problem(403, "not-allowed");
    let first = office.get("/api/v1/persons?limit=3").await.expect(200);
    let cursor = first["next_cursor"].as_str().unwrap();
    let second = office
        .get(&format!("/api/v1/persons?limit=3&cursor={cursor}"))
        .await
        .expect(200);
    assert_eq!(
        [names(first.clone()), names(second.clone())].concat(),
        ["Bo", "Mara", "Nia", "Orla", "Otto"]
    );
    assert!(second["next_cursor"].is_null());
    assert_eq!(
        names(office.get("/api/v1/persons?role=mentor").await.expect(200)),
        ["Mara", "Otto"]
    );
    let abroad = t.person(&t.school("other"), "Zed", &["office"]);
    abroad
        .patch(
            &format!("/api/v1/persons/{}", nia.id),
            &json!({ "name": "Y" }),
        )
        .await
        .expect_problem(404, "not-found");
    assert_eq!(
        names(abroad.get("/api/v1/persons").await.expect(200)),
        ["Zed"]
    );
}
