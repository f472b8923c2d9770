//! Courses and enrolments, one by one and from files.

use reqwest::Method;
use serde_json::{Value, json};
use tests::harness::client::{Answer, Client};
use tests::harness::people::{Person, School};
use tests::harness::{TestApp, cluster};

use super::mails_to;

struct Yard {
    t: TestApp,
    school: School,
    office: Person,
    mara: Person,
}

async fn yard() -> Yard {
    let t = TestApp::start().await;
    let school = t.school("yard");
    let office = t.person(&school, "Orla", &["office"]);
    let mara = t.person(&school, "Mara Vell", &["mentor"]);
    Yard {
        t,
        school,
        office,
        mara,
    }
}

async fn send_csv(client: &Client, verb: &str, csv: impl Into<Vec<u8>>) -> Answer {
    let path = format!("/api/v1/enrolments/{verb}");
    client
        .request(Method::POST, &path)
        .body("text/csv; charset=utf-8", csv.into())
        .send()
        .await
}

fn fields(problem: &Value) -> Vec<&str> {
    problem
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["field"].as_str().unwrap())
        .collect()
}

#[actix_web::test]
async fn a_course_is_offered_amended_and_seen_by_those_in_it() {
    let Yard {
        t,
        school,
        office,
        mara,
    } = yard().await;
    let new = json!({ "name": "Body mechanics", "brief": "Bring a shot.", "granted": 16, "promise_days": 7 });
    let course = office.post("/api/v1/courses", &new).await.expect(201);
    let id = course["id"].as_str().unwrap();
    office
        .post("/api/v1/courses", &new)
        .await
        .expect_problem(409, "duplicate");
    let wrong = json!({ "name": " ", "brief": "", "granted": -1, "promise_days": 0 });
    let problem = office
        .post("/api/v1/courses", &wrong)
        .await
        .expect_problem(422, "invalid-input");
    assert_eq!(
        fields(&problem["errors"]),
        ["granted", "name", "promise_days"]
    );
    let amended = office
        .patch(
            &format!("/api/v1/courses/{id}"),
            &json!({ "promise_days": 5 }),
        )
        .await
        .expect(200);
    assert_eq!(
        (&amended["promise_days"], &amended["granted"]),
        (&json!(5), &json!(16))
    );
    let set = json!({ "title": "A jump", "brief": "From standing." });
    let assignment = office
        .post(&format!("/api/v1/courses/{id}/assignments"), &set)
        .await
        .expect(201);
    let path = format!("/api/v1/assignments/{}", assignment["id"].as_str().unwrap());
    office
        .patch(&path, &json!({ "title": "A leap" }))
        .await
        .expect(200);
    let seen = mara.get("/api/v1/courses").await.expect(200);
    assert_eq!(seen["items"], json!([]), "she teaches in none yet");
    mara.patch(&path, &json!({ "title": "Mine" }))
        .await
        .expect_problem(403, "not-allowed");
    let nia = t.person(&school, "Nia", &["student"]);
    let enrol = json!({ "course_id": id, "mentor_id": mara.id, "student_id": nia.id });
    office.post("/api/v1/enrolments", &enrol).await.expect(201);
    for person in [&mara, &nia] {
        let seen = person.get("/api/v1/courses").await.expect(200);
        assert_eq!(seen["items"][0]["assignments"][0]["title"], "A leap");
        assert_eq!(seen["items"][0]["promise_days"], 5);
    }
}

#[actix_web::test]
async fn a_new_student_is_enrolled_and_invited() {
    let Yard {
        t,
        school,
        office,
        mara,
    } = yard().await;
    let course = t.course(&school, "Body mechanics", 16);
    let new = json!({ "course_id": course.id, "mentor_id": mara.id, "starts_on": "2026-12-01",
        "student": { "name": "Åsa Lund", "email": "Asa@x.example" } });
    let enrolment = office.post("/api/v1/enrolments", &new).await.expect(201);
    assert_eq!(enrolment["student"]["name"], "Åsa Lund");
    assert_eq!(enrolment["quota"]["left"], 16);
    assert_eq!(enrolment["quota"]["pegs"].as_array().unwrap().len(), 16);
    assert_eq!(
        (&enrolment["joined"], &enrolment["starts_on"]),
        (&json!(false), &json!("2026-12-01"))
    );
    assert!(
        enrolment["open_concerns"].is_null(),
        "the office reads no critiques"
    );
    mails_to(&t, "asa@x.example", 1).await;
    office
        .post("/api/v1/enrolments", &new)
        .await
        .expect_problem(409, "duplicate");
    let both = json!({ "course_id": course.id, "mentor_id": mara.id });
    office
        .post("/api/v1/enrolments", &both)
        .await
        .expect_problem(422, "invalid-input");
    let no_mentor = json!({ "course_id": course.id, "mentor_id": office.id, "student": { "name": "B", "email": "b@x.example" } });
    let problem = office
        .post("/api/v1/enrolments", &no_mentor)
        .await
        .expect_problem(422, "invalid-input");
    assert_eq!(fields(&problem["errors"]), ["mentor_id"]);
    let no_student = json!({ "course_id": course.id, "mentor_id": mara.id, "student_id": mara.id });
    office
        .post("/api/v1/enrolments", &no_student)
        .await
        .expect_problem(422, "invalid-input");
    let seen = mara.get("/api/v1/enrolments?q=asa@").await.expect(200);
    assert_eq!(seen["items"][0]["open_concerns"], 0);
    mara.post("/api/v1/enrolments", &new)
        .await
        .expect_problem(403, "not-allowed");
    let stranger = t.person(&school, "Otto", &["mentor"]);
    assert_eq!(
        stranger.get("/api/v1/enrolments").await.expect(200)["items"],
        json!([])
    );
}

/// Somebody new whose address was taken down as another's is not enrolled as that other.
#[actix_web::test]
async fn an_address_that_is_anothers_enrols_nobody() {
    let Yard {
        t,
        school,
        office,
        mara,
    } = yard().await;
    let first = t.course(&school, "Body mechanics", 16);
    let second = t.course(&school, "Acting", 12);
    let enrolling = |course: &str, name: &str| {
        json!({ "course_id": course, "mentor_id": mara.id,
            "student": { "name": name, "email": "asa@x.example" } })
    };
    let line = |course: &str, name: &str| {
        format!(
            "name,email,course,mentor_email\n{name},asa@x.example,{course},{}\n",
            mara.email
        )
    };
    let new = enrolling(&first.id.to_string(), "Åsa Lund");
    office.post("/api/v1/enrolments", &new).await.expect(201);

    let other = enrolling(&second.id.to_string(), "Bo Ek");
    let problem = office
        .post("/api/v1/enrolments", &other)
        .await
        .expect_problem(422, "invalid-input");
    assert_eq!(fields(&problem["errors"]), ["student.email"]);
    assert!(
        problem["errors"][0]["reason"]
            .as_str()
            .unwrap()
            .contains("Åsa Lund")
    );
    let preview = send_csv(&office, "preview", line("Acting", "Bo Ek"))
        .await
        .expect(200);
    assert_eq!(fields(&preview["problems"]), ["line 2, email"]);

    // Enrolled before, they stay so under any name; and the name kept here enrols them in another course.
    let again = send_csv(&office, "preview", line("Body mechanics", "Bo Ek"))
        .await
        .expect(200);
    assert_eq!(
        (&again["problems"], &again["rows"][0]["effect"]),
        (&json!([]), &json!("unchanged"))
    );
    let same = enrolling(&second.id.to_string(), " åsa  lund");
    office.post("/api/v1/enrolments", &same).await.expect(201);
}

/// RFC 4180: CRLF, quoted fields; with a byte order mark as spreadsheets write it.
#[actix_web::test]
async fn a_file_enrols_all_and_the_second_time_nobody() {
    let Yard {
        t,
        school,
        office,
        mara,
    } = yard().await;
    t.course(&school, "Body mechanics", 16);
    t.course(&school, "Acting, first part", 8);
    let csv = format!(
        "\u{feff}name,email,course,mentor_email,starts_on,submissions\r\n\
         \"Lund, Åsa\",asa@x.example,Body mechanics,{mara},2026-12-01,12\r\n\
         \"Lund, Åsa\",Asa@x.example,\"Acting, first part\",{mara},,\r\n\
         Bo,bo@x.example,Body mechanics,{mara},,\r\n",
        mara = mara.email
    );
    let preview = send_csv(&office, "preview", csv.clone()).await.expect(200);
    assert_eq!(preview["problems"], json!([]));
    let rows = preview["rows"].as_array().unwrap();
    assert!(
        rows.iter()
            .all(|row| row["effect"] == "enrol" && row["mentor"] == "Mara Vell"),
        "{preview}"
    );
    assert_eq!(
        (&rows[0]["line"], &rows[0]["submissions"], &rows[0]["name"]),
        (&json!(2), &json!(12), &json!("Lund, Åsa"))
    );
    assert_eq!(
        (&rows[1]["line"], &rows[1]["submissions"]),
        (&json!(3), &json!(8))
    );
    assert_eq!(
        office.get("/api/v1/enrolments").await.expect(200)["items"],
        json!([]),
        "a preview does nothing"
    );
    let result = send_csv(&office, "import", csv.clone()).await.expect(200);
    assert_eq!(result, json!({ "enrolled": 3, "unchanged": 0 }));
    mails_to(&t, "asa@x.example", 1).await;
    mails_to(&t, "bo@x.example", 1).await;
    let again = send_csv(&office, "import", csv.clone()).await.expect(200);
    assert_eq!(again, json!({ "enrolled": 0, "unchanged": 3 }));
    let preview = send_csv(&office, "preview", csv).await.expect(200);
    assert!(
        preview["rows"]
            .as_array()
            .unwrap()
            .iter()
            .all(|row| row["effect"] == "unchanged")
    );
    let roster = office.get("/api/v1/enrolments").await.expect(200);
    let left: Vec<_> = roster["items"]
        .as_array()
        .unwrap()
        .iter()
        .map(|e| e["quota"]["left"].as_i64().unwrap())
        .collect();
    assert_eq!(left.iter().sum::<i64>(), 12 + 8 + 16);
    tokio::time::sleep(std::time::Duration::from_millis(500)).await;
    assert_eq!(t.post().len(), 2, "one invitation a person");
}

#[actix_web::test]
async fn a_file_with_faults_enrols_nobody_and_names_every_fault() {
    let Yard {
        t,
        school,
        office,
        mara,
    } = yard().await;
    t.course(&school, "Body mechanics", 16);
    let csv = format!(
        "name,email,course,mentor_email,starts_on,submissions\n\
         Bo,bo@x.example,Body mechanics,{mara},,\n\
         ,not an address,Body mechanics,{mara},soon,many\n\
         Cy,cy@x.example,Nobody's course,{office},,\n\
         Bo,BO@x.example,Body mechanics,{mara},,\n\
         Mara,{mara},Body mechanics,{mara},,\n",
        mara = mara.email,
        office = office.email
    );
    let preview = send_csv(&office, "preview", csv.clone()).await.expect(200);
    let wanted = [
        "line 3, name",
        "line 3, email",
        "line 3, starts_on",
        "line 3, submissions",
        "line 5, email",
        "line 4, course",
        "line 4, mentor_email",
        "line 6, email",
    ];
    let (mut found, mut sorted) = (fields(&preview["problems"]), wanted);
    found.sort_unstable();
    sorted.sort_unstable();
    assert_eq!(found, sorted);
    let effects: Vec<_> = preview["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| row["effect"].as_str().unwrap())
        .collect();
    assert_eq!(
        effects,
        ["enrol", "problem", "problem", "problem", "problem"]
    );
    let refused = send_csv(&office, "import", csv)
        .await
        .expect_problem(422, "invalid-input");
    assert_eq!(refused["errors"].as_array().unwrap().len(), wanted.len());
    assert_eq!(
        office.get("/api/v1/enrolments").await.expect(200)["items"],
        json!([])
    );
    assert_eq!(
        office.get("/api/v1/persons?q=bo@").await.expect(200)["items"],
        json!([])
    );
    let huge = vec![b'x'; 2 << 20];
    send_csv(&office, "import", huge)
        .await
        .expect_problem(413, "too-large");
    send_csv(&mara, "import", "name")
        .await
        .expect_problem(403, "not-allowed");
}

/// As spreadsheets of many countries write it: semicolons, CRLF, a byte order mark, a comma within a name.
#[actix_web::test]
async fn a_file_with_semicolons_is_read() {
    let Yard {
        t,
        school,
        office,
        mara,
    } = yard().await;
    t.course(&school, "Body mechanics", 16);
    let csv = format!(
        "\u{feff}Name;Email;Course;Mentor_Email\r\nLund, Åsa;asa@x.example;Body mechanics;{mara}\r\n\r\n\"Bo; the younger\";bo@x.example;Body mechanics;{mara}",
        mara = mara.email
    );
    let preview = send_csv(&office, "preview", csv.clone()).await.expect(200);
    assert_eq!(preview["problems"], json!([]));
    let named: Vec<_> = preview["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| (row["line"].clone(), row["name"].clone()))
        .collect();
    assert_eq!(
        named,
        [
            (json!(2), json!("Lund, Åsa")),
            (json!(4), json!("Bo; the younger"))
        ]
    );
    let result = send_csv(&office, "import", csv).await.expect(200);
    assert_eq!(result["enrolled"], 2);
}

/// The line is named, so that somebody finds the letter that was saved otherwise.
#[actix_web::test]
async fn a_file_in_another_encoding_is_refused_by_line() {
    let Yard {
        t,
        school,
        office,
        mara,
    } = yard().await;
    t.course(&school, "Body mechanics", 16);
    let head = "name,email,course,mentor_email\r\n";
    let line = |name: &str| format!("{name},p@x.example,Body mechanics,{}\r\n", mara.email);
    // Windows-1252 writes Å as one byte; UTF-16 begins with FF FE.
    let western: Vec<u8> = [
        head.as_bytes(),
        line("Bo").as_bytes(),
        b"\xc5sa",
        line("").as_bytes(),
    ]
    .concat();
    let wide: Vec<u8> = std::iter::once(0xfeff)
        .chain(format!("{head}{}", line("Åsa")).encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    let with_nul = format!("{head}{}{}", line("Bo"), line("C\u{0}y")).into_bytes();
    for (bytes, at) in [(western, 3), (wide, 1), (with_nul, 3)] {
        let preview = send_csv(&office, "preview", bytes.clone())
            .await
            .expect(200);
        assert_eq!(fields(&preview["problems"]), [format!("line {at}, file")]);
        let refused = send_csv(&office, "import", bytes)
            .await
            .expect_problem(422, "invalid-input");
        assert!(
            refused["errors"][0]["remedy"]
                .as_str()
                .unwrap()
                .contains("UTF-8"),
            "{refused}"
        );
    }
    assert_eq!(
        office.get("/api/v1/enrolments").await.expect(200)["items"],
        json!([])
    );
}

/// A thousand lines are one file; more are refused with the limit, whatever is on them.
#[actix_web::test]
async fn a_file_has_so_many_lines() {
    let Yard {
        t,
        school,
        office,
        mara,
    } = yard().await;
    t.course(&school, "B", 16);
    let file = |n: usize| {
        let head = "name,email,course,mentor_email\n".to_owned();
        (0..n).fold(head, |file, k| {
            file + &format!("P {k},p{k}@x.example,B,{}\n", mara.email)
        })
    };
    let ten_thousand = file(10_000);
    assert!(ten_thousand.len() < 512 * 1024, "another limit");
    for verb in ["preview", "import"] {
        let answer = send_csv(&office, verb, ten_thousand.clone()).await;
        let said = answer.text();
        assert!(
            said.contains("has more than 1000 lines") && said.contains("Split it."),
            "{verb}: {answer}"
        );
        assert_eq!(answer.status, if verb == "preview" { 200 } else { 422 });
    }
    assert_eq!(count(&t, "enrolment"), 0);
    let result = send_csv(&office, "import", file(1_000)).await.expect(200);
    assert_eq!(result, json!({ "enrolled": 1_000, "unchanged": 0 }));
    assert_eq!(
        (count(&t, "enrolment"), count(&t, "access_link")),
        (1_000, 1_000)
    );
    let again = send_csv(&office, "import", file(1_000)).await.expect(200);
    assert_eq!(again, json!({ "enrolled": 0, "unchanged": 1_000 }));
    // One faulty line at the end keeps all of them out.
    let faulty = file(999).replace("@x.", "@y.") + "Last,no address,B,nobody\n";
    let refused = send_csv(&office, "import", faulty)
        .await
        .expect_problem(422, "invalid-input");
    assert_eq!(
        fields(&refused["errors"]),
        ["line 1001, email", "line 1001, mentor_email"]
    );
    assert_eq!(count(&t, "enrolment"), 1_000);
}

fn count(t: &TestApp, table: &str) -> i64 {
    cluster::aside(|| {
        cluster::connect(&t.database.owner_url)
            .query_one(&format!("SELECT count(*) FROM {table}"), &[])
            .unwrap()
            .get(0)
    })
}

#[actix_web::test]
async fn a_moved_student_takes_unreleased_drafts_along() {
    let Yard {
        t,
        school,
        office,
        mara,
    } = yard().await;
    let otto = t.person(&school, "Otto", &["mentor"]);
    let nia = t.person(&school, "Nia", &["student"]);
    let course = t.course(&school, "Body mechanics", 16);
    let enrolment = t.enrolment(&course, &nia, &mara, 16);
    let [draft, leaving, released] = critiques(&t, &enrolment.id.to_string());
    let path = format!("/api/v1/enrolments/{}", enrolment.id);
    mara.patch(&path, &json!({ "mentor_id": otto.id }))
        .await
        .expect_problem(403, "not-allowed");
    office
        .patch(&path, &json!({ "mentor_id": nia.id }))
        .await
        .expect_problem(422, "invalid-input");
    let moved = office
        .patch(&path, &json!({ "mentor_id": otto.id }))
        .await
        .expect(200);
    assert_eq!(moved["mentor"]["name"], "Otto");
    let rows = cluster::aside(|| {
        cluster::connect(&t.database.owner_url)
            .query("SELECT id::text, mentor_id::text FROM critique", &[])
            .unwrap()
            .iter()
            .map(|row| (row.get::<_, String>(0), row.get::<_, String>(1)))
            .collect::<std::collections::HashMap<_, _>>()
    });
    assert_eq!(rows[&draft], otto.id.to_string());
    assert_eq!(rows[&leaving], otto.id.to_string());
    assert_eq!(
        rows[&released],
        mara.id.to_string(),
        "who wrote what was told stays"
    );
    let job = cluster::aside(|| {
        let row = cluster::connect(&t.database.owner_url)
            .query_one(
                "SELECT person_id::text FROM job WHERE kind = 'announce-critique'",
                &[],
            )
            .unwrap();
        row.get::<_, String>(0)
    });
    assert_eq!(job, otto.id.to_string());
    assert_eq!(
        mara.get("/api/v1/enrolments").await.expect(200)["items"],
        json!([])
    );
    assert_eq!(
        otto.get("/api/v1/enrolments").await.expect(200)["items"][0]["shots"],
        1
    );
}

/// A shot with a draft, one about to leave and a released one, written past the policies and the send.
fn critiques(t: &TestApp, enrolment: &str) -> [String; 3] {
    let sql = format!(
        "SET session_replication_role = replica;
         INSERT INTO shot SELECT gen_random_uuid(), school_id, id, course_id, student_id, NULL, 'A jump', 1, now() FROM enrolment WHERE id = '{enrolment}';
         INSERT INTO revision SELECT gen_random_uuid(), school_id, id, n, NULL, gen_random_uuid(), 'spline', now() FROM shot, generate_series(1, 3) n;
         INSERT INTO submission SELECT gen_random_uuid(), s.school_id, s.enrolment_id, s.student_id, s.id, r.id, 'key-' || r.number || '-abcdef', '\\x00', '', now(), current_date
           FROM revision r JOIN shot s ON s.id = r.shot_id;
         INSERT INTO critique (id, school_id, enrolment_id, submission_id, revision_id, shot_id, student_id, mentor_id, created_at, released_at)
           SELECT gen_random_uuid(), b.school_id, b.enrolment_id, b.id, b.revision_id, b.shot_id, b.student_id, e.mentor_id, now(),
             CASE r.number WHEN 2 THEN now() + interval '1 hour' WHEN 3 THEN now() - interval '1 hour' END
           FROM submission b JOIN revision r ON r.id = b.revision_id JOIN enrolment e ON e.id = b.enrolment_id;
         INSERT INTO job (school_id, person_id, kind, key, payload, run_at, max_attempts)
           SELECT school_id, mentor_id, 'announce-critique', id::text, jsonb_build_object('kind', 'announce-critique', 'critique', id), released_at, 3
           FROM critique WHERE released_at > now();"
    );
    cluster::aside(|| {
        let mut owner = cluster::connect(&t.database.owner_url);
        owner
            .batch_execute(&sql)
            .unwrap_or_else(|e| panic!("{e:?}"));
        let rows = owner
            .query("SELECT c.id::text FROM critique c JOIN revision r ON r.id = c.revision_id ORDER BY r.number", &[])
            .unwrap();
        [0, 1, 2].map(|i| rows[i].get(0))
    })
}
