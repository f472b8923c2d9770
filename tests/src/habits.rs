//! Habits and the plan for the next pass, true of an invented history whose figures were computed elsewhere.

use postgres::Client as Sql;
use serde_json::{Value, json};
use tests::harness::cluster::{aside, connect};
use tests::harness::people::{Enrolment, Person, School};
use tests::harness::{TestApp, now};
use uuid::Uuid;

/// How many shots of each of ten students have the fault, and how many shots they have: the counts of the check values for the moments.
const WITH: [usize; 10] = [0, 1, 3, 0, 2, 5, 1, 0, 4, 1];
const SHOTS: [usize; 10] = [5, 6, 5, 4, 7, 6, 8, 5, 6, 9];
/// Critiques after the first until each concern was cleared (true) or as far as there are any, in the order of the students: the
/// example of the check values for the time to clear; those followed for no critique say nothing.
const TOOK: [(usize, bool); 17] = [
    (1, true),
    (1, true),
    (1, false),
    (2, true),
    (2, true),
    (2, false),
    (2, true),
    (3, true),
    (3, false),
    (4, true),
    (4, false),
    (5, false),
    (0, false),
    (0, false),
    (0, false),
    (0, false),
    (0, false),
];

struct Yard {
    t: TestApp,
    school: School,
    mara: Person,
    students: Vec<(Person, Enrolment)>,
}

/// What stands in a shot: the kind of its one note, and for how many critiques more it is followed.
#[derive(Clone, Copy)]
struct Note {
    kind: &'static str,
    principle: &'static str,
    took: usize,
    cleared: bool,
    released: bool,
}

const NOTHING: Note = Note {
    kind: "keep",
    principle: "spacing",
    took: 0,
    cleared: false,
    released: true,
};

impl Yard {
    fn new(t: TestApp, slug: &str, students: usize) -> Self {
        let school = t.school(slug);
        let mara = t.person(&school, "Mara", &["mentor"]);
        let course = t.course(&school, "Body mechanics", 16);
        let students = (0..students)
            .map(|at| {
                let student = t.person(&school, &format!("Student {at}"), &["student"]);
                let enrolment = t.enrolment(&course, &student, &mara, 16);
                (student, enrolment)
            })
            .collect();
        Self {
            t,
            school,
            mara,
            students,
        }
    }

    /// Ten students with the history above.
    fn with_history(self) -> Self {
        let mut took = TOOK.iter();
        self.write(|yard, sql| {
            for (at, (with, shots)) in WITH.into_iter().zip(SHOTS).enumerate() {
                for shot in 0..shots {
                    let note = match (shot < with).then(|| took.next()).flatten() {
                        Some(&(took, cleared)) => Note {
                            kind: "fix",
                            took,
                            cleared,
                            ..NOTHING
                        },
                        None => NOTHING,
                    };
                    yard.shot(sql, at, note);
                }
            }
        });
        self
    }

    /// Past the policies and the triggers: sending and releasing are not what this is about.
    fn write(&self, work: impl FnOnce(&Self, &mut Sql) + Send) {
        aside(|| {
            let mut sql = connect(&self.t.database.owner_url);
            sql.batch_execute("SET session_replication_role = replica")
                .expect("no triggers");
            work(self, &mut sql);
        });
    }

    fn shot(&self, sql: &mut Sql, student: usize, note: Note) -> Uuid {
        let (student, enrolment) = &self.students[student];
        let (shot, concern) = (Uuid::now_v7(), Uuid::now_v7());
        let school = self.school.id;
        sql.execute(
            "INSERT INTO shot (id, school_id, enrolment_id, course_id, student_id, title, created_at) VALUES ($1, $2, $3, $4, $5, 'Shot', now())",
            &[&shot, &school, &enrolment.id, &enrolment.course_id, &student.id],
        )
        .expect("a shot");
        for round in 0..=note.took {
            let (revision, submission, critique) = (Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7());
            let number = i32::try_from(round + 1).expect("a number");
            sql.execute(
                "INSERT INTO revision (id, school_id, shot_id, number, footage_id, stage, created_at) VALUES ($1, $2, $3, $4, $5, 'spline', now())",
                &[&revision, &school, &shot, &number, &Uuid::now_v7()],
            )
            .expect("a revision");
            sql.execute(
                "INSERT INTO submission (id, school_id, enrolment_id, student_id, shot_id, revision_id, idem_key, request_hash, words, sent_at, promised_on)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, '', '', now(), current_date)",
                &[&submission, &school, &enrolment.id, &student.id, &shot, &revision, &submission.to_string()],
            )
            .expect("a submission");
            sql.execute(
                "INSERT INTO critique (id, school_id, enrolment_id, submission_id, revision_id, shot_id, student_id, mentor_id, created_at, released_at)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, now(), CASE WHEN $9 THEN now() - interval '1 hour' END)",
                &[&critique, &school, &enrolment.id, &submission, &revision, &shot, &student.id, &self.mara.id, &note.released],
            )
            .expect("a critique");
            if round == 0 {
                sql.execute(
                    "INSERT INTO concern (id, school_id, shot_id, student_id, critique_id, created_at) VALUES ($1, $2, $3, $4, $5, now())",
                    &[&concern, &school, &shot, &student.id, &critique],
                )
                .expect("a concern");
                sql.execute(
                    "INSERT INTO note (id, school_id, critique_id, concern_id, revision_id, shot_id, student_id, kind, urgency, principles, parts,
                       span_start, span_end, words, created_at, updated_at)
                     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, 'must', ARRAY[$9], '[{\"part\": \"wrist\", \"side\": \"left\"}]', 3, 9, 'secret words', now(), now())",
                    &[&Uuid::now_v7(), &school, &critique, &concern, &revision, &shot, &student.id, &note.kind, &note.principle],
                )
                .expect("a note");
            } else if round == note.took && note.cleared {
                sql.execute(
                    "INSERT INTO verdict (critique_id, concern_id, school_id, shot_id, judged, updated_at) VALUES ($1, $2, $3, $4, 'cleared', now())",
                    &[&critique, &concern, &school, &shot],
                )
                .expect("a verdict");
            }
        }
        shot
    }

    async fn habits(&self, student: usize) -> Value {
        let (student, _) = &self.students[student];
        student.get("/api/v1/refrain/habits").await.expect(200)
    }
}

fn near(value: &Value, expected: f64) {
    let value = value.as_f64().expect("a number");
    assert!((value - expected).abs() < 1e-5, "{value} is not {expected}");
}

#[actix_web::test]
async fn habits_are_true_of_the_history() {
    let y = Yard::new(TestApp::start().await, "yard", 10).with_history();
    let found = y.habits(5).await;
    assert_eq!(
        (&found["shots"], &found["school_known"]),
        (&json!(6), &json!(true))
    );
    let habits = found["habits"].as_array().expect("habits");
    assert_eq!(habits.len(), 1, "{found}");
    let habit = &habits[0];
    assert_eq!(
        (&habit["principle"], &habit["area"]),
        (&json!("spacing"), &json!("arm"))
    );
    assert_eq!((&habit["with_it"], &habit["shots"]), (&json!(5), &json!(6)));
    // By hand: p = 17/61, rho = .334204, so M = 1/rho - 1 = 1.992 is held at 2 and the prior is Beta(.557377, 1.442623).
    // scipy.stats.beta(5.557377, 2.442623): mean, ppf(.05), ppf(.95), sf(p).
    near(&habit["school"], 17.0 / 61.0);
    near(&habit["rate"], RATE[0]);
    near(&habit["low"], RATE[1]);
    near(&habit["high"], RATE[2]);
    near(&habit["above_school"], RATE[3]);
    assert_eq!(habit["caution"], Value::Null);
    assert_eq!(habit["in_shots"].as_array().map(Vec::len), Some(5));
    // By hand: 2+ 3+ 3 4+ 4 of five give S .8 .6 .3, so the middle is 4. The school: lifelines' KaplanMeierFitter on the example gives 3.
    assert_eq!(habit["clearing"]["middle"], 4.0);
    assert_eq!(habit["clearing"]["concerns"], 5);
    assert_eq!(habit["clearing"]["cleared_count"], 3);
    assert_eq!(habit["clearing"]["caution"], Value::Null);
    assert_eq!(habit["school_clearing"]["middle"], 3.0);
    assert_eq!(habit["school_clearing"]["concerns"], 17);
    // Who has none of it has no habit, whatever the school has.
    assert_eq!(y.habits(0).await["habits"], json!([]));
    // The mentor reads the same of their student.
    let path = format!("/api/v1/refrain/habits?student={}", y.students[5].0.id);
    assert_eq!(y.mara.get(&path).await.expect(200), found);
}

/// Of scipy.stats.beta, as above.
const RATE: [f64; 4] = [0.694672, 0.415054, 0.916188, 0.993085];

#[actix_web::test]
async fn few_students_and_few_shots_are_said() {
    let y = Yard::new(TestApp::start().await, "yard", 4);
    y.write(|y, sql| {
        y.shot(
            sql,
            0,
            Note {
                kind: "fix",
                ..NOTHING
            },
        );
    });
    let found = y.habits(0).await;
    assert_eq!(found["school_known"], false);
    let habit = &found["habits"][0];
    // scipy.stats.beta(2, 4): the assumed prior is Beta(1, 4).
    near(&habit["school"], 0.2);
    near(&habit["rate"], 1.0 / 3.0);
    near(&habit["low"], 0.076441);
    near(&habit["high"], 0.657408);
    assert!(
        habit["caution"]
            .as_str()
            .is_some_and(|c| c.contains("few shots"))
    );
    let clearing = &habit["clearing"];
    assert!(
        clearing["caution"]
            .as_str()
            .is_some_and(|c| c.contains("few concerns"))
    );
    assert_eq!(
        (&clearing["middle"], &habit["school_clearing"]),
        (&Value::Null, &Value::Null)
    );
    // What recurs is not held against a school that is not known.
    let mut shot = Uuid::nil();
    y.write(|y, sql| {
        shot = y.shot(
            sql,
            0,
            Note {
                kind: "fix",
                ..NOTHING
            },
        );
    });
    let path = format!("/api/v1/shots/{shot}/plan");
    let plan = y.students[0].0.get(&path).await.expect(200);
    assert_eq!(
        plan["steps"][0]["reasons"],
        json!(["the mentor says it must be done"])
    );
    let nothing = y.habits(1).await;
    assert_eq!(
        (&nothing["shots"], &nothing["habits"]),
        (&json!(0), &json!([]))
    );
}

#[actix_web::test]
async fn what_is_not_released_and_what_is_anothers_does_not_count() {
    let y = Yard::new(TestApp::start().await, "yard", 10).with_history();
    let before = y.habits(5).await;
    let fix = Note {
        kind: "fix",
        ..NOTHING
    };
    y.write(|y, sql| {
        y.shot(
            sql,
            5,
            Note {
                released: false,
                ..fix
            },
        );
        y.shot(
            sql,
            5,
            Note {
                released: false,
                principle: "arcs",
                ..fix
            },
        );
    });
    assert_eq!(y.habits(5).await, before);
    // Nor for the mentor who wrote the draft.
    let path = format!("/api/v1/refrain/habits?student={}", y.students[5].0.id);
    assert_eq!(y.mara.get(&path).await.expect(200), before);
    // Another student's fault shows nowhere; it moves the school's middle once that is read again.
    y.write(|y, sql| {
        y.shot(
            sql,
            0,
            Note {
                principle: "arcs",
                ..fix
            },
        );
    });
    let after = y.habits(5).await;
    assert_eq!(after["habits"].as_array().map(Vec::len), Some(1));
    assert!(!after.to_string().contains("arcs"), "{after}");
    // A student asks about another, another mentor about somebody else's student: nothing.
    let (other, _) = &y.students[4];
    let otto = y.t.person(&y.school, "Otto", &["mentor"]);
    for who in [&**other, &*otto] {
        let told = who.get(&path).await.expect(200);
        assert_eq!((&told["shots"], &told["habits"]), (&json!(0), &json!([])));
    }
    // Another school has no part in it.
    let far = Yard::new(TestApp::start().await, "far", 1);
    assert_eq!(far.habits(0).await["school_known"], false);
}

#[actix_web::test]
async fn the_schools_numbers_are_read_again_after_ten_minutes() {
    let (t, hand) = TestApp::start_at(now(), |_| {}).await;
    let y = Yard::new(t, "yard", 10).with_history();
    let school = |found: &Value| found["habits"][0]["school_clearing"]["concerns"].clone();
    assert_eq!(school(&y.habits(5).await), 17);
    y.write(|y, sql| {
        y.shot(
            sql,
            0,
            Note {
                kind: "fix",
                ..NOTHING
            },
        );
    });
    assert_eq!(school(&y.habits(5).await), 17);
    hand.set(now() + chrono::TimeDelta::minutes(11));
    assert_eq!(school(&y.habits(5).await), 18);
}

#[actix_web::test]
async fn the_doors_give_numbers_alone_and_to_those_who_may_read() {
    let y = Yard::new(TestApp::start().await, "yard", 10).with_history();
    let areas = json!({ "wrist": "arm" });
    let ask = |who: Option<(&Person, &str)>, door: &str| -> Vec<String> {
        aside(|| {
            let mut program = connect(&y.t.database.app_url);
            let mut transaction = program.transaction().expect("a transaction");
            if let Some((who, roles)) = who {
                transaction
                    .execute(
                        "SELECT set_config('app.school', $1, true), set_config('app.person', $2, true), set_config('app.roles', $3, true)",
                        &[&who.school.id.to_string(), &who.id.to_string(), &roles],
                    )
                    .expect("a scope");
            }
            let rows = transaction
                .query(
                    &format!("SELECT to_jsonb(d)::text FROM {door}($1) d ORDER BY 1"),
                    &[&areas],
                )
                .expect("rows");
            rows.iter().map(|row| row.get(0)).collect()
        })
    };
    let (student, _) = &y.students[5];
    for door in ["school_habits", "school_clearing"] {
        let told = ask(Some((student, "student")), door);
        assert!(!told.is_empty(), "{door}");
        assert_eq!(ask(Some((&y.mara, "mentor")), door), told);
        assert_eq!(
            ask(Some((&y.mara, "office")), door),
            [""; 0],
            "{door} tells the office"
        );
        assert_eq!(ask(None, door), [""; 0], "{door} answers nobody");
        let mut fields: Vec<String> = vec![];
        for row in &told {
            let row: Value = serde_json::from_str(row).expect("JSON");
            for (name, value) in row.as_object().expect("a row") {
                let plain = value.is_number() || value.is_boolean() || value.is_null();
                let word = matches!(value.as_str(), Some("spacing" | "arm"));
                assert!(plain || word, "{door}: {name} is {value}");
                fields.push(name.clone());
            }
        }
        fields.sort();
        fields.dedup();
        let expected: &[&str] = match door {
            "school_habits" => &["area", "principle", "shots", "students", "with_it"],
            _ => &["area", "cleared", "concerns", "principle", "revisions"],
        };
        assert_eq!(fields, expected);
    }
    // With four students a number would be a person.
    let few = Yard::new(TestApp::start().await, "few", 4);
    few.write(|y, sql| {
        for at in 0..4 {
            y.shot(
                sql,
                at,
                Note {
                    kind: "fix",
                    ..NOTHING
                },
            );
        }
    });
    assert_eq!(few.habits(0).await["school_known"], false);
}

#[actix_web::test]
async fn the_plan_takes_up_what_weighs_most_with_reasons() {
    let y = Yard::new(TestApp::start().await, "yard", 10).with_history();
    let mut shots = [Uuid::nil(); 3];
    y.write(|y, sql| {
        // Open for five revisions, a habit of this student; cleared; praise.
        let fix = Note {
            kind: "fix",
            ..NOTHING
        };
        shots[0] = y.shot(sql, 5, Note { took: 5, ..fix });
        shots[1] = y.shot(
            sql,
            5,
            Note {
                took: 1,
                cleared: true,
                ..fix
            },
        );
        shots[2] = y.shot(sql, 5, NOTHING);
    });
    let (student, _) = &y.students[5];
    let plan = student
        .get(&format!("/api/v1/shots/{}/plan", shots[0]))
        .await
        .expect(200);
    assert_eq!(plan["open"], 1);
    assert_eq!(plan["steps"][0]["concern"]["title"], "secret words");
    let reasons = plan["steps"][0]["reasons"].to_string();
    for says in [
        "must be done",
        "not mentioned last time",
        "open for 5 revisions",
        "recurs over shots",
    ] {
        assert!(reasons.contains(says), "{says}: {reasons}");
    }
    for shot in &shots[1..] {
        let plan = student
            .get(&format!("/api/v1/shots/{shot}/plan"))
            .await
            .expect(200);
        assert_eq!((&plan["open"], &plan["steps"]), (&json!(0), &json!([])));
    }
    let (other, _) = &y.students[4];
    other
        .get(&format!("/api/v1/shots/{}/plan", shots[0]))
        .await
        .expect(404);
}
