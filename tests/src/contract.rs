//! The API's description as it is checked in, so that a change of the contract is seen in review.

use std::fs;
use std::path::PathBuf;

fn checked_in() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../backend/app/openapi.json")
}

#[test]
fn the_openapi_description_is_the_one_checked_in() {
    let present = app::http::description()
        .to_pretty_json()
        .expect("a description")
        + "\n";
    if std::env::var_os("REFRESH").is_some() {
        fs::write(checked_in(), &present).expect("the description is written");
    }
    let kept = fs::read_to_string(checked_in()).unwrap_or_default();
    assert!(
        present == kept,
        "the API changed: run `REFRESH=1 cargo test -p tests openapi` and `npm run api` in frontend, and look at the difference"
    );
}

/// OpenAPI 3.1, 4.8.8.2: each template expression in a path must correspond to a path parameter.
#[test]
fn every_name_in_a_path_is_described_as_a_parameter() {
    let description = serde_json::to_value(app::http::description()).expect("a description");
    let paths = description["paths"].as_object().expect("paths");
    let mut names = 0;
    for (path, item) in paths {
        for name in path
            .split('/')
            .filter_map(|s| s.strip_prefix('{')?.strip_suffix('}'))
        {
            for (verb, operation) in item.as_object().expect("operations") {
                names += 1;
                let parameters = operation["parameters"].as_array().into_iter().flatten();
                let found: Vec<_> = parameters
                    .filter(|p| p["name"] == name && p["in"] == "path")
                    .collect();
                assert_eq!(found.len(), 1, "{verb} {path}: {name}");
                assert_eq!(found[0]["required"], true, "{verb} {path}: {name}");
            }
        }
    }
    assert!(names > 30, "{names} names looked at");
}

#[test]
fn words_are_described_as_they_are_written() {
    let description = serde_json::to_value(app::http::description()).expect("a description");
    let words = |name: &str| description["components"]["schemas"][name]["enum"].clone();
    assert_eq!(
        words("Standing"),
        serde_json::to_value(domain::Standing::ALL).expect("words")
    );
    assert_eq!(
        words("ProblemCode"),
        serde_json::to_value(domain::ProblemCode::ALL).expect("codes")
    );
    assert_eq!(
        words("Stage"),
        serde_json::to_value(domain::Stage::ALL).expect("words")
    );
}
