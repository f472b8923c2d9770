//! Every migration runs forth and back, and leaves nothing behind.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tests::harness::cluster::{aside, cluster, connect};

fn folders() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../migrations");
    let mut folders: Vec<PathBuf> = fs::read_dir(root)
        .expect("the migrations")
        .map(|entry| entry.expect("a folder").path())
        .filter(|path| path.is_dir())
        .collect();
    folders.sort();
    folders
}

/// The schema as the database itself tells it. `pg_dump` names a random restriction key in each dump.
fn dump(url: &str) -> String {
    let output = Command::new("pg_dump")
        .args([
            "--schema-only",
            "--exclude-table=__diesel_schema_migrations",
            "--dbname",
            url,
        ])
        .output()
        .expect("pg_dump");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let text = String::from_utf8(output.stdout).expect("text");
    let is_key = |line: &&str| line.starts_with("\\restrict") || line.starts_with("\\unrestrict");
    text.lines()
        .filter(|l| !is_key(l))
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn each_migration_undone_and_done_again_gives_the_same_schema() {
    let database = cluster().database();
    let before = dump(&database.owner_url);
    aside(|| {
        let mut ddl = connect(&database.ddl_url);
        let folders = folders();
        for folder in folders.iter().rev() {
            run(&mut ddl, &folder.join("down.sql"));
        }
        let left = ddl
            .query(
                "SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'v')
                 AND relname <> '__diesel_schema_migrations'
                 UNION ALL SELECT proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace",
                &[],
            )
            .expect("what is left");
        let left: Vec<String> = left.iter().map(|row| row.get(0)).collect();
        assert_eq!(left, [""; 0], "left behind");
        for folder in &folders {
            run(&mut ddl, &folder.join("up.sql"));
        }
    });
    let after = dump(&database.owner_url);
    let only_in = |one: &str, other: &str| {
        let known: BTreeSet<&str> = other.lines().collect();
        let new = one.lines().filter(|line| !known.contains(line));
        new.collect::<Vec<_>>().join("\n")
    };
    assert!(
        after == before,
        "before:\n{}\nafter:\n{}",
        only_in(&before, &after),
        only_in(&after, &before)
    );
}

#[test]
fn the_schema_that_queries_are_checked_against_is_the_one_of_the_migrations() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../backend/store/src/schema.rs");
    let database = cluster().database();
    let present = aside(|| store::schema_text::schema_text(&mut connect(&database.ddl_url)))
        .expect("the text of the schema");
    if std::env::var_os("REFRESH").is_some() {
        fs::write(&file, &present).expect("the schema is written");
    }
    let kept = fs::read_to_string(&file).expect("the schema");
    assert!(
        present == kept,
        "the migrations changed: run `REFRESH=1 cargo test -p tests schema_that` and look at the difference"
    );
}

fn run(client: &mut postgres::Client, file: &Path) {
    let sql = fs::read_to_string(file).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
    client
        .batch_execute(&sql)
        .unwrap_or_else(|e| panic!("{}: {e:?}", file.display()));
}
