//! Granting, taking back, and telling how a quota stands.

use mail_parser::MessageParser;
use serde_json::json;
use tests::harness::TestApp;

use super::mails_to;

#[actix_web::test]
async fn the_office_grants_and_takes_back_what_is_left() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let (office, mara) = (
        t.person(&school, "Orla", &["office"]),
        t.person(&school, "Mara", &["mentor"]),
    );
    let (nia, bo) = (
        t.person(&school, "Nia", &["student"]),
        t.person(&school, "Bo", &["student"]),
    );
    let course = t.course(&school, "Body mechanics", 16);
    let enrolment = t.enrolment(&course, &nia, &mara, 3);
    let path = format!("/api/v1/enrolments/{}/quota-entries", enrolment.id);
    let enter = async |amount: i32, reason: &str| {
        office
            .post(&path, &json!({ "amount": amount, "reason": reason }))
            .await
    };
    assert_eq!(enter(2, "was ill").await.expect(201)["quota"]["left"], 5);
    let quota = enter(-5, "left the course").await.expect(201)["quota"].clone();
    assert_eq!(
        (&quota["granted"], &quota["left"], &quota["pegs"]),
        (&json!(0), &json!(0), &json!([]))
    );
    enter(-1, "once more")
        .await
        .expect_problem(409, "quota-spent");
    enter(0, "nothing")
        .await
        .expect_problem(422, "invalid-input");
    let problem = enter(1, " ").await.expect_problem(422, "invalid-input");
    assert_eq!(problem["errors"][0]["field"], "reason");
    for person in [&nia, &mara] {
        person
            .post(&path, &json!({ "amount": 1, "reason": "please" }))
            .await
            .expect_problem(403, "not-allowed");
        let ledger = person.get(&path).await.expect(200);
        let amounts: Vec<_> = ledger["items"]
            .as_array()
            .unwrap()
            .iter()
            .map(|e| e["amount"].as_i64().unwrap())
            .collect();
        assert_eq!(amounts, [-5, 2, 3]);
    }
    let ledger = office.get(&format!("{path}?limit=1")).await.expect(200);
    assert_eq!(
        (&ledger["items"][0]["reason"], &ledger["items"][0]["by"]),
        (&json!("left the course"), &json!("Orla"))
    );
    let cursor = ledger["next_cursor"].as_str().unwrap();
    let next = office
        .get(&format!("{path}?limit=1&cursor={cursor}"))
        .await
        .expect(200);
    assert_eq!(
        (&next["items"][0]["kind"], &next["items"][0]["reason"]),
        (&json!("grant"), &json!("was ill"))
    );
    bo.get(&path).await.expect_problem(404, "not-found");
}

/// The database's own rule decides: whatever the order, no more goes than there is.
#[actix_web::test]
async fn racing_to_take_back_never_takes_more_than_is_left() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let (office, mara) = (
        t.person(&school, "Orla", &["office"]),
        t.person(&school, "Mara", &["mentor"]),
    );
    let nia = t.person(&school, "Nia", &["student"]);
    let enrolment = t.enrolment(&t.course(&school, "Body mechanics", 16), &nia, &mara, 3);
    let path = format!("/api/v1/enrolments/{}/quota-entries", enrolment.id);
    let body = json!({ "amount": -1, "reason": "left" });
    let tries = (0..10).map(|_| office.post(&path, &body));
    let answers = futures_util::future::join_all(tries).await;
    let count = |status: u16| {
        answers
            .iter()
            .filter(|answer| answer.status == status)
            .count()
    };
    assert_eq!((count(201), count(409)), (3, 7));
}

#[actix_web::test]
async fn students_are_mailed_how_their_quota_stands_once_a_day() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let (office, mara) = (
        t.person(&school, "Orla", &["office"]),
        t.person(&school, "Mara", &["mentor"]),
    );
    let (nia, bo) = (
        t.person(&school, "Nía", &["student"]),
        t.person(&school, "Bo", &["student"]),
    );
    let course = t.course(&school, "Körper & Gewicht", 16);
    let enrolment = t.enrolment(&course, &nia, &mara, 7);
    t.enrolment(&course, &bo, &mara, 1);
    let mail = async |ids: serde_json::Value| {
        office
            .post(
                "/api/v1/enrolments/quota-mails",
                &json!({ "enrolment_ids": ids }),
            )
            .await
    };
    assert_eq!(mail(json!([enrolment.id])).await.expect(202)["mailed"], 1);
    assert_eq!(
        mail(json!(null)).await.expect(202)["mailed"],
        1,
        "the other one"
    );
    assert_eq!(mail(json!(null)).await.expect(202)["mailed"], 0);
    let path = format!("/api/v1/enrolments/{}/quota-entries", enrolment.id);
    office
        .post(&path, &json!({ "amount": 1, "reason": "was ill" }))
        .await
        .expect(201);
    assert_eq!(
        mail(json!(null)).await.expect(202)["mailed"],
        1,
        "it stands otherwise now"
    );
    let mails = mails_to(&t, &nia.email, 2).await;
    let texts: Vec<String> = mails
        .iter()
        .map(|mail| {
            MessageParser::default()
                .parse(mail)
                .unwrap()
                .body_text(0)
                .unwrap()
                .into_owned()
        })
        .collect();
    assert!(
        texts.iter().any(|text| text.contains("0 sent, 7 left")),
        "{texts:?}"
    );
    assert!(
        texts.iter().any(|text| text.contains("0 sent, 8 left")),
        "{texts:?}"
    );
    let body = json!({ "enrolment_ids": null });
    mara.post("/api/v1/enrolments/quota-mails", &body)
        .await
        .expect_problem(403, "not-allowed");
}

/// Read by a parser of other make (mail-parser): what was used, what is left, what still waits for a critique.
#[actix_web::test]
async fn the_mail_says_what_was_used_is_left_and_waits() {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let (office, mara) = (
        t.person(&school, "Orla", &["office"]),
        t.person(&school, "Mara", &["mentor"]),
    );
    let nia = t.person(&school, "Nía", &["student"]);
    let course = t.course(&school, "Körper & Gewicht", 16);
    let enrolment = t.enrolment(&course, &nia, &mara, 9);
    // Four sent: one given back, one answered, one with a draft, one not opened.
    let sql = format!(
        "SET session_replication_role = replica;
         INSERT INTO shot SELECT gen_random_uuid(), school_id, id, course_id, student_id, NULL, 'A jump', 1, now() FROM enrolment WHERE id = '{id}';
         INSERT INTO revision SELECT gen_random_uuid(), school_id, id, n, NULL, gen_random_uuid(), 'spline', now() FROM shot, generate_series(1, 4) n;
         INSERT INTO submission (id, school_id, enrolment_id, student_id, shot_id, revision_id, idem_key, request_hash, words, sent_at, promised_on, opened_at, returned_at)
           SELECT gen_random_uuid(), s.school_id, s.enrolment_id, s.student_id, s.id, r.id, 'key-' || r.number || '-abcdef', '\\x00', '', now(), current_date,
             CASE WHEN r.number IN (2, 3) THEN now() END, CASE WHEN r.number = 1 THEN now() END FROM revision r JOIN shot s ON s.id = r.shot_id;
         INSERT INTO critique (id, school_id, enrolment_id, submission_id, revision_id, shot_id, student_id, mentor_id, created_at, released_at)
           SELECT gen_random_uuid(), b.school_id, b.enrolment_id, b.id, b.revision_id, b.shot_id, b.student_id, e.mentor_id, now(),
             CASE r.number WHEN 2 THEN now() - interval '1 hour' END
           FROM submission b JOIN revision r ON r.id = b.revision_id JOIN enrolment e ON e.id = b.enrolment_id WHERE b.opened_at IS NOT NULL;
         SET session_replication_role = origin;
         INSERT INTO quota_entry (id, school_id, enrolment_id, kind, amount, submission_id, actor_id, created_at)
           SELECT gen_random_uuid(), school_id, enrolment_id, 'spend', -1, id, student_id, now() FROM submission
           UNION ALL SELECT gen_random_uuid(), school_id, enrolment_id, 'return', 1, id, student_id, now() FROM submission WHERE returned_at IS NOT NULL",
        id = enrolment.id
    );
    tests::harness::cluster::aside(|| {
        let mut owner = tests::harness::cluster::connect(&t.database.owner_url);
        owner
            .batch_execute(&sql)
            .unwrap_or_else(|e| panic!("{e:?}"));
    });
    let mailed = office
        .post(
            "/api/v1/enrolments/quota-mails",
            &json!({ "enrolment_ids": [enrolment.id] }),
        )
        .await;
    assert_eq!(mailed.expect(202)["mailed"], 1);
    let mails = mails_to(&t, &nia.email, 1).await;
    let mail = MessageParser::default().parse(&mails[0]).unwrap();
    assert_eq!(mail.subject(), Some("Körper & Gewicht: 6 submissions left"));
    assert_eq!(mail.to().unwrap().first().unwrap().name(), Some("Nía"));
    let plain = mail.body_text(0).unwrap();
    assert!(
        plain.contains("4 sent, 1 returned to you, 6 left"),
        "{plain}"
    );
    assert!(
        plain.contains("2 submissions still wait for a critique by Mara"),
        "{plain}"
    );
    let html = mail.body_html(0).unwrap();
    assert!(html.contains("Körper &amp; Gewicht"), "{html}");
}

#[actix_web::test]
async fn all_of_a_large_school_are_mailed() {
    let t = TestApp::start_with(|config| config.jobs.workers = 0).await;
    let school = t.school("yard");
    let (office, mara) = (
        t.person(&school, "Orla", &["office"]),
        t.person(&school, "Mara", &["mentor"]),
    );
    let course = t.course(&school, "Body mechanics", 16);
    let sql = format!(
        "INSERT INTO person (id, school_id, email, name, roles, created_at)
           SELECT gen_random_uuid(), '{school}', 'p' || n || '@yard.example', 'Pupil ' || n, '{{student}}', now() FROM generate_series(1, 450) n;
         INSERT INTO enrolment (id, school_id, course_id, student_id, mentor_id, starts_on, created_at)
           SELECT gen_random_uuid(), school_id, '{course}', id, '{mara}', current_date, now() FROM person WHERE 'student' = ANY (roles)",
        school = school.id,
        course = course.id,
        mara = mara.id
    );
    tests::harness::cluster::aside(|| {
        tests::harness::cluster::connect(&t.database.owner_url)
            .batch_execute(&sql)
            .unwrap_or_else(|e| panic!("{e:?}"));
    });
    let mail = async || {
        let all = json!({ "enrolment_ids": null });
        office
            .post("/api/v1/enrolments/quota-mails", &all)
            .await
            .expect(202)["mailed"]
            .clone()
    };
    assert_eq!(mail().await, 450);
    assert_eq!(mail().await, 0, "nobody twice");
}
