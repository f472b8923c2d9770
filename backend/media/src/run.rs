//! Runs one job to its end, whatever that is, and lets nothing of it live on.

use std::future::Future;
use std::io;
use std::ops::ControlFlow;
use std::os::unix::process::ExitStatusExt;
use std::pin::Pin;
use std::process::{ExitStatus, Stdio};
use std::time::Duration;

use rustix::process::{Pid, Signal, kill_process_group};
use tokio::io::{AsyncRead, AsyncReadExt};
use tokio::process::{Child, ChildStdin};

use crate::sandbox::{Job, Sandbox, never_began};

/// What is kept of a program's complaints.
const MOST_STDERR: usize = 64 << 10;

/// How long the last holders of a killed job's pipes get to disappear.
const DRAIN: Duration = Duration::from_secs(2);

/// How a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    /// By itself.
    Exited(i32),
    /// By a signal: a limit of the kernel, the machine's memory, or somebody.
    Signalled(i32),
    /// Past its time.
    TimedOut,
    /// Ended by the reader of its output.
    Stopped,
    /// Ended because the caller no longer wants it.
    Cancelled,
}

impl End {
    fn of(status: ExitStatus) -> Self {
        match (status.code(), status.signal()) {
            // The shell's and bubblewrap's way to report a signal.
            (Some(code @ 129..=159), _) => Self::Signalled(code - 128),
            (Some(code), _) => Self::Exited(code),
            (None, signal) => Self::Signalled(signal.unwrap_or(0)),
        }
    }
}

/// A job that has ended.
#[derive(Debug)]
pub(crate) struct Ended {
    pub(crate) end: End,
    pub(crate) stderr: String,
}

/// A wish to stop, that may come at any moment.
pub(crate) struct Cancel<'a> {
    wish: Pin<Box<dyn Future<Output = ()> + Send + 'a>>,
    came: bool,
}

impl<'a> Cancel<'a> {
    pub(crate) fn new(wish: impl Future<Output = ()> + Send + 'a) -> Self {
        Self {
            wish: Box::pin(wish),
            came: false,
        }
    }

    pub(crate) fn never() -> Self {
        Self::new(std::future::pending())
    }

    async fn asked(&mut self) {
        if !self.came {
            self.wish.as_mut().await;
            self.came = true;
        }
    }
}

/// Writes a job's standard input.
pub(crate) type Feed =
    Box<dyn FnOnce(ChildStdin) -> Pin<Box<dyn Future<Output = io::Result<()>> + Send>> + Send>;

/// Sees a job's output piece by piece and may end the job.
pub(crate) type OnOutput<'a> = dyn FnMut(&[u8]) -> ControlFlow<()> + Send + 'a;

/// Runs a job for at most `wall`. An error means that it never began.
///
/// When this returns, or is dropped, the whole process group has been killed; with namespaces that takes every
/// descendant along, whatever session it moved itself to.
pub(crate) async fn run(
    sandbox: &Sandbox,
    job: &Job<'_>,
    wall: Duration,
    cancel: &mut Cancel<'_>,
    on_output: &mut OnOutput<'_>,
    feed: Option<Feed>,
) -> io::Result<Ended> {
    let mut command = sandbox.command(job)?;
    command
        .stdin(if feed.is_some() {
            Stdio::piped()
        } else {
            Stdio::null()
        })
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn()?;
    let mut group = Group::of(&child);
    let (Some(stdout), Some(stderr)) = (child.stdout.take(), child.stderr.take()) else {
        return Err(io::Error::other("the job has no pipes"));
    };
    let feeding = feed
        .zip(child.stdin.take())
        .map(|(feed, stdin)| feed(stdin));
    let mut complaints = Vec::new();
    let mut pumps = Box::pin(async {
        let (flow, (), ()) = tokio::join!(
            pump(stdout, on_output),
            keep_first(stderr, &mut complaints),
            fill(feeding)
        );
        flow
    });
    let mut flow = None;
    let mut clock = std::pin::pin!(tokio::time::sleep(wall));
    let mut end = loop {
        tokio::select! {
            status = child.wait() => break End::of(status?),
            seen = &mut pumps, if flow.is_none() => {
                flow = Some(seen);
                if seen.is_break() { break End::Stopped; }
            }
            () = &mut clock => break End::TimedOut,
            () = cancel.asked() => break End::Cancelled,
        }
    };
    group.kill();
    child.wait().await?;
    // The pipes close with their last holder: only then has everything gone.
    if flow.is_none() {
        match tokio::time::timeout(DRAIN, &mut pumps).await {
            Ok(seen) if seen.is_break() => end = End::Stopped,
            Ok(_) => {}
            Err(_) => tracing::warn!("a job's output was still open after it was killed"),
        }
    }
    drop(pumps);
    let stderr = String::from_utf8_lossy(&complaints).into_owned();
    match end {
        End::Exited(1..) if never_began(&stderr) => Err(io::Error::other(stderr)),
        _ => Ok(Ended { end, stderr }),
    }
}

async fn fill(feeding: Option<Pin<Box<dyn Future<Output = io::Result<()>> + Send>>>) {
    if let Some(feeding) = feeding
        && let Err(error) = feeding.await
    {
        // A job that ends early closes its input; its own end says why.
        tracing::debug!(%error, "a job stopped reading its input");
    }
}

async fn pump(mut pipe: impl AsyncRead + Unpin, on_bytes: &mut OnOutput<'_>) -> ControlFlow<()> {
    let mut buffer = vec![0; 32 << 10];
    loop {
        match pipe.read(&mut buffer).await {
            Ok(0) | Err(_) => return ControlFlow::Continue(()),
            Ok(n) => on_bytes(&buffer[..n])?,
        }
    }
}

/// Keeps the beginning and reads on, so that a job that complains a lot is not blocked by a full pipe.
async fn keep_first(mut pipe: impl AsyncRead + Unpin, kept: &mut Vec<u8>) {
    let mut buffer = [0; 4 << 10];
    while let Ok(n @ 1..) = pipe.read(&mut buffer).await {
        let room = MOST_STDERR.saturating_sub(kept.len()).min(n);
        kept.extend_from_slice(&buffer[..room]);
    }
}

/// The process group of a job, killed when this goes.
struct Group(Option<Pid>);

impl Group {
    fn of(child: &Child) -> Self {
        Self(
            child
                .id()
                .and_then(|id| Pid::from_raw(i32::try_from(id).ok()?)),
        )
    }

    fn kill(&mut self) {
        if let Some(group) = self.0.take() {
            // "No such process" is the good case: everything has gone by itself.
            kill_process_group(group, Signal::KILL).ok();
        }
    }
}

impl Drop for Group {
    fn drop(&mut self) {
        self.kill();
    }
}

#[cfg(test)]
mod tests;
