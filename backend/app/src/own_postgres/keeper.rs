//! The thread that starts the server, watches it and stops it.
//!
//! The kernel's death signal fires when the *thread* that spawned a process ends, so the server is spawned on
//! a thread that lives exactly as long as the server shall.

use std::fs;
use std::path::Path;
use std::process::{Child, Command};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};

use super::OwnPostgresError;

const READY_WITHIN: Duration = Duration::from_secs(60);
const STOP_WITHIN: Duration = Duration::from_secs(20);
const LOOK_EVERY: Duration = Duration::from_millis(10);
const WATCH_EVERY: Duration = Duration::from_millis(250);

/// A started server and the thread that keeps it.
#[derive(Debug)]
pub(super) struct Keeper {
    process_id: i32,
    running: Arc<AtomicBool>,
    stop: Option<mpsc::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Keeper {
    /// Spawns the server and waits until it takes sessions.
    pub fn start(mut command: Command, data: &Path, log: &Path) -> Result<Self, OwnPostgresError> {
        let (started, start) = mpsc::channel();
        let (stop, stopping) = mpsc::channel::<()>();
        let running = Arc::new(AtomicBool::new(true));
        let flag = Arc::clone(&running);
        let program = command.get_program().into();
        let thread = thread::Builder::new()
            .name("own-postgres".into())
            .spawn(move || match command.spawn() {
                Ok(child) => {
                    if started.send(Ok(child.id().cast_signed())).is_ok() {
                        keep(child, &stopping, &flag);
                    }
                }
                Err(e) => drop(started.send(Err(e))),
            })
            .map_err(|source| OwnPostgresError::Start { program, source })?;
        let spawned = start
            .recv()
            .unwrap_or_else(|_| Err(std::io::Error::other("the keeper's thread ended")));
        let process_id = spawned.map_err(|source| OwnPostgresError::Start {
            program: "setpriv".into(),
            source,
        })?;
        let keeper = Self {
            process_id,
            running,
            stop: Some(stop),
            thread: Some(thread),
        };
        keeper.wait_until_ready(data, log)?;
        Ok(keeper)
    }

    pub fn process_id(&self) -> i32 {
        self.process_id
    }

    pub fn is_running(&self) -> bool {
        self.running.load(Ordering::Acquire)
    }

    fn wait_until_ready(&self, data: &Path, log: &Path) -> Result<(), OwnPostgresError> {
        let start = Instant::now();
        loop {
            if says_ready(data, self.process_id) {
                return Ok(());
            }
            if !self.is_running() {
                return Err(OwnPostgresError::Ended {
                    log: log.to_owned(),
                    tail: tail(log),
                });
            }
            if start.elapsed() > READY_WITHIN {
                return Err(OwnPostgresError::NotReady {
                    log: log.to_owned(),
                    waited: READY_WITHIN,
                });
            }
            thread::sleep(LOOK_EVERY);
        }
    }
}

impl Drop for Keeper {
    fn drop(&mut self) {
        drop(self.stop.take());
        if let Some(thread) = self.thread.take()
            && thread.join().is_err()
        {
            tracing::error!("the thread that keeps Postgres panicked");
        }
    }
}

/// Watches the server until it ends or shall stop (the sender is dropped), then stops it.
fn keep(mut child: Child, stopping: &mpsc::Receiver<()>, running: &AtomicBool) {
    loop {
        match stopping.recv_timeout(WATCH_EVERY) {
            Err(RecvTimeoutError::Timeout) => {
                if matches!(child.try_wait(), Ok(Some(_)) | Err(_)) {
                    break;
                }
            }
            Ok(()) | Err(RecvTimeoutError::Disconnected) => {
                stop(&mut child);
                break;
            }
        }
    }
    running.store(false, Ordering::Release);
}

/// Fast shutdown (roll back, checkpoint, exit), then the immediate one.
fn stop(child: &mut Child) {
    for signal in [Signal::INT, Signal::QUIT] {
        send(child.id().cast_signed(), signal);
        let start = Instant::now();
        while start.elapsed() < STOP_WITHIN {
            if matches!(child.try_wait(), Ok(Some(_)) | Err(_)) {
                return;
            }
            thread::sleep(LOOK_EVERY);
        }
    }
    if let Err(e) = child.kill().and_then(|()| child.wait()) {
        tracing::error!(error = %e, "cannot end Postgres");
    }
}

/// Sends a signal; a process that is gone already is no error.
pub(super) fn send(process_id: i32, signal: Signal) {
    if let Some(pid) = Pid::from_raw(process_id)
        && let Err(e) = kill_process(pid, signal)
        && e != rustix::io::Errno::SRCH
    {
        tracing::warn!(process_id, error = %e, "cannot signal Postgres");
    }
}

/// `postmaster.pid` names the process in its first line and the state in its eighth (Postgres,
/// src/include/utils/pidfile.h).
fn says_ready(data: &Path, process_id: i32) -> bool {
    fs::read_to_string(data.join("postmaster.pid")).is_ok_and(|text| {
        let mut lines = text.lines().map(str::trim);
        lines.next() == Some(process_id.to_string().as_str()) && lines.nth(6) == Some("ready")
    })
}

fn tail(log: &Path) -> String {
    let text = fs::read_to_string(log).unwrap_or_default();
    let lines: Vec<&str> = text.lines().collect();
    lines[lines.len().saturating_sub(8)..].join("\n")
}
