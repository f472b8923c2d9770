//! The program as a process of its own, with its own Postgres, as its users start it.

use std::fs;
use std::io::{BufRead, BufReader};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, geteuid, kill_process};

/// How long a start may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(90);

/// A command of the program with a var folder and an empty environment otherwise.
pub fn command(var: &Path) -> Command {
    command_at(Path::new(&program()), var)
}

/// The same for a copy of the program.
pub fn command_at(program: &Path, var: &Path) -> Command {
    let mut command = Command::new(program);
    command
        .env_clear()
        .env("PATH", std::env::var_os("PATH").unwrap_or_default())
        .env("REFRAIN_VAR", var)
        .env("REFRAIN_LISTEN", "127.0.0.1:0")
        .env("REFRAIN_PG_DURABLE", "no")
        .env("REFRAIN_LOG_FORMAT", "json")
        .current_dir("/");
    command
}

/// The program's file, built with the tests.
pub fn program() -> PathBuf {
    // Beside the folder that the test binary lies in.
    let own = std::env::current_exe().expect("our own path");
    let folder = own
        .parent()
        .and_then(Path::parent)
        .expect("the target folder");
    folder.join("refrain-under-test")
}

/// Runs a command to its end.
pub fn output(command: &mut Command) -> Output {
    command
        .stdin(Stdio::null())
        .output()
        .expect("the program runs")
}

/// A program that serves; ended when dropped.
pub struct Serving {
    child: Child,
    /// Where it answers.
    pub address: String,
    /// Its var folder.
    pub var: PathBuf,
}

impl Serving {
    /// Starts `refrain serve` and waits until it answers.
    pub fn start(var: &Path) -> Self {
        Self::start_with(command(var).arg("serve"), var)
    }

    /// Starts that command and waits until it says where it answers.
    pub fn start_with(command: &mut Command, var: &Path) -> Self {
        let mut child = command
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let log = BufReader::new(child.stderr.take().expect("its log"));
        let (found, address) = mpsc::channel();
        let lines = thread::spawn(move || {
            let mut seen = vec![];
            for line in log.lines().map_while(Result::ok) {
                if let Ok(event) = serde_json::from_str::<serde_json::Value>(&line)
                    && let Some(url) = event["url"].as_str()
                {
                    found.send(url.to_owned()).ok();
                }
                seen.push(line);
            }
            seen
        });
        match address.recv_timeout(PATIENCE) {
            Ok(address) => Self {
                child,
                address,
                var: var.to_owned(),
            },
            Err(_) => {
                child.kill().ok();
                child.wait().ok();
                panic!(
                    "it did not start:\n{}",
                    lines.join().unwrap_or_default().join("\n")
                );
            }
        }
    }

    /// Its process.
    pub fn process_id(&self) -> i32 {
        self.child.id().cast_signed()
    }

    /// Sends a signal and waits for the end; gives the exit code, if it was not ended by the signal itself.
    pub fn end(&mut self, signal: Signal) -> Option<i32> {
        end(&mut self.child, signal)
    }

    /// The address of its private Postgres for a program that runs as the same user.
    pub fn database_url(&self) -> String {
        let socket = self.var.join("postgres/s").display().to_string();
        format!(
            "postgres://refrain_owner@{}/refrain",
            socket.replace('/', "%2F")
        )
    }

    /// What its private Postgres answers, past every policy: a line a row.
    pub fn ask(&self, sql: &str) -> Vec<String> {
        let about = fs::metadata(format!("/proc/{}", self.process_id())).expect("a live process");
        // Postgres admits who runs it, and nobody else.
        let mut psql = if geteuid().is_root() {
            let mut command = Command::new("setpriv");
            command.args([
                "--reuid",
                &about.uid().to_string(),
                "--regid",
                &about.gid().to_string(),
            ]);
            command.args(["--clear-groups", "--", "psql"]);
            command
        } else {
            Command::new("psql")
        };
        psql.args(["-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1", "-c", sql]);
        let answer = output(psql.arg(self.database_url()).current_dir("/"));
        let complaint = String::from_utf8_lossy(&answer.stderr).into_owned();
        assert!(answer.status.success(), "{sql}: {complaint}");
        let lines = String::from_utf8_lossy(&answer.stdout).into_owned();
        lines.lines().map(str::to_owned).collect()
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        if matches!(self.child.try_wait(), Ok(None)) {
            self.end(Signal::INT);
        }
    }
}

/// A program that works on jobs alone; killed when dropped.
pub struct Working {
    child: Child,
}

impl Working {
    /// Starts that command, which is one of `refrain work`.
    pub fn start(command: &mut Command) -> Self {
        let child = command
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        Self { child }
    }

    /// Its process.
    pub fn process_id(&self) -> i32 {
        self.child.id().cast_signed()
    }

    /// Sends a signal that does not end it.
    pub fn signal(&self, signal: Signal) {
        let pid = Pid::from_raw(self.process_id()).expect("a process");
        kill_process(pid, signal).expect("the signal is sent");
    }

    /// Sends a signal and waits for the end; gives the exit code, if it was not ended by the signal itself.
    pub fn end(&mut self, signal: Signal) -> Option<i32> {
        end(&mut self.child, signal)
    }
}

impl Drop for Working {
    fn drop(&mut self) {
        self.child.kill().ok();
        self.child.wait().ok();
    }
}

fn end(child: &mut Child, signal: Signal) -> Option<i32> {
    let pid = Pid::from_raw(child.id().cast_signed()).expect("a process");
    kill_process(pid, signal).expect("the signal is sent");
    let start = Instant::now();
    while start.elapsed() < PATIENCE {
        if let Some(status) = child.try_wait().expect("its state") {
            return status.code();
        }
        thread::sleep(Duration::from_millis(20));
    }
    panic!("it did not end");
}

/// The processes whose command line names that folder.
pub fn processes_naming(folder: &Path) -> Vec<i32> {
    let name = folder.to_string_lossy().into_owned();
    let processes = fs::read_dir("/proc").into_iter().flatten().flatten();
    processes
        .filter_map(|entry| entry.file_name().to_str()?.parse::<i32>().ok())
        .filter(|id| {
            fs::read(format!("/proc/{id}/cmdline"))
                .is_ok_and(|line| String::from_utf8_lossy(&line).contains(&name))
        })
        .collect()
}

/// Waits until something holds.
#[track_caller]
pub fn eventually(what: &str, holds: impl Fn() -> bool) {
    let start = Instant::now();
    while !holds() {
        assert!(
            start.elapsed() < PATIENCE,
            "it never came about that {what}"
        );
        thread::sleep(Duration::from_millis(20));
    }
}
