//! The follower: it finds every change, and mends a missing or damaged index. How soon a change is found:
//! the example `found_after`.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use app::jobs::index;
use archive::{
    Archive, Asker, Filters, Search, SearchError, Unusable, is_rebuild_wanted, want_rebuild,
};
use chrono::Utc;
use store::Db;
use uuid::Uuid;

use super::invented::{Asking, Invented};
use tests::harness::cluster::{Database, aside, cluster, connect};

/// How long is waited for what must come at once; failing takes as long.
const PATIENCE: Duration = Duration::from_secs(20);

/// Searches as the mentor of everybody in `mentors`' school, so that what is found is what is there.
fn count(
    archive: &Archive,
    mentor: &Asking,
    enrolments: &[Uuid],
    text: &str,
) -> Result<usize, SearchError> {
    let asker = Asker {
        school: mentor.school.into(),
        person: mentor.person.into(),
        as_student: false,
        as_mentor: Some(enrolments.iter().map(|id| (*id).into()).collect()),
        as_office: false,
    };
    let search = Search {
        text,
        filters: &Filters::default(),
        cursor: None,
        limit: 10,
        now: Utc::now(),
    };
    archive.search(&asker, &search).map(|page| page.total)
}

fn wait_until(what: &str, mut is_so: impl FnMut() -> bool) {
    let begun = Instant::now();
    while !is_so() {
        assert!(
            begun.elapsed() < PATIENCE,
            "{what}: not within {PATIENCE:?}"
        );
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// A follower that runs until it is dropped.
struct Following {
    archive: Arc<Archive>,
    runtime: tokio::runtime::Runtime,
}

impl Following {
    /// Opens the folder as the program does at its start, and follows.
    fn begin(database: &Database, folder: &Path) -> (Self, Result<(), Unusable>) {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .enable_all()
            .build()
            .expect("a runtime");
        let db = Db::new(&database.app_url, 2).expect("a pool");
        let head = runtime.block_on(index::head(&db)).expect("the feed");
        let (archive, state) = Archive::open(folder, &head.source).expect("the folder");
        runtime.spawn(index::follow(
            db,
            Arc::clone(&archive),
            database.app_url.clone(),
        ));
        (Self { archive, runtime }, state)
    }

    fn end(self) {
        self.runtime.shutdown_timeout(PATIENCE);
    }
}

/// The first school's mentor, their enrolments, and a critique of theirs that is a draft.
fn mentor_with_a_draft(invented: &mut Invented<'_>) -> (Asking, Vec<Uuid>, Uuid) {
    let draft = "SELECT c.id, c.mentor_id, c.school_id FROM critique c JOIN enrolment e ON e.id = c.enrolment_id AND e.mentor_id = c.mentor_id
        WHERE c.released_at IS NULL AND EXISTS (SELECT FROM note n WHERE n.critique_id = c.id AND n.words <> '') LIMIT 1";
    (0..20).for_each(|_| invented.change());
    let row = loop {
        if let Some(row) = invented.sql.query_opt(draft, &[]).expect("an answer") {
            break row;
        }
        invented.change();
    };
    let mentor = Asking {
        person: row.get(1),
        school: row.get(2),
        roles: vec!["mentor"],
    };
    let rows = invented
        .sql
        .query(
            "SELECT id FROM enrolment WHERE mentor_id = $1",
            &[&mentor.person],
        )
        .expect("enrolments");
    (
        mentor,
        rows.iter().map(|row| row.get(0)).collect(),
        row.get(0),
    )
}

#[test]
fn every_change_is_found() {
    let database = cluster().database();
    let (following, _) = Following::begin(&database, &cluster().var_folder());
    aside(|| {
        let mut owner = connect(&database.owner_url);
        let mut invented = Invented::new(&mut owner, 7);
        let (mentor, enrolments, critique) = mentor_with_a_draft(&mut invented);
        for n in 0..15 {
            let word = format!("fresh{n}");
            let written = "UPDATE note SET words = $2, updated_at = now() WHERE id = (SELECT id FROM note WHERE critique_id = $1 LIMIT 1)";
            invented
                .sql
                .execute(written, &[&critique, &word])
                .expect("a change");
            wait_until(&word, || {
                count(
                    &following.archive,
                    &mentor,
                    &enrolments,
                    &format!("{word} "),
                )
                .is_ok_and(|total| total == 1)
            });
        }
    });
    following.end();
}

#[test]
fn what_a_crash_can_leave_is_mended_at_the_next_start() {
    let database = cluster().database();
    let folder = cluster().var_folder();
    type Spoil = fn(&Path);
    let spoil: [(&str, Spoil); 4] = [
        ("nothing", |_| {}),
        ("no index", |folder| {
            fs::remove_file(folder.join("current")).expect("removed")
        }),
        ("no folder", |folder| {
            fs::remove_dir_all(folder).expect("removed")
        }),
        ("a cut file", |folder| {
            let current = fs::read_to_string(folder.join("current")).expect("a name");
            fs::write(folder.join(current.trim_end()).join("meta.json"), "{\"seg")
                .expect("written");
        }),
    ];
    for (n, (harm, spoil)) in spoil.into_iter().enumerate() {
        let (following, _) = Following::begin(&database, &folder);
        let (mentor, enrolments, before) = aside(|| {
            let mut owner = connect(&database.owner_url);
            if n == 0 {
                mentor_with_a_draft(&mut Invented::new(&mut owner, 11));
            }
            let counted = "SELECT count(*) FROM archive_document";
            let before: i64 = owner.query_one(counted, &[]).expect("a number").get(0);
            // As many documents may still lack their last change.
            let written: i64 = owner
                .query_one("SELECT max(tx) FROM feed", &[])
                .expect("a place")
                .get(0);
            wait_until("all documents", || {
                following.archive.documents() == Some(before as u64)
                    && following.archive.position() >= Some(written as u64)
            });
            let row = owner
                .query_one("SELECT school_id, mentor_id FROM enrolment LIMIT 1", &[])
                .expect("an enrolment");
            let mentor = Asking {
                school: row.get(0),
                person: row.get(1),
                roles: vec!["mentor"],
            };
            let rows = owner
                .query(
                    "SELECT id FROM enrolment WHERE school_id = $1",
                    &[&mentor.school],
                )
                .expect("enrolments");
            (
                mentor,
                rows.iter().map(|row| row.get(0)).collect::<Vec<Uuid>>(),
                before,
            )
        });
        let wanted = count(&following.archive, &mentor, &enrolments, "").expect("an answer");
        following.end();
        spoil(&folder);
        let (following, state) = Following::begin(&database, &folder);
        assert_eq!(state.is_err(), harm != "nothing", "{harm}: {state:?}");
        wait_until(harm, || {
            following.archive.documents() == Some(before as u64)
        });
        assert_eq!(
            count(&following.archive, &mentor, &enrolments, "").expect("an answer"),
            wanted,
            "{harm}"
        );
        following.end();
    }
}

#[test]
fn an_index_that_lost_a_document_or_is_asked_to_is_rebuilt() {
    let database = cluster().database();
    let folder = cluster().var_folder();
    let (following, _) = Following::begin(&database, &folder);
    let documents = aside(|| {
        let mut owner = connect(&database.owner_url);
        mentor_with_a_draft(&mut Invented::new(&mut owner, 13));
        let documents: i64 = owner
            .query_one("SELECT count(*) FROM archive_document", &[])
            .expect("a number")
            .get(0);
        documents as u64
    });
    wait_until("all documents", || {
        following.archive.documents() == Some(documents)
    });
    let first = fs::read_to_string(folder.join("current")).expect("a name");
    want_rebuild(&folder).expect("asked");
    wait_until("a rebuild", || !is_rebuild_wanted(&folder));
    let second = fs::read_to_string(folder.join("current")).expect("a name");
    assert_ne!(first, second, "another index is in use");
    following.end();

    // A document vanishes from the index behind the follower's back.
    let source = {
        let (following, _) = Following::begin(&database, &folder);
        wait_until("opened", || following.archive.source().is_some());
        let source = following.archive.source().expect("a source");
        following.end();
        source
    };
    let (archive, state) = Archive::open(&folder, &source).expect("the folder");
    assert_eq!(state, Ok(()));
    let lost = aside(|| {
        let row = connect(&database.owner_url)
            .query_one("SELECT id FROM note WHERE words <> '' LIMIT 1", &[])
            .expect("a note");
        archive::DocumentKey {
            sort: archive::Sort::Note,
            id: row.get(0),
        }
    });
    archive
        .apply(
            &[archive::Change::Remove(lost)],
            archive.position().expect("a position"),
        )
        .expect("removed");
    drop(archive);
    let (following, state) = Following::begin(&database, &folder);
    assert_eq!(state, Ok(()));
    wait_until("mended", || {
        following.archive.documents() == Some(documents)
    });
    following.end();
}
