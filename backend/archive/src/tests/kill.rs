//! `kill -9` at any moment leaves an index that opens at a position and holds exactly what that position says.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use super::data::{SOURCE, folder, mentor, note, put, puts, search};
use crate::{Archive, Change, Document, DocumentKey};

/// Tells the test that it is the process to be killed, and where to write.
const FOLDER: &str = "ARCHIVE_TEST_WRITES_TO";

/// Begins the line the writer tells each position on, once it is written.
const WRITTEN: &str = "written ";

/// What the feed says at `position`.
fn step(position: u64) -> Vec<Change> {
    let n = u128::from(position);
    let mut changes = vec![put(&note(n % 40, &format!("step {position} holds")))];
    if position.is_multiple_of(3) {
        changes.push(Change::Remove(note((n * 7) % 40, "").key));
    }
    changes
}

fn held_at(position: u64) -> BTreeMap<DocumentKey, Document> {
    let mut held = BTreeMap::new();
    for change in (1..=position).flat_map(step) {
        match change {
            Change::Put(document) => held.insert(document.key, *document),
            Change::Remove(key) => held.remove(&key),
        };
    }
    held
}

fn rebuild(archive: &Arc<Archive>, position: u64) {
    let mut rebuild = archive.rebuild(SOURCE).unwrap();
    rebuild.add(&puts(held_at(position).values())).unwrap();
    rebuild.finish(position).unwrap();
}

fn write_until_killed(root: &Path) {
    let (archive, state) = Archive::open(root, SOURCE).unwrap();
    if state.is_err() {
        rebuild(&archive, 0);
    }
    for position in archive.position().unwrap_or(0) + 1.. {
        archive.apply(&step(position), position).unwrap();
        eprintln!("{WRITTEN}{position}");
        if position.is_multiple_of(9) {
            rebuild(&archive, position);
        }
    }
}

#[test]
fn a_killed_writer_leaves_a_whole_index() {
    if let Some(root) = std::env::var_os(FOLDER) {
        return write_until_killed(Path::new(&root));
    }
    let folder = folder();
    let mut reached = 0;
    for round in 0..14u64 {
        let mut writer = Command::new(std::env::current_exe().unwrap())
            .args([
                "--exact",
                "tests::kill::a_killed_writer_leaves_a_whole_index",
                "--nocapture",
            ])
            .env(FOLDER, folder.path())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = BufReader::new(writer.stderr.take().unwrap())
            .lines()
            .map(Result::unwrap);
        let mut told = lines.filter_map(|line| line.strip_prefix(WRITTEN)?.parse::<u64>().ok());
        reached = reached.max(told.nth(((round * 7) % 12) as usize).unwrap_or(0));
        std::thread::sleep(Duration::from_micros((round * 7_919) % 30_000));
        assert!(
            writer.try_wait().unwrap().is_none(),
            "the writer ended by itself"
        );
        writer.kill().unwrap();
        writer.wait().unwrap();

        let (archive, state) = Archive::open(folder.path(), SOURCE).unwrap();
        assert_eq!(state, Ok(()), "after position {reached}");
        let position = archive.position().unwrap();
        assert!(position >= reached, "told {reached}, holds {position}");
        reached = position;
        let found = search(&archive, &mentor(), "", 100, None).unwrap();
        let found: BTreeMap<_, _> = found
            .hits
            .into_iter()
            .map(|hit| (hit.document.key, hit.document))
            .collect();
        assert_eq!(found, held_at(position), "at position {position}");
    }
}

/// A copy of a folder taken while it is written to, file by file, as a backup program does it.
fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).into_iter().flatten().flatten() {
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else if let Err(error) = fs::copy(entry.path(), &target) {
            assert_eq!(error.kind(), std::io::ErrorKind::NotFound, "{error}");
        }
    }
}

#[test]
fn a_copy_torn_by_writing_is_whole_or_says_that_it_is_not() {
    let folder = folder();
    let (root, is_over) = (folder.path().join("written"), AtomicBool::new(false));
    let (archive, _) = Archive::open(&root, SOURCE).unwrap();
    rebuild(&archive, 0);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            for position in (1..).take_while(|_| !is_over.load(Ordering::Relaxed)) {
                archive.apply(&step(position), position).unwrap();
                if position.is_multiple_of(9) {
                    rebuild(&archive, position);
                }
            }
        });
        for n in 0..24 {
            let copied = folder.path().join(format!("copy{n}"));
            copy(&root, &copied);
            let (archive, state) = Archive::open(&copied, SOURCE).unwrap();
            if state.is_err() {
                rebuild(&archive, 5);
            }
            let found = search(&archive, &mentor(), "", 100, None).unwrap();
            let found: BTreeMap<_, _> = found
                .hits
                .into_iter()
                .map(|hit| (hit.document.key, hit.document))
                .collect();
            assert_eq!(found, held_at(archive.position().unwrap()), "copy {n}");
        }
        is_over.store(true, Ordering::Relaxed);
    });
}

#[test]
fn programs_started_meanwhile_hold_no_lock_of_ours() {
    let folder = folder();
    let is_over = AtomicBool::new(false);
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while !is_over.load(Ordering::Relaxed) {
                    Command::new("true").status().unwrap();
                }
            });
        }
        drop(Archive::open(folder.path(), SOURCE).unwrap().0);
        let opened = (0..100u64).try_for_each(|round| {
            let (archive, _) = Archive::open(folder.path(), SOURCE).map_err(|e| e.to_string())?;
            let mut rebuild = archive.rebuild(SOURCE).map_err(|e| e.to_string())?;
            rebuild.add(&step(round + 1)).map_err(|e| e.to_string())?;
            rebuild.finish(round + 1).map_err(|e| e.to_string())
        });
        is_over.store(true, Ordering::Relaxed);
        assert_eq!(opened, Ok(()));
    });
}
