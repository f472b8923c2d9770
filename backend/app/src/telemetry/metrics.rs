//! Numbers about requests, in Prometheus's text format.

use std::time::Instant;

use actix_web::Error;
use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::middleware::Next;
use actix_web::web::Data;
use prometheus::{Encoder, GaugeVec, HistogramOpts, HistogramVec, Opts, Registry, TextEncoder};

/// Upper bounds of the latency buckets, seconds; 0.1 is the promise for a page.
const BUCKETS: &[f64] = &[
    0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0, 60.0,
];

/// The program's numbers.
#[derive(Clone)]
pub struct Metrics {
    registry: Registry,
    requests: HistogramVec,
}

impl Metrics {
    /// None counted yet.
    ///
    /// # Errors
    /// If a name is taken, which would be a mistake in this file.
    pub fn new() -> Result<Self, prometheus::Error> {
        let registry = Registry::new();
        let requests = HistogramVec::new(
            HistogramOpts::new(
                "refrain_http_request_seconds",
                "Time from a request's head to its answer's head, by method, route and status",
            )
            .buckets(BUCKETS.to_vec()),
            &["method", "route", "status"],
        )?;
        registry.register(Box::new(requests.clone()))?;
        Ok(Self { registry, requests })
    }

    /// The text for Prometheus, with gauges that were read for this answer.
    ///
    /// # Errors
    /// If a gauge's name is not allowed or the text cannot be written.
    pub fn text(&self, gauges: &[Gauge]) -> Result<String, prometheus::Error> {
        let read_now = Registry::new();
        for gauge in gauges {
            gauge.register(&read_now)?;
        }
        let mut families = self.registry.gather();
        families.extend(read_now.gather());
        let mut text = vec![];
        TextEncoder::new().encode(&families, &mut text)?;
        String::from_utf8(text).map_err(|e| prometheus::Error::Msg(e.to_string()))
    }
}

/// A family of numbers read when asked for.
#[derive(Debug, Clone)]
pub struct Gauge {
    /// Its name, after `refrain_`.
    pub name: &'static str,
    /// What it counts.
    pub help: &'static str,
    /// The names of its labels.
    pub labels: &'static [&'static str],
    /// Label values and number.
    pub values: Vec<(Vec<String>, f64)>,
}

impl Gauge {
    fn register(&self, registry: &Registry) -> Result<(), prometheus::Error> {
        let family = GaugeVec::new(
            Opts::new(format!("refrain_{}", self.name), self.help),
            self.labels,
        )?;
        for (labels, number) in &self.values {
            let labels: Vec<&str> = labels.iter().map(String::as_str).collect();
            family.get_metric_with_label_values(&labels)?.set(*number);
        }
        registry.register(Box::new(family))
    }
}

/// Middleware that times each request under the pattern of its route, never under its address, whose number
/// is unbounded.
///
/// # Errors
/// Those of the request itself.
pub async fn observe(
    request: ServiceRequest,
    next: Next<impl MessageBody>,
) -> Result<ServiceResponse<impl MessageBody>, Error> {
    let metrics = request.app_data::<Data<Metrics>>().cloned();
    let method = request.method().clone();
    let start = Instant::now();
    let result = next.call(request).await;
    let Some(metrics) = metrics else {
        return result;
    };
    let (route, status) = match &result {
        Ok(response) => (
            response.request().match_pattern(),
            response.status().as_u16(),
        ),
        Err(error) => (None, error.as_response_error().status_code().as_u16()),
    };
    metrics
        .requests
        .with_label_values(&[
            method.as_str(),
            route.as_deref().unwrap_or("other"),
            status.to_string().as_str(),
        ])
        .observe(start.elapsed().as_secs_f64());
    result
}

#[cfg(test)]
mod tests {
    use super::*;
    use actix_web::{App, HttpResponse, middleware::from_fn, test, web};

    #[actix_web::test]
    async fn requests_are_counted_by_pattern_and_not_by_address() {
        let metrics = Data::new(Metrics::new().unwrap());
        let app = test::init_service(
            App::new()
                .app_data(metrics.clone())
                .wrap(from_fn(observe))
                .route("/shots/{id}", web::get().to(HttpResponse::NoContent)),
        )
        .await;
        for address in ["/shots/1", "/shots/2", "/nothing"] {
            let request = test::TestRequest::get().uri(address).to_request();
            test::call_service(&app, request).await;
        }
        let gauge = Gauge {
            name: "jobs",
            help: "jobs",
            labels: &["state"],
            values: vec![(vec!["ready".into()], 3.0)],
        };
        let text = metrics.text(&[gauge]).unwrap();
        let count = "refrain_http_request_seconds_count";
        assert!(text.contains(&format!(
            "{count}{{method=\"GET\",route=\"/shots/{{id}}\",status=\"204\"}} 2"
        )));
        assert!(text.contains(&format!(
            "{count}{{method=\"GET\",route=\"other\",status=\"404\"}} 1"
        )));
        assert!(text.contains("refrain_jobs{state=\"ready\"} 3"));
        assert!(!text.contains("/shots/1"));
    }
}
