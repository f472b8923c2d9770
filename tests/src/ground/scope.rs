//! A scope ends with its transaction, also with one that nobody waits for any more.

use std::time::{Duration, Instant};

use domain::{Actor, Role};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use store::{StoreError, courses};
use tests::harness::people::Person;
use tests::harness::{TestApp, wait_for};
use tokio::time::timeout;

/// Two schools with an office and a course each, whose name is the school's slug.
struct Two {
    t: TestApp,
    offices: [Person; 2],
}

impl Two {
    async fn with_pool(size: usize) -> Self {
        let t = TestApp::start_with(|config| {
            config.jobs.workers = 0;
            config.database.pool = size;
        })
        .await;
        let offices = ["yard", "barn"].map(|slug| {
            let school = t.school(slug);
            t.course(&school, slug, 16);
            t.person(&school, "Orla", &["office"])
        });
        Self { t, offices }
    }
}

fn actor(person: &Person) -> Actor {
    Actor {
        school: person.school.id.into(),
        person: person.id.into(),
        roles: [Role::Office].into_iter().collect(),
    }
}

/// A pool of one connection, so that the next user gets what the cancelled one leaves, at whatever statement that was.
#[actix_web::test]
async fn a_cancelled_transaction_never_hands_its_scope_on() {
    let two = Two::with_pool(1).await;
    let db = two.t.db(1);
    let mut random = StdRng::seed_from_u64(1);
    let (mut cut, mut through) = (0, 0);
    // About how long one reading takes here and now.
    let mut takes = Duration::from_millis(20);
    for round in 0..300 {
        let [one, other] = [0, 1].map(|k| &two.offices[(round + k) % 2]);
        let one = actor(one);
        let reading = db.scoped::<_, StoreError, _>(&one, async |conn| {
            courses::list(conn, None, 9).await?;
            courses::list(conn, None, 9).await
        });
        let begun = Instant::now();
        match timeout(takes.mul_f64(random.random_range(0.0..2.0)), reading).await {
            Err(_) => cut += 1,
            Ok(read) => through += read.unwrap().len(),
        }
        takes = (takes * 7 + begun.elapsed() * 2) / 8;
        let unscoped = db
            .door::<_, StoreError, _>(async |conn| courses::list(conn, None, 9).await)
            .await
            .unwrap();
        assert_eq!(
            unscoped.len(),
            0,
            "round {round}: a scope outlived its transaction"
        );
        let seen = db
            .scoped::<_, StoreError, _>(&actor(other), async |conn| {
                courses::list(conn, None, 9).await
            })
            .await
            .unwrap();
        let names: Vec<_> = seen.iter().map(|course| &course.words.name).collect();
        assert_eq!(names, [&other.school.slug], "round {round}");
    }
    assert!(cut > 20 && through > 20, "{cut} cut, {through} through");
}

/// Requests whose clients go away while their transaction waits for a lock; whoever gets their connections next sees what is theirs.
#[actix_web::test]
async fn a_cancelled_request_never_hands_its_scope_on() {
    let two = Two::with_pool(2).await;
    let [one, other] = &two.offices;
    let owner = superuser(&two.t).await;
    let count = async |state: &str| -> i64 {
        let sql = format!(
            "SELECT count(*) FROM pg_stat_activity WHERE usename = 'refrain_app' AND datname = current_database() AND {state}"
        );
        owner.query_one(&sql, &[]).await.unwrap().get(0)
    };
    for round in 0..3 {
        let lock = superuser(&two.t).await;
        let statement = "BEGIN; LOCK TABLE course IN ACCESS EXCLUSIVE MODE";
        lock.batch_execute(statement).await.unwrap();
        for _ in 0..4 {
            let asked = timeout(Duration::from_millis(500), one.get("/api/v1/courses")).await;
            assert!(asked.is_err(), "the lock does not hold");
        }
        assert!(
            count("wait_event_type = 'Lock'").await > 0,
            "nobody was cut off inside a transaction"
        );
        lock.batch_execute("ROLLBACK").await.unwrap();
        for who in [other, one, other, one] {
            let seen = who.get("/api/v1/courses").await.expect(200);
            let names: Vec<_> = seen["items"]
                .as_array()
                .unwrap()
                .iter()
                .map(|course| course["name"].clone())
                .collect();
            assert_eq!(names, [who.school.slug.as_str()], "round {round}");
        }
    }
    wait_for("nobody to be left inside a transaction", async || {
        (count("state <> 'idle'").await == 0).then_some(())
    })
    .await;
}

/// A session past the policies.
async fn superuser(t: &TestApp) -> tokio_postgres::Client {
    let connected = tokio_postgres::connect(&t.database.owner_url, tokio_postgres::NoTls).await;
    let (client, connection) = connected.unwrap();
    actix_web::rt::spawn(async { connection.await.ok() });
    client
}
