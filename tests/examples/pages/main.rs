//! How long the reading routes take with a hundred times the demo school in the database.
//!
//! `cargo run -p tests --example pages [rounds]` prints `name<TAB>value<TAB>unit`. The references, in the same run and between the
//! same rounds: `/healthz`, a route that reads nothing, and `SELECT 1`, a query that reads nothing.

mod school;

use std::io::Write;
use std::time::{Duration, Instant};

use tests::harness::TestApp;
use tests::harness::client::Client;
use tests::harness::cluster::{aside, connect};

use school::School;

const ROUNDS: usize = 60;
/// What a page may take.
const LIMIT_MS: f64 = 100.0;

/// A route as somebody asks it, for another thing each round.
struct Route {
    name: &'static str,
    client: Client,
    paths: Vec<String>,
    times: Vec<Duration>,
}

fn main() {
    let rounds = std::env::args()
        .nth(1)
        .map_or(ROUNDS, |text| text.parse().expect("a number"));
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let app = runtime.block_on(TestApp::start_with(|config| config.jobs.workers = 0));
    let school = aside(|| School::fill(&app.database.owner_url));
    let mut routes = routes(&app, &school);
    runtime.block_on(indexed(&routes, school.found));
    let mut selects = vec![];
    let mut sql = aside(|| connect(&app.database.app_url));
    for round in 0..rounds {
        for route in &mut routes {
            let path = &route.paths[round % route.paths.len()];
            let begun = Instant::now();
            let answer = runtime.block_on(route.client.get(path));
            route.times.push(begun.elapsed());
            assert_eq!(answer.status, 200, "{answer}");
        }
        let begun = Instant::now();
        aside(|| sql.simple_query("SELECT 1").map(drop)).expect("an answer");
        selects.push(begun.elapsed());
    }
    aside(|| drop(sql));
    print(&school, &mut routes, &mut selects);
}

/// Waits until the archive has read all of it.
async fn indexed(routes: &[Route], wanted: u64) {
    let archive = routes
        .iter()
        .find(|route| route.name == "mentor_archive_newest");
    let archive = archive.expect("a search");
    let begun = Instant::now();
    loop {
        let answer = archive.client.get(&archive.paths[0]).await;
        if answer.status == 200 && answer.json()["total"] == wanted {
            return;
        }
        assert!(
            begun.elapsed() < Duration::from_secs(300),
            "the archive does not come to hold {wanted} documents: {answer}"
        );
        tokio::time::sleep(Duration::from_millis(200)).await;
    }
}

fn print(school: &School, routes: &mut [Route], selects: &mut [Duration]) {
    let mut out = std::io::stdout();
    let mut say = |name: &str, value: f64, unit: &str| {
        writeln!(out, "{name}\t{value:.3}\t{unit}").expect("written");
    };
    for (table, rows) in &school.rows {
        say(&format!("rows_{table}"), *rows as f64, "rows");
    }
    say("select_1_p50", quantile(selects, 0.5), "ms");
    say("select_1_p99", quantile(selects, 0.99), "ms");
    let nothing = quantile(&mut routes[0].times, 0.5);
    let mut over = 0;
    for route in routes {
        let (p50, p99) = (
            quantile(&mut route.times, 0.5),
            quantile(&mut route.times, 0.99),
        );
        say(&format!("{}_p50", route.name), p50, "ms");
        say(&format!("{}_p99", route.name), p99, "ms");
        say(
            &format!("{}_to_healthz_p50", route.name),
            p50 / nothing,
            "ratio",
        );
        over += usize::from(p99 > LIMIT_MS);
    }
    say("routes_over_100_ms_p99", over as f64, "routes");
}

fn quantile(times: &mut [Duration], q: f64) -> f64 {
    times.sort_unstable();
    times[((times.len() - 1) as f64 * q).round() as usize].as_secs_f64() * 1_000.0
}

fn routes(app: &TestApp, school: &School) -> Vec<Route> {
    let client = |token: &str| app.anonymous().with_cookie(format!("refrain={token}"));
    let (mentor, student, office) = (
        client(&school.mentor),
        client(&school.student),
        client(&school.office),
    );
    let each = |template: &str, ids: &[String]| -> Vec<String> {
        ids.iter().map(|id| template.replace("{n}", id)).collect()
    };
    let one = |path: &str| vec![path.to_owned()];
    let words: Vec<String> = ["wrist", "heel", "settle", "arc", "hold"]
        .map(str::to_owned)
        .to_vec();
    let all: Vec<(&'static str, &Client, Vec<String>)> = vec![
        ("healthz", &office, one("/healthz")),
        ("me", &mentor, one("/api/v1/me")),
        ("mentor_desk", &mentor, one("/api/v1/desk")),
        ("mentor_desk_200", &mentor, one("/api/v1/desk?limit=200")),
        ("mentor_roster", &mentor, one("/api/v1/enrolments")),
        ("mentor_persons", &mentor, one("/api/v1/persons")),
        ("mentor_courses", &mentor, one("/api/v1/courses")),
        ("mentor_shots", &mentor, one("/api/v1/shots")),
        (
            "mentor_shots_of_student",
            &mentor,
            each("/api/v1/shots?student={n}", &school.students),
        ),
        (
            "mentor_shot",
            &mentor,
            each("/api/v1/shots/{n}", &school.shots),
        ),
        (
            "mentor_critique",
            &mentor,
            each("/api/v1/critiques/{n}", &school.critiques),
        ),
        (
            "mentor_footage",
            &mentor,
            each("/api/v1/footage/{n}", &school.footage),
        ),
        (
            "mentor_refrain",
            &mentor,
            each("/api/v1/refrain?student={n}", &school.students),
        ),
        (
            "mentor_shot_refrain",
            &mentor,
            each("/api/v1/shots/{n}/refrain", &school.shots),
        ),
        (
            "mentor_habits",
            &mentor,
            each("/api/v1/refrain/habits?student={n}", &school.students),
        ),
        (
            "mentor_shot_plan",
            &mentor,
            each("/api/v1/shots/{n}/plan", &school.shots),
        ),
        ("mentor_words", &mentor, one("/api/v1/lexicon/words")),
        (
            "mentor_archive",
            &mentor,
            each("/api/v1/archive?q={n}", &words),
        ),
        ("mentor_archive_newest", &mentor, one("/api/v1/archive")),
        (
            "mentor_phrases",
            &mentor,
            each("/api/v1/phrases?q={n}", &words),
        ),
        ("student_shots", &student, one("/api/v1/shots")),
        ("student_refrain", &student, one("/api/v1/refrain")),
        ("student_habits", &student, one("/api/v1/refrain/habits")),
        ("student_roster", &student, one("/api/v1/enrolments")),
        (
            "student_critique",
            &student,
            each("/api/v1/critiques/{n}", &school.own_critiques),
        ),
        (
            "student_archive",
            &student,
            each("/api/v1/archive?q={n}", &words),
        ),
        ("office_roster", &office, one("/api/v1/enrolments")),
        (
            "office_roster_200",
            &office,
            one("/api/v1/enrolments?limit=200"),
        ),
        (
            "office_roster_found",
            &office,
            one("/api/v1/enrolments?q=77"),
        ),
        (
            "office_enrolment",
            &office,
            each("/api/v1/enrolments/{n}", &school.enrolments),
        ),
        (
            "office_ledger",
            &office,
            each("/api/v1/enrolments/{n}/quota-entries", &school.enrolments),
        ),
        ("office_persons", &office, one("/api/v1/persons")),
        ("office_persons_found", &office, one("/api/v1/persons?q=77")),
        ("office_courses", &office, one("/api/v1/courses")),
        ("office_shots", &office, one("/api/v1/shots")),
    ];
    all.into_iter()
        .map(|(name, client, paths)| Route {
            name,
            client: client.clone(),
            paths,
            times: vec![],
        })
        .collect()
}
