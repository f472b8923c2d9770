//! What a program that was killed left behind: a server still running, or stale files.

use std::fs;
use std::io::{Read, Write};
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use rustix::process::Signal;

use super::keeper::send;
use super::{OwnPostgresError, SOCKET_NAME};

const LOOK_EVERY: Duration = Duration::from_millis(20);

/// Ends every process of an earlier server on that data folder, gently first, and removes its stale files.
/// The caller holds the folder's lock, so no living program needs them.
pub(super) fn end(data: &Path, socket_folder: &Path) -> Result<(), OwnPostgresError> {
    for (signal, patience) in [
        (Signal::INT, Duration::from_secs(10)),
        (Signal::QUIT, Duration::from_secs(5)),
        (Signal::KILL, Duration::from_secs(5)),
    ] {
        let leader = leader(data);
        for process in processes_in(data) {
            // The fast shutdown is the leader's to arrange; without one, its orphans are told themselves.
            if signal != Signal::INT || leader.is_none_or(|l| l == process) {
                send(process, signal);
            }
        }
        let start = Instant::now();
        while start.elapsed() < patience && !processes_in(data).is_empty() {
            thread::sleep(LOOK_EVERY);
        }
    }
    if let Some(process) = processes_in(data).first() {
        return Err(OwnPostgresError::Stuck(*process));
    }
    let stale = [
        data.join("postmaster.pid"),
        socket_folder.join(SOCKET_NAME),
        socket_folder.join(format!("{SOCKET_NAME}.lock")),
    ];
    for file in stale {
        match fs::remove_file(&file) {
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => {
                return Err(OwnPostgresError::file(&file)(e));
            }
            _ => {}
        }
    }
    Ok(())
}

/// The leading process by `postmaster.pid`, if it lives.
fn leader(data: &Path) -> Option<i32> {
    let text = fs::read_to_string(data.join("postmaster.pid")).ok()?;
    let named = text.lines().next()?.trim().parse().ok()?;
    processes_in(data).contains(&named).then_some(named)
}

/// Live processes whose working directory is the data folder: a server and its backends. A zombie has none.
pub(super) fn processes_in(data: &Path) -> Vec<i32> {
    let Ok(data) = data.canonicalize() else {
        return vec![];
    };
    let Ok(processes) = fs::read_dir("/proc") else {
        return vec![];
    };
    processes
        .flatten()
        .filter_map(|entry| entry.file_name().to_str()?.parse::<i32>().ok())
        .filter(|id| fs::read_link(format!("/proc/{id}/cwd")).is_ok_and(|cwd| cwd == data))
        .collect()
}

/// Whether a server takes sessions there: it answers an `SSLRequest` with `N`, no encryption on a socket
/// (Postgres documentation, "Message Formats"). One that is being killed no longer does.
pub(super) fn answers(socket_folder: &Path) -> bool {
    const SSL_REQUEST: [u8; 8] = [0, 0, 0, 8, 0x04, 0xd2, 0x16, 0x2f];
    let Ok(mut socket) = UnixStream::connect(socket_folder.join(SOCKET_NAME)) else {
        return false;
    };
    let mut answer = [0];
    socket
        .set_read_timeout(Some(Duration::from_secs(2)))
        .and_then(|()| socket.write_all(&SSL_REQUEST))
        .and_then(|()| socket.read_exact(&mut answer))
        .is_ok()
        && answer == *b"N"
}
