//! An index that is missing, damaged or of another make says so, and a rebuild mends it.

use std::fs;
use std::path::{Path, PathBuf};

use super::data::{SOURCE, archive, folder, ids, mentor, note, put, puts, search};
use crate::{Archive, Change, Document, FolderError, Unusable, is_rebuild_wanted, want_rebuild};

fn documents() -> Vec<Document> {
    (1..=30)
        .map(|n| note(n, "hand holds the lantern"))
        .collect()
}

fn index_folder(root: &Path) -> PathBuf {
    root.join(fs::read_to_string(root.join("current")).unwrap().trim_end())
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        if entry.path().is_dir() {
            copy(&entry.path(), &to.join(entry.file_name()));
        } else {
            fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
        }
    }
}

fn state(root: &Path) -> Result<(), Unusable> {
    Archive::open(root, SOURCE).unwrap().1
}

/// A way to spoil a file.
type Harm = fn(Vec<u8>) -> Option<Vec<u8>>;

const HARMS: [(&str, Harm); 6] = [
    ("removed", |_| None),
    ("emptied", |_| Some(Vec::new())),
    ("cut in half", |bytes| {
        Some(bytes[..bytes.len() / 2].to_vec())
    }),
    ("cut by one byte", |bytes| {
        Some(bytes[..bytes.len().saturating_sub(1)].to_vec())
    }),
    ("garbage", |bytes| {
        Some(
            bytes
                .iter()
                .map(|byte| byte.wrapping_mul(31) ^ 0x5A)
                .collect(),
        )
    }),
    ("one byte changed", |mut bytes| {
        let middle = bytes.len() / 2;
        if let Some(byte) = bytes.get_mut(middle) {
            *byte ^= 0xFF;
        }
        Some(bytes)
    }),
];

#[test]
fn a_damaged_index_is_noticed_and_rebuilt() {
    let folder = folder();
    let whole = folder.path().join("whole");
    let first = archive(&whole, &documents());
    first
        .apply(
            &[
                put(&note(1, "another hand")),
                Change::Remove(note(2, "").key),
            ],
            2,
        )
        .unwrap();
    let wanted = search(&first, &mentor(), "hand ", 100, None).unwrap();
    drop(first);
    let files: Vec<PathBuf> = fs::read_dir(index_folder(&whole))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    let mut noticed = 0;
    for file in files.iter().chain([&whole.join("current")]) {
        for (harm, spoil) in HARMS {
            let spoiled = folder.path().join("spoiled");
            copy(&whole, &spoiled);
            let target = spoiled.join(file.strip_prefix(&whole).unwrap());
            match spoil(fs::read(&target).unwrap()) {
                Some(bytes) => fs::write(&target, bytes).unwrap(),
                None => fs::remove_file(&target).unwrap(),
            }
            let (opened, state) = Archive::open(&spoiled, SOURCE).unwrap();
            if state.is_err() {
                noticed += 1;
                let mut rebuild = opened.rebuild(SOURCE).unwrap();
                rebuild
                    .add(&puts(wanted.hits.iter().map(|hit| &hit.document)))
                    .unwrap();
                rebuild.finish(2).unwrap();
            }
            let found = search(&opened, &mentor(), "hand ", 100, None).unwrap();
            assert_eq!(found, wanted, "{} {harm}", target.display());
            opened.apply(&[put(&note(99, "written after"))], 3).unwrap();
            assert_eq!(
                ids(&search(&opened, &mentor(), "written ", 5, None).unwrap()),
                [99]
            );
            drop(opened);
            fs::remove_dir_all(&spoiled).unwrap();
        }
    }
    assert!(
        noticed >= 30,
        "only {noticed} of the spoiled indexes were noticed"
    );
}

#[test]
fn an_index_of_another_make_is_not_used() {
    let folder = folder();
    assert_eq!(state(folder.path()), Err(Unusable::Missing));
    drop(archive(folder.path(), &documents()));
    assert_eq!(state(folder.path()), Ok(()));
    let (_, other) = Archive::open(folder.path(), "another database").unwrap();
    assert_eq!(other, Err(Unusable::OtherSource));

    let meta = index_folder(folder.path()).join("meta.json");
    let text = fs::read_to_string(&meta).unwrap();
    assert!(text.contains("\\\"version\\\":1"), "{text}");
    fs::write(
        &meta,
        text.replace("\\\"version\\\":1", "\\\"version\\\":7"),
    )
    .unwrap();
    assert_eq!(
        state(folder.path()),
        Err(Unusable::OtherVersion { found: 7 })
    );
    fs::write(&meta, "{\"segments\":[],\"schema\":[],\"opstamp\":0}").unwrap();
    assert!(matches!(state(folder.path()), Err(Unusable::Damaged(_))));
}

#[test]
fn one_process_holds_the_folder() {
    let folder = folder();
    let held = archive(folder.path(), &documents());
    assert!(matches!(
        Archive::open(folder.path(), SOURCE),
        Err(FolderError::InUse(_))
    ));
    drop(held);
    assert_eq!(state(folder.path()), Ok(()));
}

#[test]
fn a_rebuild_answers_from_the_old_index_until_it_is_done() {
    let folder = folder();
    let archive = archive(folder.path(), &documents());
    let count = |archive: &Archive| {
        search(archive, &mentor(), "lantern ", 100, None)
            .unwrap()
            .total
    };
    let given_up = archive.rebuild(SOURCE).unwrap();
    drop(given_up);
    want_rebuild(folder.path()).unwrap();
    assert!(archive.rebuild_wanted());
    let mut rebuild = archive.rebuild(SOURCE).unwrap();
    rebuild.add(&puts(documents().iter().take(3))).unwrap();
    assert_eq!((count(&archive), archive.position()), (30, Some(1)));
    rebuild.finish(9).unwrap();
    assert_eq!((count(&archive), archive.position()), (3, Some(9)));
    assert!(!is_rebuild_wanted(folder.path()));
    let indexes = fs::read_dir(folder.path())
        .unwrap()
        .filter(|entry| entry.as_ref().unwrap().path().is_dir());
    assert_eq!(indexes.count(), 1, "old and abandoned indexes are gone");
}
