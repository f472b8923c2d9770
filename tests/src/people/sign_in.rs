//! Signing in and out.

use std::time::{Duration, Instant};

use reqwest::Method;
use serde_json::json;
use tests::harness::client::Client;
use tests::harness::{TestApp, now};

use super::{PASSWORD, choose, invite, sign_in};

/// A school with an office, and somebody who has chosen a password.
async fn with_member(t: &TestApp) -> (Client, String) {
    let school = t.school("yard");
    let office = t.person(&school, "Orla", &["office"]);
    let email = "nia@yard.example";
    let token = invite(t, &office, "Nia Ø", email, &["student"]).await;
    (choose(t, &token, PASSWORD).await, email.to_owned())
}

#[actix_web::test]
async fn a_person_signs_in_and_out() {
    let t = TestApp::start().await;
    let (_, email) = with_member(&t).await;
    let answer = t
        .anonymous()
        .post(
            "/api/v1/sessions",
            &sign_in("yard", &email.to_uppercase(), PASSWORD),
        )
        .await;
    let me = answer.expect(201);
    assert_eq!(me["name"], "Nia Ø");
    assert_eq!(me["school"]["slug"], "yard");
    assert_eq!(me["roles"], json!(["student"]));
    // RFC 6265bis: not for scripts, not along with other sites' requests.
    let set = answer.header("set-cookie").unwrap();
    for part in ["refrain=", "HttpOnly", "SameSite=Lax", "Path=/"] {
        assert!(set.contains(part), "{set}");
    }
    let nia = t.anonymous().with_cookie(answer.cookie());
    nia.get("/api/v1/me").await.expect(200);
    let out = nia.delete("/api/v1/sessions/current").await;
    assert_eq!(out.status, 204);
    assert!(
        out.header("set-cookie").unwrap().contains("Max-Age=0"),
        "{out}"
    );
    nia.get("/api/v1/me")
        .await
        .expect_problem(401, "sign-in-required");
}

#[actix_web::test]
async fn the_cookie_is_bound_to_the_host_behind_tls() {
    let t = TestApp::start_with(|config| {
        config.server.public_url = Some("https://refrain.example".into());
    })
    .await;
    let school = t.school("yard");
    let mut office = t.person(&school, "Orla", &["office"]);
    office.client.cookie = office
        .client
        .cookie
        .map(|c| c.replace("refrain=", "__Host-refrain="));
    let token = invite(&t, &office, "Nia", "nia@yard.example", &["student"]).await;
    let answer = t
        .anonymous()
        .post(
            &format!("/api/v1/access-links/{token}"),
            &json!({ "password": PASSWORD }),
        )
        .await;
    answer.expect(201);
    let set = answer.header("set-cookie").unwrap();
    assert!(
        set.starts_with("__Host-refrain=") && set.contains("Secure"),
        "{set}"
    );
}

#[actix_web::test]
async fn signing_out_everywhere_ends_every_session() {
    let t = TestApp::start().await;
    let (first, email) = with_member(&t).await;
    let again = t
        .anonymous()
        .post("/api/v1/sessions", &sign_in("yard", &email, PASSWORD))
        .await;
    let second = t.anonymous().with_cookie(again.cookie());
    assert_eq!(first.delete("/api/v1/sessions").await.status, 204);
    for client in [first, second] {
        client
            .get("/api/v1/me")
            .await
            .expect_problem(401, "sign-in-required");
    }
}

#[actix_web::test]
async fn a_wrong_password_and_an_unknown_account_are_answered_alike() {
    let t = TestApp::start().await;
    let (_, email) = with_member(&t).await;
    t.school("other");
    let attempts = [
        sign_in("yard", &email, "run before you walk"),
        sign_in("yard", "nobody@yard.example", PASSWORD),
        sign_in("other", &email, PASSWORD),
        sign_in("nowhere", &email, PASSWORD),
    ];
    let mut bodies = vec![];
    for attempt in attempts {
        let answer = t.anonymous().post("/api/v1/sessions", &attempt).await;
        answer.expect_problem(401, "sign-in-refused");
        assert!(answer.header("set-cookie").is_none());
        bodies.push(answer.text());
    }
    bodies.dedup();
    assert_eq!(bodies.len(), 1, "{bodies:?}");
}

/// Both cost one computation of argon2id; a difference of an order of magnitude would tell who has an account.
#[actix_web::test]
async fn an_unknown_account_takes_as_long_as_a_known_one() {
    let t = TestApp::start_with(|config| {
        config.passwords.memory_kib = 19_456;
        config.passwords.passes = 4;
    })
    .await;
    let (_, email) = with_member(&t).await;
    let mut fastest = [Duration::MAX; 2];
    for _ in 0..4 {
        for (i, email) in [email.as_str(), "nobody@yard.example"]
            .into_iter()
            .enumerate()
        {
            let begun = Instant::now();
            let answer = t
                .anonymous()
                .post("/api/v1/sessions", &sign_in("yard", email, "wrong"))
                .await;
            answer.expect_problem(401, "sign-in-refused");
            fastest[i] = fastest[i].min(begun.elapsed());
        }
    }
    assert!(fastest[1] * 4 > fastest[0], "{fastest:?}");
}

#[actix_web::test]
async fn too_many_attempts_have_to_wait() {
    let t = TestApp::start().await;
    t.school("yard");
    let attempt = sign_in("yard", "nia@yard.example", "wrong");
    let refused = async || {
        for _ in 0..60 {
            let answer = t.anonymous().post("/api/v1/sessions", &attempt).await;
            if answer.status == 429 {
                return answer;
            }
            answer.expect_problem(401, "sign-in-refused");
        }
        panic!("nobody was stopped");
    };
    let answer = refused().await;
    answer.expect_problem(429, "too-many-attempts");
    // RFC 9110, 10.2.3: seconds.
    let wait: u64 = answer.header("retry-after").unwrap().parse().unwrap();
    assert!((1..=60).contains(&wait), "{wait}");
    let other = sign_in("yard", "bo@yard.example", "wrong");
    t.anonymous()
        .post("/api/v1/sessions", &other)
        .await
        .expect_problem(401, "sign-in-refused");
}

#[actix_web::test]
async fn one_address_cannot_try_every_account() {
    let t = TestApp::start().await;
    t.school("yard");
    let attempt = async |n: usize, from: &str| {
        let body = sign_in("yard", &format!("p{n}@yard.example"), "wrong");
        let request = t.anonymous().request(Method::POST, "/api/v1/sessions");
        request
            .header("x-forwarded-for", from)
            .json(&body)
            .send()
            .await
            .status
    };
    let mut stopped = false;
    for n in 0..240 {
        stopped = attempt(n, "192.0.2.1").await == 429;
        if stopped {
            break;
        }
    }
    assert!(stopped);
    assert_eq!(attempt(999, "192.0.2.2").await, 401);
}

#[actix_web::test]
async fn a_forged_request_changes_nothing() {
    let t = TestApp::start().await;
    let (nia, email) = with_member(&t).await;
    let host = t.address.trim_start_matches("http://").to_owned();
    let http = reqwest::Client::new();
    let url = format!("{}/api/v1/sessions", t.address);
    let body = sign_in("yard", &email, PASSWORD);
    let without = http.post(&url).json(&body).send().await.unwrap();
    assert_eq!(without.status(), 403);
    let elsewhere = http
        .post(&url)
        .header("refrain-request", "1")
        .header("origin", "https://evil.example");
    assert_eq!(elsewhere.json(&body).send().await.unwrap().status(), 403);
    let ours = http
        .post(&url)
        .header("refrain-request", "1")
        .header("origin", format!("http://{host}"));
    assert_eq!(ours.json(&body).send().await.unwrap().status(), 201);
    let out = http
        .delete(&url)
        .header("cookie", nia.cookie.clone().unwrap());
    assert_eq!(out.send().await.unwrap().status(), 403);
    nia.get("/api/v1/me").await.expect(200);
}

#[actix_web::test]
async fn a_session_ends_when_idle_and_in_the_end_anyway() {
    let begun = now();
    let hours = |n: i64| begun + chrono::TimeDelta::hours(n);
    let (t, hand) = TestApp::start_at(begun, |config| {
        config.sessions.idle = Duration::from_secs(7_200);
        config.sessions.absolute = Duration::from_secs(4 * 3_600);
    })
    .await;
    let school = t.school("yard");
    let (idle, busy) = (
        t.person(&school, "Ida", &["student"]),
        t.person(&school, "Bo", &["student"]),
    );
    hand.set(hours(1));
    busy.get("/api/v1/me").await.expect(200);
    hand.set(begun + chrono::TimeDelta::minutes(150));
    busy.get("/api/v1/me").await.expect(200);
    idle.get("/api/v1/me")
        .await
        .expect_problem(401, "sign-in-required");
    hand.set(begun + chrono::TimeDelta::minutes(250));
    busy.get("/api/v1/me")
        .await
        .expect_problem(401, "sign-in-required");
}

#[actix_web::test]
async fn a_password_of_other_parameters_is_hashed_anew() {
    let t = TestApp::start().await;
    let (_, email) = with_member(&t).await;
    let url = t.database.owner_url.clone();
    let hashes = |sql: &'static str| {
        let url = url.clone();
        tests::harness::cluster::aside(move || {
            let row = tests::harness::cluster::connect(&url)
                .query_one(sql, &[])
                .unwrap();
            row.get::<_, String>(0)
        })
    };
    // PASSWORD under m=16, t=1, made by the reference implementation (libargon2, through argon2-cffi 25.1.0).
    hashes(
        "UPDATE credential SET password_hash = '$argon2id$v=19$m=16,t=1,p=1$c29tZXNhbHRzb21lc2FsdA$jUTqC7S2rIaUJibut8GZyogeemTbxNQmuwk7cxskQFI' RETURNING password_hash",
    );
    t.anonymous()
        .post("/api/v1/sessions", &sign_in("yard", &email, PASSWORD))
        .await
        .expect(201);
    let kept = hashes("SELECT password_hash FROM credential");
    assert!(kept.starts_with("$argon2id$v=19$m=8,t=1,p=1$"), "{kept}");
    t.anonymous()
        .post("/api/v1/sessions", &sign_in("yard", &email, PASSWORD))
        .await
        .expect(201);
}

#[actix_web::test]
async fn preferences_are_kept_and_checked() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let nia = t.person(&school, "Nia", &["student"]);
    let preferences = json!({ "keys": { "step": "KeyL" }, "ghost_earlier": "#112233", "ghost_later": "", "pencil": "" });
    let me = nia
        .put("/api/v1/me/preferences", &preferences)
        .await
        .expect(200);
    assert_eq!(me["preferences"], preferences);
    nia.patch("/api/v1/me", &json!({ "name": " Nia Ø " }))
        .await
        .expect(200);
    let me = nia.get("/api/v1/me").await.expect(200);
    assert_eq!(
        (&me["name"], &me["preferences"]),
        (&json!("Nia Ø"), &preferences)
    );
    let wrong = json!({ "keys": {}, "ghost_earlier": "red", "ghost_later": "", "pencil": "" });
    let problem = nia
        .put("/api/v1/me/preferences", &wrong)
        .await
        .expect_problem(422, "invalid-input");
    assert_eq!(problem["errors"][0]["field"], "ghost_earlier");
}

#[actix_web::test]
async fn anybody_finds_a_school_and_the_vocabulary() {
    let t = TestApp::start().await;
    t.school("yard");
    let school = t.anonymous().get("/api/v1/schools/yard").await.expect(200);
    assert_eq!(school["time_zone"], "Europe/Vienna");
    t.anonymous()
        .get("/api/v1/schools/nowhere")
        .await
        .expect_problem(404, "not-found");
    let words = t.anonymous().get("/api/v1/vocabulary").await.expect(200);
    assert_eq!(words["principles"].as_array().unwrap().len(), 12);
    assert!(
        words["parts"]
            .as_array()
            .unwrap()
            .iter()
            .any(|p| p["name"] == "wrist" && p["parent"] == "arm" && p["sided"] == true)
    );
}

/// Passwords are hashed on a few threads of their own, so that those who wait to sign in keep nobody else waiting.
#[actix_web::test]
async fn a_flood_of_sign_ins_leaves_other_pages_alone() {
    let t = TestApp::start_with(|config| {
        config.passwords.memory_kib = 19_456;
        config.passwords.passes = 8;
        config.passwords.at_once = 1;
    })
    .await;
    let school = t.school("yard");
    let nia = t.person(&school, "Nia", &["student"]);
    // Each at another account, so that none is throttled; each costs a whole hash.
    let flood: Vec<_> = (0..40)
        .map(|n| {
            let client = t.anonymous();
            tokio::spawn(async move {
                let attempt = sign_in("yard", &format!("p{n}@yard.example"), PASSWORD);
                client.post("/api/v1/sessions", &attempt).await.status
            })
        })
        .collect();
    for path in ["/healthz", "/api/v1/me", "/api/v1/courses", "/api/v1/shots"] {
        nia.get(path).await;
        nia.get(path).await;
    }
    let waiting = flood
        .iter()
        .filter(|attempt| !attempt.is_finished())
        .count();
    assert!(
        waiting >= 20,
        "the pages waited for the flood: {waiting} of 40 still wait"
    );
    for attempt in flood {
        assert_eq!(attempt.await.expect("an answer"), 401);
    }
}

/// Content Security Policy Level 3: no inline script runs but those admitted by hash, nothing is framed, nothing comes from elsewhere.
#[actix_web::test]
async fn every_answer_says_what_a_page_may_load() {
    let t = TestApp::start().await;
    for path in [
        "/",
        "/desk",
        "/link/made-up",
        "/api/v1/schools/nowhere",
        "/api/openapi.json",
        "/healthz",
        "/_app/none.js",
    ] {
        let answer = t.anonymous().get(path).await;
        let policy = answer
            .header("content-security-policy")
            .unwrap_or_else(|| panic!("{answer}: no policy"));
        let directives: std::collections::HashMap<&str, Vec<&str>> = policy
            .split(';')
            .filter_map(|directive| {
                let mut words = directive.split_whitespace();
                Some((words.next()?, words.collect()))
            })
            .collect();
        assert_eq!(directives["default-src"], ["'none'"], "{path}");
        for closed in ["base-uri", "frame-ancestors"] {
            assert_eq!(directives[closed], ["'none'"], "{path}: {closed}");
        }
        for own in ["connect-src", "form-action", "style-src"] {
            assert_eq!(directives[own], ["'self'"], "{path}: {own}");
        }
        let scripts = &directives["script-src"];
        assert!(
            scripts
                .iter()
                .all(|source| *source == "'self'" || source.starts_with("'sha256-")),
            "{path}: {scripts:?}"
        );
        assert!(
            !policy.contains("unsafe-inline")
                && !policy.contains("unsafe-eval")
                && !policy.contains('*'),
            "{path}: {policy}"
        );
        assert_eq!(
            answer.header("x-content-type-options"),
            Some("nosniff"),
            "{path}"
        );
        assert_eq!(
            answer.header("referrer-policy"),
            Some("same-origin"),
            "{path}"
        );
    }
}

/// No text of Postgres holds U+0000.
#[actix_web::test]
async fn an_address_with_a_nul_is_refused() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let office = t.person(&school, "Orla", &["office"]);
    // The last is a cursor: `["a\u0000", "00000000-0000-0000-0000-000000000000"]`.
    for path in [
        "/api/v1/schools/a%00b",
        "/api/v1/persons?q=a%00",
        "/api/v1/enrolments?q=%00",
        "/api/v1/persons?cursor=WyJhXHUwMDAwIiwgIjAwMDAwMDAwLTAwMDAtMDAwMC0wMDAwLTAwMDAwMDAwMDAwMCJd",
    ] {
        office.get(path).await.expect_problem(422, "invalid-input");
    }
}
