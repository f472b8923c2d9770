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
