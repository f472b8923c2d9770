//! How many submissions a second `POST /api/v1/submissions` takes from eight students at once, against pgbench running the same SQL over
//! as many connections on the same Postgres, in the same run.
//!
//! `cargo run -p tests --example send_speed [sends per student]` prints `name<TAB>value<TAB>unit`. The SQL is not written down here: it is
//! what the log of Postgres says that one request ran, with the values that differ from send to send made to differ.

mod log;
mod recorded;
mod yards;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use futures_util::future::join_all;
use reqwest::Method;
use serde_json::json;
use tests::harness::TestApp;
use tests::harness::client::Client;
use tests::harness::cluster::{aside, connect};

use recorded::Recorded;
use yards::{Student, Yard};

/// Students who send at once, and connections on either side.
const AT_ONCE: usize = 8;
const SENDS: usize = 150;
/// The sides take turns, so that what else the machine does weighs on both.
const TURNS: usize = 3;

fn main() {
    let sends = std::env::args()
        .nth(1)
        .map_or(SENDS, |text| text.parse().expect("a number"));
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let app = runtime.block_on(TestApp::start_with(|config| {
        config.jobs.workers = 0;
        config.database.pool = AT_ONCE;
        config.server.threads = 2;
    }));
    let yard = Yard::new(&app);
    let recorded = record(&runtime, &app, &yard);
    let (mut ours, mut theirs, mut waits) = (vec![], vec![], vec![]);
    for turn in 0..TURNS {
        let students = yard.students(&format!("http{turn}"), AT_ONCE, sends);
        let begun = Instant::now();
        let times = runtime.block_on(join_all(
            students.iter().map(|student| send_all(&app, student)),
        ));
        ours.push(rate(AT_ONCE * sends, begun.elapsed()));
        waits.extend(times.into_iter().flatten());

        let group = format!("bench{turn}");
        yard.students(&group, AT_ONCE, sends);
        let script = app.var.join(format!("{group}.sql"));
        std::fs::write(&script, recorded.script(&group)).expect("a script");
        let begun = Instant::now();
        pgbench(&app, &script, sends);
        theirs.push(rate(AT_ONCE * sends, begun.elapsed()));
    }
    let expected = 1 + 2 * TURNS * AT_ONCE * sends;
    for table in ["submission", "revision"] {
        let sql = format!("SELECT count(*) FROM {table}");
        let written: i64 = aside(|| {
            connect(&app.database.owner_url)
                .query_one(&sql, &[])
                .expect("a count")
                .get(0)
        });
        assert_eq!(
            written, expected as i64,
            "{table}: one side did not do what the other did"
        );
    }
    print(&recorded, &ours, &theirs, waits);
}

fn rate(n: usize, time: Duration) -> f64 {
    n as f64 / time.as_secs_f64()
}

/// One send, and what Postgres ran for it.
fn record(runtime: &tokio::runtime::Runtime, app: &TestApp, yard: &Yard) -> Recorded {
    let student = &yard.students("recorded", 1, 1)[0];
    let log = log_of(app);
    let (begins, set) = (
        std::fs::metadata(&log).map_or(0, |about| about.len()),
        |value: &str| {
            aside(|| {
                let mut owner = connect(&app.database.owner_url);
                owner
                    .batch_execute(&format!("ALTER SYSTEM SET log_statement = '{value}'"))
                    .expect("a setting");
                owner
                    .batch_execute("SELECT pg_reload_conf()")
                    .expect("a reload");
            });
            // The servers' processes take a new setting between two statements, a moment later.
            std::thread::sleep(Duration::from_millis(500));
        },
    );
    set("all");
    runtime.block_on(send_all(app, student));
    set("none");
    let bytes = std::fs::read(&log).expect("the log of Postgres");
    let text =
        String::from_utf8_lossy(&bytes[usize::try_from(begins).expect("a length")..]).into_owned();
    aside(|| {
        Recorded::read(
            &text,
            student,
            &yard.shared(),
            &mut connect(&app.database.owner_url),
        )
    })
}

fn log_of(app: &TestApp) -> PathBuf {
    app.var
        .parent()
        .expect("the run's folder")
        .join("pg/postgres.log")
}

/// Sends everything the student has, one after the other; gives how long each took.
async fn send_all(app: &TestApp, student: &Student) -> Vec<Duration> {
    let client: Client = app
        .anonymous()
        .with_cookie(format!("refrain={}", student.token));
    let mut times = vec![];
    for (footage, key) in student.footage.iter().zip(&student.keys) {
        let body = json!({ "shot_id": student.shot, "footage_id": footage, "stage": "blocking", "words": "Is the landing heavy enough?" });
        let request = client
            .request(Method::POST, "/api/v1/submissions")
            .header("idempotency-key", key)
            .json(&body);
        let begun = Instant::now();
        request.send().await.expect(201);
        times.push(begun.elapsed());
    }
    times
}

fn pgbench(app: &TestApp, script: &Path, sends: usize) {
    let clients = AT_ONCE.to_string();
    let output = Command::new("pgbench")
        .args([
            "-n",
            "-M",
            "prepared",
            "-j",
            "2",
            "-c",
            &clients,
            "-t",
            &sends.to_string(),
        ])
        .args(["-D", "i=0", "-f"])
        .arg(script)
        .arg(&app.database.app_url)
        .output()
        .expect("pgbench runs; it comes with Postgres");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        output.status.success() && !said.contains("aborted"),
        "{said}"
    );
}

fn print(recorded: &Recorded, ours: &[f64], theirs: &[f64], mut waits: Vec<Duration>) {
    waits.sort();
    let at = |share: usize| waits[waits.len() * share / 100].as_secs_f64() * 1e3;
    let best = |rates: &[f64]| rates.iter().copied().fold(0.0, f64::max);
    let (ours, theirs) = (best(ours), best(theirs));
    let mut out = std::io::stdout();
    let mut line = |name: &str, value: f64, unit: &str| {
        writeln!(out, "{name}\t{value:.2}\t{unit}").expect("somebody reads");
    };
    line(
        "send_statements",
        recorded.statements() as f64,
        "statements a send",
    );
    line("send_http", ours, "sends a second");
    line("send_pgbench", theirs, "sends a second");
    line("send_http_to_pgbench", ours / theirs, "ratio");
    line("send_http_p50", at(50), "ms");
    line("send_http_p99", at(99), "ms");
}
