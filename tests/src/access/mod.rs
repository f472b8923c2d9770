//! The access matrix: every operation of the API's description for every role, with what comes of it. Whatever is
//! answered, words of other people never stand in it.

mod table;
pub mod world;

use std::collections::{BTreeMap, BTreeSet};

use reqwest::Method;
use serde_json::Value;
use tests::harness::client::{Answer, Client};

use table::Row;
use world::{ROLES, World};

const VERBS: [&str; 7] = ["get", "post", "put", "patch", "delete", "head", "options"];

/// Every operation as `GET /me`.
fn operations() -> BTreeSet<String> {
    let description: Value =
        serde_json::from_str(&app::http::description().to_json().expect("a description"))
            .expect("JSON");
    let paths = description["paths"].as_object().expect("paths").clone();
    paths
        .iter()
        .flat_map(|(path, item)| {
            let path = path.strip_prefix("/api/v1").unwrap_or(path);
            VERBS
                .into_iter()
                .filter(|verb| item.get(verb).is_some())
                .map(move |verb| format!("{} {path}", verb.to_uppercase()))
        })
        .collect()
}

#[tokio::test]
async fn every_operation_answers_every_role_as_the_table_says() {
    let world = World::build().await;
    let rows = table::rows(&world);
    let named: BTreeSet<String> = rows.iter().map(|row| row.operation.to_owned()).collect();
    let present = operations();
    let missing: Vec<_> = present.difference(&named).collect();
    assert!(
        missing.is_empty(),
        "no row in tests/src/access/table.rs says who may do this; whoever adds an operation adds its row: {missing:#?}"
    );
    let gone: Vec<_> = named.difference(&present).collect();
    assert!(gone.is_empty(), "rows without an operation: {gone:#?}");

    let mut wrong = Vec::new();
    let mut seen: BTreeMap<usize, BTreeSet<&str>> = BTreeMap::new();
    for row in &rows {
        // Those who are refused come first: what succeeds may change what is there.
        let mut turns: Vec<usize> = (0..ROLES.len()).collect();
        turns.sort_by_key(|at| row.expected[*at] < 400);
        let mut got = row.expected;
        for at in turns {
            let (role, client) = &world.people[at];
            let answer = send(row, client, at).await;
            got[at] = answer.status;
            let text = answer.text();
            for (number, secret) in world.secrets.iter().enumerate() {
                if !text.contains(&secret.word) {
                    continue;
                }
                if secret.known_to.contains(role) {
                    seen.entry(number).or_default().insert(role);
                } else {
                    wrong.push(format!(
                        "{}: {role} was told {} of {:?}",
                        row.operation, secret.word, secret.known_to
                    ));
                }
            }
            if answer.status != row.expected[at] {
                let start: String = text.chars().take(300).collect();
                wrong.push(format!("{} as {role}: {start}", row.operation));
            }
        }
        if got != row.expected {
            wrong.push(format!(
                "{}\n  expected {:?}\n       got {got:?}",
                row.operation, row.expected
            ));
        }
    }
    // Otherwise the absence of a word says nothing.
    for (number, secret) in world.secrets.iter().enumerate() {
        for role in secret.known_to {
            if !seen.get(&number).is_some_and(|roles| roles.contains(role)) {
                wrong.push(format!("{role} never saw {number} {}", secret.word));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// `ROLE` in a body becomes another word for each role.
async fn send(row: &Row, client: &Client, at: usize) -> Answer {
    let (verb, _) = row.operation.split_once(' ').expect("a verb");
    let method: Method = verb.parse().expect("a method");
    let mut request = client.request(method, &format!("/api/v1{}", row.path));
    for (name, value) in &row.headers {
        request = request.header(name, value);
    }
    match &row.body {
        Some((media_type, body)) => {
            request.body(media_type, body.replace("ROLE", &format!("role{at}")))
        }
        None => request,
    }
    .send()
    .await
}
