//! What a hostile program can and cannot do inside. The programs are small shell scripts.

use std::net::TcpListener;
use std::path::Path;
use std::sync::LazyLock;
use std::time::Instant;

use super::*;
use crate::sandbox::{Caps, words};

static SHUT_IN: LazyLock<Sandbox> = LazyLock::new(Sandbox::detect);

const CAPS: Caps = Caps {
    cpu_seconds: 30,
    memory_bytes: 1 << 30,
    file_bytes: 1 << 20,
};

struct Tried {
    end: End,
    stdout: String,
    stderr: String,
}

fn job<'a>(script: &str, input: &'a Path, out_dir: &'a Path, caps: Caps) -> Job<'a> {
    Job {
        program: Path::new("/usr/bin/bash"),
        args: words(["-c", script]),
        input: Some(input),
        out_dir: Some(out_dir),
        caps,
    }
}

/// Runs a script with an input file and an output folder; at most 100 kB of output are taken.
async fn attempt(
    sandbox: &Sandbox,
    script: &str,
    caps: Caps,
    wall: Duration,
    folder: &Path,
) -> Tried {
    let (input, out_dir) = (folder.join("input"), folder.join("out"));
    std::fs::write(&input, "the input").unwrap();
    std::fs::create_dir_all(&out_dir).unwrap();
    let mut stdout = Vec::new();
    let mut take = |bytes: &[u8]| {
        stdout.extend_from_slice(bytes);
        if stdout.len() > 100_000 {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    };
    let job = job(script, &input, &out_dir, caps);
    let ended = run(sandbox, &job, wall, &mut Cancel::never(), &mut take, None)
        .await
        .unwrap();
    Tried {
        end: ended.end,
        stdout: String::from_utf8_lossy(&stdout).into_owned(),
        stderr: ended.stderr,
    }
}

async fn inside(script: &str) -> Tried {
    let folder = tempfile::tempdir().unwrap();
    attempt(
        &SHUT_IN,
        script,
        CAPS,
        Duration::from_secs(60),
        folder.path(),
    )
    .await
}

/// Whether any process on this machine has the word among its arguments.
fn lives(word: &str) -> bool {
    std::fs::read_dir("/proc").unwrap().flatten().any(|entry| {
        std::fs::read(entry.path().join("cmdline")).is_ok_and(|line| {
            line.split(|&byte| byte == 0)
                .any(|argument| argument == word.as_bytes())
        })
    })
}

/// Waits for processes that were killed a moment ago.
async fn gone(word: &str) -> bool {
    for _ in 0..100 {
        if !lives(word) {
            return true;
        }
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    false
}

#[test]
fn this_machine_has_namespaces() {
    assert!(SHUT_IN.is_isolated(), "{}", SHUT_IN.describe());
    let bare = SHUT_IN.clone().without_namespaces();
    assert!(
        bare.describe()
            .contains("can see the server's files and network")
    );
}

#[tokio::test]
async fn a_job_that_cannot_begin_is_no_fault_of_the_file() {
    for sandbox in [SHUT_IN.clone(), SHUT_IN.clone().without_namespaces()] {
        let job = Job {
            program: Path::new("/usr/bin/there-is-no-such-program"),
            args: Vec::new(),
            input: None,
            out_dir: None,
            caps: CAPS,
        };
        let mut ignore = |_: &[u8]| ControlFlow::Continue(());
        let wall = Duration::from_secs(60);
        let error = run(
            &sandbox,
            &job,
            wall,
            &mut Cancel::never(),
            &mut ignore,
            None,
        )
        .await
        .unwrap_err();
        assert!(error.to_string().contains("No such file"), "{error}");
    }
}

#[tokio::test]
async fn only_the_input_and_the_system_programs_are_seen() {
    let tried =
        inside("cat /in/file; id -u; ls -A / /in; cat /etc/passwd; ls /root /home /var /tmp /proc")
            .await;
    assert_eq!(
        tried.stdout,
        "the input65534\n/:\nbin\ndev\netc\nin\nlib\nlib64\nout\nusr\n\n/in:\nfile\n"
    );
    assert!(tried.stderr.contains("/etc/passwd: No such file"));
}

#[tokio::test]
async fn only_the_output_folder_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let script =
        "touch /usr/x; touch /x; touch /etc/x; touch /in/x; echo bad > /in/file; echo good > here";
    let tried = attempt(
        &SHUT_IN,
        script,
        CAPS,
        Duration::from_secs(60),
        folder.path(),
    )
    .await;
    assert_eq!(
        tried.stderr.matches("Read-only file system").count(),
        5,
        "{}",
        tried.stderr
    );
    assert_eq!(
        std::fs::read_to_string(folder.path().join("input")).unwrap(),
        "the input"
    );
    assert_eq!(
        std::fs::read_to_string(folder.path().join("out/here")).unwrap(),
        "good\n"
    );
}

#[tokio::test]
async fn there_is_no_network() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    listener.set_nonblocking(true).unwrap();
    let script = format!(
        "cat < /dev/tcp/127.0.0.1/{}",
        listener.local_addr().unwrap().port()
    );
    let tried = inside(&script).await;
    assert!(tried.stderr.contains("/dev/tcp"), "{}", tried.stderr);
    assert_eq!(
        listener.accept().unwrap_err().kind(),
        io::ErrorKind::WouldBlock
    );
}

#[tokio::test]
async fn sleepers_go_when_the_time_is_up() {
    let folder = tempfile::tempdir().unwrap();
    // Every script sleeps a number of seconds of its own, by which it is looked for.
    let wall = Duration::from_secs(2);
    let script = "setsid sleep 700101 & sleep 700101 & sleep 700101";
    let tried = attempt(&SHUT_IN, script, CAPS, wall, folder.path()).await;
    assert_eq!(tried.end, End::TimedOut);
    assert!(!lives("700101"), "a sleeper outlived its job");

    let bare = SHUT_IN.clone().without_namespaces();
    let tried = attempt(
        &bare,
        "sleep 700102 & sleep 700102",
        CAPS,
        wall,
        folder.path(),
    )
    .await;
    assert_eq!(tried.end, End::TimedOut);
    assert!(gone("700102").await);
}

#[tokio::test]
async fn sleepers_go_with_the_program_that_left_them() {
    for sandbox in [SHUT_IN.clone(), SHUT_IN.clone().without_namespaces()] {
        let folder = tempfile::tempdir().unwrap();
        let started = Instant::now();
        let tried = attempt(
            &sandbox,
            "sleep 700103 & exit 3",
            CAPS,
            Duration::from_secs(60),
            folder.path(),
        )
        .await;
        assert_eq!(tried.end, End::Exited(3));
        assert!(gone("700103").await);
        assert!(started.elapsed() < Duration::from_secs(30));
    }
}

#[tokio::test]
async fn spinning_ends_at_the_limit_of_computing_time() {
    for sandbox in [SHUT_IN.clone(), SHUT_IN.clone().without_namespaces()] {
        let folder = tempfile::tempdir().unwrap();
        let caps = Caps {
            cpu_seconds: 1,
            ..CAPS
        };
        let tried = attempt(
            &sandbox,
            "while :; do :; done",
            caps,
            Duration::from_secs(90),
            folder.path(),
        )
        .await;
        assert!(
            matches!(tried.end, End::Signalled(9 | 24)),
            "{:?}",
            tried.end
        );
    }
}

#[tokio::test]
async fn floods_are_cut() {
    assert_eq!(inside("yes").await.end, End::Stopped);
    let folder = tempfile::tempdir().unwrap();
    let tried = attempt(
        &SHUT_IN,
        "yes >&2",
        CAPS,
        Duration::from_secs(2),
        folder.path(),
    )
    .await;
    assert_eq!(
        (tried.end, tried.stderr.len()),
        (End::TimedOut, MOST_STDERR)
    );
}

#[tokio::test]
async fn files_and_memory_are_bounded() {
    let folder = tempfile::tempdir().unwrap();
    let script = "head -c 90000000 /dev/zero > big";
    let tried = attempt(
        &SHUT_IN,
        script,
        CAPS,
        Duration::from_secs(60),
        folder.path(),
    )
    .await;
    assert!(matches!(tried.end, End::Signalled(25)), "{:?}", tried.end);
    assert!(
        std::fs::metadata(folder.path().join("out/big"))
            .unwrap()
            .len()
            <= CAPS.file_bytes
    );
    // `tail` keeps a last line in memory, and this one has no end.
    let tried = inside("head -c 3000000000 /dev/zero | tail -n 1 | wc -c").await;
    assert!(
        tried.stderr.contains("memory exhausted"),
        "{:?} {}",
        tried.end,
        tried.stderr
    );
}

#[tokio::test]
async fn cancelled_and_dropped_jobs_are_gone() {
    let folder = tempfile::tempdir().unwrap();
    let input = folder.path().join("input");
    std::fs::write(&input, "").unwrap();
    let soon = Duration::from_millis(300);
    let wall = Duration::from_secs(60);
    let mut ignore = |_: &[u8]| ControlFlow::Continue(());

    let asleep = job(
        "setsid sleep 700104 & sleep 700104",
        &input,
        folder.path(),
        CAPS,
    );
    let mut cancel = Cancel::new(async {
        tokio::time::sleep(soon).await;
        assert!(lives("700104"), "the search for sleepers does not see them");
    });
    let ended = run(&SHUT_IN, &asleep, wall, &mut cancel, &mut ignore, None)
        .await
        .unwrap();
    assert_eq!(ended.end, End::Cancelled);
    assert!(!lives("700104"));

    let asleep = job(
        "setsid sleep 700105 & sleep 700105",
        &input,
        folder.path(),
        CAPS,
    );
    let mut never = Cancel::never();
    let running = run(&SHUT_IN, &asleep, wall, &mut never, &mut ignore, None);
    assert!(tokio::time::timeout(soon, running).await.is_err());
    assert!(gone("700105").await);
}
