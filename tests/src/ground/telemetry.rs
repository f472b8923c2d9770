//! Health, numbers, request ids.

use tests::harness::TestApp;

#[tokio::test]
async fn numbers_are_in_prometheus_text_format_by_route() {
    let t = TestApp::start().await;
    let nobody = t.anonymous();
    for _ in 0..3 {
        assert_eq!(nobody.get("/healthz").await.status, 200);
    }
    assert_eq!(nobody.get("/readyz").await.status, 200);
    let answer = nobody.get("/metrics").await;
    assert_eq!(answer.status, 200);
    // Prometheus documentation, "Exposition formats".
    assert!(
        answer
            .header("content-type")
            .is_some_and(|t| t.starts_with("text/plain; version=0.0.4"))
    );
    let text = answer.text();
    for line in text.lines().filter(|l| !l.starts_with('#')) {
        let (_, number) = line.rsplit_once(' ').unwrap_or_else(|| panic!("{line}"));
        assert!(number.parse::<f64>().is_ok(), "{line}");
    }
    let count =
        "refrain_http_request_seconds_count{method=\"GET\",route=\"/healthz\",status=\"200\"} 3";
    assert!(text.contains(count), "{text}");
    assert!(text.contains("refrain_oldest_job_seconds 0"), "{text}");
    assert!(text.contains("refrain_ledger_faults 0"), "{text}");
}

#[tokio::test]
async fn it_is_not_ready_without_its_database() {
    let t = TestApp::start_with(|config| {
        config.database.url = Some(app::config::Secret::new(
            "postgres://refrain_app@%2Fnowhere/none",
        ));
    })
    .await;
    assert_eq!(t.anonymous().get("/healthz").await.status, 200);
    let answer = t.anonymous().get("/readyz").await;
    assert_eq!(answer.status, 503, "{answer}");
}
