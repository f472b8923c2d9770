//! What the database itself keeps to whom it belongs, whatever the program asks.

use postgres::{Client, Transaction};
use tests::harness::cluster::{aside, cluster, connect};
use uuid::Uuid;

use crate::access::world::World;

/// The doors across people. Who adds one says here that it is meant to be one.
const DOORS: [&str; 19] = [
    "claim_job",
    "count_documents",
    "count_waiting",
    "end_old_sessions",
    "feed_about",
    "feed_head",
    "feed_row",
    "find_account",
    "find_link",
    "find_school",
    "find_session",
    "move_enrolment",
    "move_remaining",
    "read_feed",
    "refuse_after_release",
    "school_clearing",
    "school_habits",
    "submission_is_whole",
    "work_state",
];

/// What policies ask about a row's critique, shot or footage: yes or no, about who asks.
const QUESTIONS: [&str; 6] = [
    "now_teaches",
    "own_shot",
    "sees_critique",
    "sees_sent_footage",
    "told_of_revision",
    "wrote_critique",
];

fn names(sql: &mut Client, query: &str) -> Vec<String> {
    let rows = sql.query(query, &[]).expect("rows");
    rows.iter().map(|row| row.get(0)).collect()
}

fn tables(owner: &mut Client) -> Vec<String> {
    names(
        owner,
        "SELECT relname::text FROM pg_class WHERE relkind IN ('r', 'p', 'v') AND relnamespace = 'public'::regnamespace
         AND relname <> '__diesel_schema_migrations' ORDER BY 1",
    )
}

/// As the program does it for a request of that person.
fn scope(transaction: &mut Transaction<'_>, school: Uuid, person: Uuid, roles: &str) {
    transaction
        .execute(
            "SELECT set_config('app.school', $1, true), set_config('app.person', $2, true), set_config('app.roles', $3, true)",
            &[&school.to_string(), &person.to_string(), &roles],
        )
        .expect("a scope");
}

fn count(transaction: &mut Transaction<'_>, what: &str, id: Uuid) -> i64 {
    let query = format!("SELECT count(*) FROM {what} = $1");
    let row = transaction.query_one(&query, &[&id]);
    row.unwrap_or_else(|e| panic!("{query}: {e}")).get(0)
}

#[test]
fn the_doors_across_people_are_these_and_no_others() {
    let database = cluster().database();
    let of_type = |which: &str| {
        let query = format!(
            "SELECT proname::text COLLATE \"C\" FROM pg_proc WHERE prosecdef AND pronamespace = 'public'::regnamespace AND {which} ORDER BY 1"
        );
        aside(|| names(&mut connect(&database.owner_url), &query))
    };
    let question = "prorettype = 'boolean'::regtype AND provolatile = 's'";
    assert_eq!(of_type(question), QUESTIONS);
    assert_eq!(of_type(&format!("NOT ({question})")), DOORS);
}

#[tokio::test]
async fn without_a_scope_every_table_is_empty() {
    let world = World::build().await;
    aside(|| {
        let mut owner = connect(&world.app.database.owner_url);
        let mut program = connect(&world.app.database.app_url);
        let mut filled = 0;
        for table in tables(&mut owner) {
            let query = format!("SELECT count(*) FROM {table}");
            let all: i64 = owner.query_one(&query, &[]).expect("a count").get(0);
            filled += usize::from(all > 0);
            // Some tables are not even granted.
            if let Ok(row) = program.query_one(&query, &[]) {
                assert_eq!(row.get::<_, i64>(0), 0, "{table}");
            }
        }
        assert!(filled >= 14, "only {filled} tables have rows to hide");
    });
}

#[tokio::test]
async fn drafts_and_footage_show_to_whom_they_belong_alone() {
    let w = World::build().await;
    let (school, far) = (w.student.school.id, w.far_mentor.school.id);
    // Who asks, and whether they see: a note of a draft, a released note, sent footage, unsent footage.
    let askers = [
        (school, w.student.id, "student", [0, 1, 1, 1]),
        (school, w.other_student.id, "student", [0, 0, 0, 0]),
        (school, w.mentor.id, "mentor", [1, 1, 1, 0]),
        (school, w.other_mentor.id, "mentor", [0, 0, 0, 0]),
        (school, Uuid::now_v7(), "office", [0, 0, 0, 0]),
        (far, w.far_mentor.id, "mentor,office,student", [0, 0, 0, 0]),
        // The right person under the wrong school.
        (far, w.mentor.id, "mentor", [0, 0, 0, 0]),
    ];
    aside(|| {
        let mut program = connect(&w.app.database.app_url);
        for (school, person, roles, expected) in askers {
            let mut transaction = program.transaction().expect("a transaction");
            scope(&mut transaction, school, person, roles);
            let seen = [
                count(&mut transaction, "note WHERE id", w.drafted.note),
                count(&mut transaction, "note WHERE id", w.released.note),
                count(&mut transaction, "footage WHERE id", w.released.footage),
                count(&mut transaction, "footage WHERE id", w.unsent),
            ];
            assert_eq!(seen, expected, "{roles} {person} of {school}");
            let parts = [
                ("critique WHERE id", w.drafted.critique),
                ("concern WHERE id", w.drafted.concern),
                ("stroke WHERE id", w.drafted.stroke),
                ("trace WHERE id", w.drafted.trace),
            ];
            for (part, id) in parts {
                assert_eq!(
                    count(&mut transaction, part, id),
                    expected[0],
                    "{part} as {roles}"
                );
            }
        }
    });
}

#[tokio::test]
async fn nothing_rewrites_the_ledger() {
    let world = World::build().await;
    aside(|| {
        // Even for a superuser.
        let mut owner = connect(&world.app.database.owner_url);
        for change in [
            "UPDATE quota_entry SET amount = 9",
            "DELETE FROM quota_entry",
            "TRUNCATE quota_entry",
        ] {
            let refused = owner.batch_execute(change).expect_err(change);
            let why = refused.as_db_error().expect("an answer").message();
            assert!(why.contains("append-only"), "{change}: {why}");
        }
        let off: i64 = owner
            .query_one(
                "SELECT count(*) FROM enrolment e WHERE remaining <> (SELECT sum(amount) FROM quota_entry q WHERE q.enrolment_id = e.id)",
                &[],
            )
            .expect("a count")
            .get(0);
        assert_eq!(off, 0, "a balance is not the sum of its entries");
    });
}
