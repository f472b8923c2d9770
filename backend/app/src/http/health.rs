//! Health and numbers, for those who keep the program running. Nothing here names a person.

use std::collections::BTreeMap;
use std::time::Duration;

use actix_web::http::header::ContentType;
use actix_web::web::{Data, ServiceConfig, get};
use actix_web::{HttpResponse, Responder};
use store::work;

use crate::state::State;
use crate::telemetry::Gauge;

/// How long the database may take to say that it is there.
const PATIENCE: Duration = Duration::from_secs(3);

/// Adds the routes.
pub fn configure(app: &mut ServiceConfig) {
    app.route("/healthz", get().to(is_alive))
        .route("/readyz", get().to(is_ready))
        .route("/metrics", get().to(numbers));
}

/// The process lives and answers.
async fn is_alive() -> impl Responder {
    HttpResponse::Ok()
        .content_type(ContentType::plaintext())
        .body("ok\n")
}

/// It can serve: the database answers.
async fn is_ready(state: Data<State>) -> impl Responder {
    match tokio::time::timeout(PATIENCE, work::read(&state.db)).await {
        Ok(Ok(_)) => HttpResponse::Ok()
            .content_type(ContentType::plaintext())
            .body("ready\n"),
        Ok(Err(e)) => {
            tracing::warn!(error = &e as &dyn std::error::Error, "not ready");
            not_ready("the database does not answer\n")
        }
        Err(_) => not_ready("the database does not answer in time\n"),
    }
}

fn not_ready(words: &'static str) -> HttpResponse {
    HttpResponse::ServiceUnavailable()
        .content_type(ContentType::plaintext())
        .body(words)
}

/// Requests, jobs, mails and the ledger, for Prometheus.
async fn numbers(state: Data<State>) -> HttpResponse {
    let text = match work::read(&state.db).await {
        Ok(lines) => state.metrics.text(&gauges(lines)),
        Err(e) => {
            tracing::warn!(
                error = &e as &dyn std::error::Error,
                "numbers without the database's"
            );
            state.metrics.text(&[])
        }
    };
    match text {
        Ok(text) => HttpResponse::Ok()
            .content_type("text/plain; version=0.0.4; charset=utf-8")
            .body(text),
        Err(e) => {
            tracing::error!(error = %e, "numbers cannot be written");
            HttpResponse::InternalServerError().finish()
        }
    }
}

/// The lines of the database's own count as families.
fn gauges(lines: Vec<work::Line>) -> Vec<Gauge> {
    let mut families: BTreeMap<String, Vec<(Vec<String>, f64)>> = BTreeMap::new();
    for line in lines {
        let labels = match line.what.as_str() {
            "jobs" => line.label.split(':').map(str::to_owned).collect(),
            "mail" | "ledger" => vec![line.label],
            _ => vec![],
        };
        families
            .entry(line.what)
            .or_default()
            .push((labels, line.n));
    }
    let family = |what: &str, name, help, labels| Gauge {
        name,
        help,
        labels,
        values: families.get(what).cloned().unwrap_or_default(),
    };
    vec![
        family("jobs", "jobs", "Jobs by kind and state", &["kind", "state"]),
        family(
            "oldest_job_seconds",
            "oldest_job_seconds",
            "How long the oldest job that is due has waited",
            &[],
        ),
        family("mail", "mails", "Mails by state", &["state"]),
        family(
            "ledger",
            "ledger_submissions",
            "Submissions in the ledger, by kind of entry",
            &["kind"],
        ),
        family(
            "ledger_faults",
            "ledger_faults",
            "Enrolments whose count is not the sum of their ledger; anything but 0 is a defect",
            &[],
        ),
    ]
}
