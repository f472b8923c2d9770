use super::*;

fn options(folder: &Path) -> OwnPostgresOptions {
    OwnPostgresOptions {
        folder: folder.join("postgres"),
        binaries: None,
        durable: false,
        max_connections: 10,
    }
}

/// A folder that Postgres's user can reach when the tests run as root.
fn reachable_folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::set_permissions(folder.path(), Permissions::from_mode(0o755)).unwrap();
    folder
}

#[test]
fn a_long_path_is_refused_with_its_excess() {
    let long = PathBuf::from(format!("/{}", "x".repeat(92)));
    // 93 + "/s" + "/.s.PGSQL.5432" = 109: two more than fit.
    match socket_folder(&long) {
        Err(OwnPostgresError::PathTooLong { excess, .. }) => assert_eq!(excess, 2),
        other => panic!("{other:?}"),
    }
    assert!(socket_folder(&PathBuf::from(format!("/{}", "x".repeat(90)))).is_ok());
}

#[test]
fn a_socket_url_escapes_its_folder() {
    assert_eq!(
        socket_url(Path::new("/a b/s"), "refrain_app", "refrain"),
        "postgres://refrain_app@%2Fa%20b%2Fs/refrain"
    );
}

#[test]
fn starts_refuses_a_second_joins_stops_and_is_taken_over() {
    let root = reachable_folder();
    let options = options(root.path());
    let first = OwnPostgres::start(&options).unwrap();
    let process = first.process_id().unwrap();
    assert!(leftovers::answers(&first.socket_folder));
    let owner = fs::metadata(format!("/proc/{process}")).unwrap();
    assert_ne!(
        std::os::unix::fs::MetadataExt::uid(&owner),
        0,
        "Postgres runs as root"
    );

    assert!(matches!(
        OwnPostgres::start(&options),
        Err(OwnPostgresError::Busy(_))
    ));
    let joined = OwnPostgres::start_or_join(&options).unwrap();
    assert!(!joined.is_ours());
    drop(joined);
    assert!(
        leftovers::answers(&first.socket_folder),
        "a joined one must not stop it"
    );

    // As if this program had been killed without the death signal: the server runs on, the lock is free.
    let data = options.folder.join("data");
    let mut orphan = first;
    let keeper = orphan.keeper.take().unwrap();
    std::mem::forget(keeper);
    drop(orphan);
    assert!(leftovers::processes_in(&data).contains(&process));
    let second = OwnPostgres::start(&options).unwrap();
    assert_ne!(second.process_id(), Some(process));
    assert!(!leftovers::processes_in(&data).contains(&process));

    drop(second);
    assert!(leftovers::processes_in(&data).is_empty());
}

#[test]
fn an_interrupted_init_and_stale_files_do_not_matter() {
    let root = reachable_folder();
    let options = options(root.path());
    let half_made = options.folder.join("data.init");
    fs::create_dir_all(&half_made).unwrap();
    fs::write(half_made.join("PG_VERSION"), "15\n").unwrap();
    drop(OwnPostgres::start(&options).unwrap());

    // Process 1 lives, is not ours, and must be neither believed nor harmed.
    fs::write(options.folder.join("data/postmaster.pid"), "1\nnonsense\n").unwrap();
    fs::write(options.folder.join("s").join(SOCKET_NAME), "").unwrap();
    let server = OwnPostgres::start(&options).unwrap();
    assert!(server.is_running());
}
