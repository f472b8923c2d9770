//! The arrows between the crates, read from their manifests, and the wall between `http` and `jobs`.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use toml::Table;

/// Every crate of the workspace and the crates of the workspace that it may use. Nothing else is allowed.
const ARROWS: &[(&str, &str, &[&str])] = &[
    ("motion", "backend/motion", &[]),
    ("domain", "backend/domain", &[]),
    ("media", "backend/media", &["motion"]),
    ("critique", "backend/critique", &["domain"]),
    ("archive", "backend/archive", &["domain"]),
    ("store", "backend/store", &["domain"]),
    ("seed", "seed", &[]),
    (
        "app",
        "backend/app",
        &[
            "archive", "critique", "domain", "media", "motion", "seed", "store",
        ],
    ),
    (
        "tests",
        "tests",
        &[
            "app", "archive", "critique", "domain", "media", "motion", "seed", "store",
        ],
    ),
];

/// External systems and the one crate that may know each (tests may know all).
const OWNERS: &[(&str, &str)] = &[
    ("actix-web", "app"),
    ("diesel-async", "store"),
    ("lettre", "app"),
    ("object_store", "app"),
    ("tantivy", "archive"),
];

/// Crates that only compute: nothing with a clock, a disk, a network, threads or chance may be linked.
const PURE: &[(&str, &[&str])] = &[("domain", IMPURE), ("critique", IMPURE), ("motion", IMPURE)];

const IMPURE: &[&str] = &["tokio", "rand", "reqwest", "tracing", "tempfile", "rustix"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn manifest(folder: &str) -> Table {
    let path = root().join(folder).join("Cargo.toml");
    fs::read_to_string(&path)
        .unwrap_or_else(|e| panic!("{}: {e}", path.display()))
        .parse()
        .unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// The names under every dependency table of a manifest: normal, build, and per target; `dev` on demand.
fn dependencies(manifest: &Table, with_dev: bool) -> Vec<String> {
    let mut tables = vec!["dependencies", "build-dependencies"];
    if with_dev {
        tables.push("dev-dependencies");
    }
    let per_target = manifest
        .get("target")
        .and_then(|t| t.as_table())
        .into_iter()
        .flat_map(|t| t.values().filter_map(|v| v.as_table()));
    std::iter::once(manifest)
        .chain(per_target)
        .flat_map(|m| {
            tables
                .iter()
                .filter_map(|t| m.get(*t).and_then(|d| d.as_table()))
        })
        .flat_map(|d| d.keys().cloned())
        .collect()
}

#[test]
fn every_crate_is_listed_and_no_other() {
    let workspace = manifest(".");
    let members: Vec<String> = workspace["workspace"]["members"]
        .as_array()
        .expect("members")
        .iter()
        .map(|m| m.as_str().expect("a path").to_owned())
        .collect();
    let mut listed: Vec<String> = ARROWS.iter().map(|(_, path, _)| (*path).into()).collect();
    let mut found = members.clone();
    listed.sort();
    found.sort();
    assert_eq!(found, listed, "a crate without a line in ARROWS");
    for (name, path, _) in ARROWS {
        assert_eq!(manifest(path)["package"]["name"].as_str(), Some(*name));
    }
}

#[test]
fn arrows_between_crates_are_the_allowed_ones() {
    let ours: BTreeMap<&str, &[&str]> = ARROWS.iter().map(|(n, _, to)| (*n, *to)).collect();
    let mut wrong = vec![];
    for (name, path, allowed) in ARROWS {
        for dependency in dependencies(&manifest(path), true) {
            if ours.contains_key(dependency.as_str()) && !allowed.contains(&dependency.as_str()) {
                wrong.push(format!("{name} -> {dependency}"));
            }
        }
    }
    assert!(wrong.is_empty(), "arrows that are not allowed: {wrong:?}");
}

#[test]
fn external_systems_have_one_owner() {
    let mut wrong = vec![];
    for (name, path, _) in ARROWS.iter().filter(|(name, ..)| *name != "tests") {
        let manifest = manifest(path);
        for dependency in dependencies(&manifest, false) {
            if let Some((_, owner)) = OWNERS.iter().find(|(d, _)| *d == dependency)
                && owner != name
            {
                wrong.push(format!("{name} knows {dependency}, which is {owner}'s"));
            }
        }
        if let Some((_, banned)) = PURE.iter().find(|(n, _)| n == name) {
            for dependency in dependencies(&manifest, false) {
                if banned.contains(&dependency.as_str()) {
                    wrong.push(format!("{name} only computes, yet links {dependency}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

fn rust_files(folder: &Path, into: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let path = entry.path();
        if path.is_dir() {
            rust_files(&path, into);
        } else if path.extension().is_some_and(|e| e == "rs") {
            into.push(path);
        }
    }
}

/// The lines of the Rust files below `folder` that name `module`.
fn lines_naming(folder: &str, module: &str) -> Vec<String> {
    let mut files = vec![];
    rust_files(&root().join(folder), &mut files);
    let mut found = vec![];
    for file in files {
        let text = fs::read_to_string(&file).expect("readable source");
        for (number, line) in text.lines().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            let names = [format!("crate::{module}"), format!("super::{module}::")];
            if names.iter().any(|n| {
                code.match_indices(n.as_str()).any(|(at, n)| {
                    !code[at + n.len()..].starts_with(|c: char| c.is_alphanumeric() || c == '_')
                })
            }) {
                found.push(format!("{}:{}: {line}", file.display(), number + 1));
            }
        }
    }
    found
}

#[test]
fn http_and_jobs_do_not_know_each_other() {
    let mut crossing = lines_naming("backend/app/src/http", "jobs");
    crossing.extend(lines_naming("backend/app/src/jobs", "http"));
    assert!(crossing.is_empty(), "{crossing:#?}");
}

#[test]
fn sql_stays_in_the_store_and_processes_of_ffmpeg_in_media() {
    let mut crossing = lines_naming_text("backend/app/src", "diesel");
    crossing.extend(lines_naming_text("backend/app/src/http", "sql_query"));
    crossing.extend(lines_naming_text(
        "backend/app/src/http",
        "Command::new(\"ff",
    ));
    crossing.extend(lines_naming_text(
        "backend/app/src/jobs",
        "Command::new(\"ff",
    ));
    assert!(crossing.is_empty(), "{crossing:#?}");
}

fn lines_naming_text(folder: &str, text: &str) -> Vec<String> {
    let mut files = vec![];
    rust_files(&root().join(folder), &mut files);
    files
        .into_iter()
        .flat_map(|file| {
            let source = fs::read_to_string(&file).expect("readable source");
            source
                .lines()
                .enumerate()
                .filter(|(_, line)| line.split("//").next().unwrap_or_default().contains(text))
                .map(|(n, line)| format!("{}:{}: {line}", file.display(), n + 1))
                .collect::<Vec<_>>()
        })
        .collect()
}
