//! Starting, stopping, being killed, running side by side, stepping down from root.

use std::fs::{self, Permissions};
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::Path;

use rustix::process::{Signal, geteuid};
use tests::harness::client::Client;
use tests::harness::cluster::cluster;
use tests::harness::process::{Serving, command_at, eventually, processes_naming, program};

fn owner(process: i32) -> u32 {
    fs::metadata(format!("/proc/{process}"))
        .expect("a live process")
        .uid()
}

fn postgres_of(var: &Path) -> Vec<i32> {
    processes_naming(&var.join("postgres/data"))
}

#[tokio::test]
async fn it_serves_and_ctrl_c_stops_everything_it_started() {
    let var = cluster().var_folder();
    let mut program = Serving::start(&var);
    let nobody = Client::anonymous(&program.address);
    assert_eq!(nobody.get("/healthz").await.status, 200);
    assert_eq!(nobody.get("/readyz").await.status, 200);
    assert!(!postgres_of(&var).is_empty());
    for process in postgres_of(&var).into_iter().chain([program.process_id()]) {
        assert_ne!(owner(process), 0, "runs as root");
    }
    assert_eq!(program.end(Signal::INT), Some(0));
    assert_eq!(postgres_of(&var), [0; 0], "Postgres still runs");
}

#[tokio::test]
async fn a_kill_leaves_nothing_that_the_next_start_cannot_take_over() {
    let var = cluster().var_folder();
    for round in 0..3 {
        let mut program = Serving::start(&var);
        let nobody = Client::anonymous(&program.address);
        assert_eq!(nobody.get("/readyz").await.status, 200, "round {round}");
        program.end(Signal::KILL);
    }
    eventually("the killed program's Postgres ends by itself", || {
        postgres_of(&var).is_empty()
    });
}

#[tokio::test]
async fn a_second_start_on_the_same_folder_is_refused_and_harms_nothing() {
    let var = cluster().var_folder();
    let program = Serving::start(&var);
    let refused =
        tests::harness::process::output(tests::harness::process::command(&var).arg("serve"));
    let words = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert_eq!(refused.status.code(), Some(1));
    assert!(words.contains("another refrain is running"), "{words}");
    let nobody = Client::anonymous(&program.address);
    assert_eq!(nobody.get("/readyz").await.status, 200);
}

#[tokio::test]
async fn several_run_side_by_side() {
    let (one, two) = (cluster().var_folder(), cluster().var_folder());
    let (first, second) = (Serving::start(&one), Serving::start(&two));
    assert_ne!(first.address, second.address);
    for program in [&first, &second] {
        assert_eq!(
            Client::anonymous(&program.address)
                .get("/readyz")
                .await
                .status,
            200
        );
    }
}

#[tokio::test]
async fn root_may_start_it_from_a_closed_home() {
    if !geteuid().is_root() {
        return;
    }
    let home = tempfile::tempdir().expect("a folder");
    fs::set_permissions(home.path(), Permissions::from_mode(0o700)).expect("a closed folder");
    let copy = home.path().join("refrain");
    fs::copy(program(), &copy).expect("a copy of the program");
    let var = cluster().var_folder().join("var");
    let mut command = command_at(&copy, &var);
    command.arg("serve").current_dir(home.path());
    let program = Serving::start_with(&mut command, &var);
    assert_ne!(owner(program.process_id()), 0);
    assert_ne!(fs::metadata(&var).expect("the var folder").uid(), 0);
    assert_eq!(
        Client::anonymous(&program.address)
            .get("/readyz")
            .await
            .status,
        200
    );
}
