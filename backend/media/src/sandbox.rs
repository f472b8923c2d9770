//! Where ffmpeg runs: an own root with nothing in it but the programs, the input (read only) and one output folder; no
//! network, no other processes, no rights; bounded in time, memory, file size and open files.
//!
//! With bubblewrap the kernel's namespaces do this. Where it is missing or forbidden the limits alone remain, and
//! [`Sandbox::describe`] says so.

use std::ffi::{OsStr, OsString};
use std::path::Path;
use std::process::{Command, Stdio};

const PRLIMIT: &str = "/usr/bin/prlimit";
const NICE: &str = "/usr/bin/nice";
const BWRAP: &str = "/usr/bin/bwrap";
const FFMPEG: &str = "/usr/bin/ffmpeg";
const FFPROBE: &str = "/usr/bin/ffprobe";

/// How far a program is shut in.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Isolation {
    Namespaces,
    LimitsOnly { why: String },
}

/// The sandbox of this machine, found once at start and cheap to clone.
#[derive(Debug, Clone)]
pub struct Sandbox {
    isolation: Isolation,
    missing: Vec<&'static str>,
}

/// A program to run, and what it may see.
#[derive(Debug, Clone)]
pub(crate) struct Job<'a> {
    pub(crate) program: &'a Path,
    pub(crate) args: Vec<OsString>,
    /// The one file it may read; its name inside is [`Sandbox::input_name`].
    pub(crate) input: Option<&'a Path>,
    /// The one folder it may write; the program starts in it.
    pub(crate) out_dir: Option<&'a Path>,
    pub(crate) caps: Caps,
}

/// Bounds the kernel holds on every process of a job.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Caps {
    pub(crate) cpu_seconds: u64,
    pub(crate) memory_bytes: u64,
    pub(crate) file_bytes: u64,
}

impl Sandbox {
    /// Looks for the programs in `/usr/bin` and tries whether namespaces work here. Takes some tens of milliseconds;
    /// blocks.
    pub fn detect() -> Self {
        let programs = [
            (FFMPEG, "ffmpeg"),
            (FFPROBE, "ffprobe"),
            (PRLIMIT, "prlimit"),
            (NICE, "nice"),
        ];
        let missing = programs
            .iter()
            .filter_map(|(path, name)| (!Path::new(path).exists()).then_some(*name))
            .collect();
        Self {
            isolation: try_namespaces(),
            missing,
        }
    }

    /// This sandbox without namespaces, as on a machine where they are forbidden.
    pub fn without_namespaces(self) -> Self {
        Self {
            isolation: Isolation::LimitsOnly {
                why: "switched off".into(),
            },
            ..self
        }
    }

    /// Whether the kernel's namespaces shut the programs in.
    pub fn is_isolated(&self) -> bool {
        self.isolation == Isolation::Namespaces
    }

    /// Programs that are needed and not there: `ffmpeg`, `ffprobe` (Debian package `ffmpeg`), `prlimit`
    /// (`util-linux`), `nice` (`coreutils`).
    pub fn missing(&self) -> &[&'static str] {
        &self.missing
    }

    /// One sentence for the person who runs the server.
    pub fn describe(&self) -> String {
        match &self.isolation {
            Isolation::Namespaces => {
                "ffmpeg runs shut in by bubblewrap: no network, no files but its own, bounded time and memory.".into()
            }
            Isolation::LimitsOnly { why } => format!(
                "ffmpeg runs with bounded time, memory and file size, but it can see the server's files and network: \
                 bubblewrap is not usable ({why}). Install the package bubblewrap, or allow unprivileged user namespaces."
            ),
        }
    }

    /// The name under which a job sees its input.
    pub(crate) fn input_name(&self, input: &Path) -> std::io::Result<OsString> {
        let mut name = OsString::from("file:");
        match self.isolation {
            Isolation::Namespaces => name.push("/in/file"),
            Isolation::LimitsOnly { .. } => name.push(std::path::absolute(input)?),
        }
        Ok(name)
    }

    /// The command that runs a job inside.
    pub(crate) fn command(&self, job: &Job<'_>) -> std::io::Result<tokio::process::Command> {
        let mut command = limited(job.caps);
        if self.is_isolated() {
            command.arg(BWRAP).args(NAMESPACES);
            if let Some(input) = job.input {
                command
                    .arg("--ro-bind")
                    .arg(std::path::absolute(input)?)
                    .arg("/in/file");
            }
            if let Some(out_dir) = job.out_dir {
                command
                    .arg("--bind")
                    .arg(std::path::absolute(out_dir)?)
                    .arg("/out");
                command.args(["--chdir", "/out"]);
            }
            command.args(["--remount-ro", "/", "--"]);
        } else if let Some(out_dir) = job.out_dir {
            command.current_dir(out_dir);
        }
        command.arg(job.program).args(&job.args);
        Ok(command)
    }
}

/// An empty root with the system's programs and libraries, and nothing shared with the outside. `/etc/alternatives`
/// is where Debian keeps the links to the linear-algebra library some filters load.
const NAMESPACES: [&str; 35] = [
    "--unshare-all",
    "--die-with-parent",
    "--new-session",
    "--cap-drop",
    "ALL",
    "--uid",
    "65534",
    "--gid",
    "65534",
    "--ro-bind",
    "/usr",
    "/usr",
    "--symlink",
    "usr/bin",
    "/bin",
    "--symlink",
    "usr/lib",
    "/lib",
    "--symlink",
    "usr/lib64",
    "/lib64",
    "--ro-bind-try",
    "/etc/ld.so.cache",
    "/etc/ld.so.cache",
    "--ro-bind-try",
    "/etc/alternatives",
    "/etc/alternatives",
    "--dev",
    "/dev",
    "--dir",
    "/in",
    "--dir",
    "/out",
    "--hostname",
    "media",
];

/// The limits are set by programs that then become the job, so that they hold from its first instruction.
fn limited(caps: Caps) -> tokio::process::Command {
    let mut command = tokio::process::Command::new(PRLIMIT);
    command
        .arg(format!("--cpu={}", caps.cpu_seconds))
        .arg(format!("--as={}", caps.memory_bytes))
        .arg(format!("--fsize={}", caps.file_bytes))
        .args(["--nofile=64", "--core=0", "--", NICE, "-n", "5"])
        .env_clear()
        .env("PATH", "/usr/bin:/bin")
        .env("LC_ALL", "C")
        .process_group(0)
        .kill_on_drop(true);
    command
}

fn try_namespaces() -> Isolation {
    if !Path::new(BWRAP).exists() {
        return Isolation::LimitsOnly {
            why: "it is not installed".into(),
        };
    }
    let tried = Command::new(BWRAP)
        .args(NAMESPACES)
        .args(["--remount-ro", "/", "--", "/usr/bin/true"])
        .env_clear()
        .stdin(Stdio::null())
        .output();
    match tried {
        Ok(output) if output.status.success() => Isolation::Namespaces,
        Ok(output) => Isolation::LimitsOnly {
            why: String::from_utf8_lossy(&output.stderr).trim().to_owned(),
        },
        Err(error) => Isolation::LimitsOnly {
            why: error.to_string(),
        },
    }
}

/// Whether a complaint comes from the programs that shut the job in: then the job never began.
pub(crate) fn never_began(complaint: &str) -> bool {
    ["bwrap", PRLIMIT, NICE, "prlimit", "nice"]
        .iter()
        .any(|program| {
            complaint
                .strip_prefix(program)
                .is_some_and(|rest| rest.starts_with(": "))
        })
}

/// The two programs.
pub(crate) fn ffmpeg() -> &'static Path {
    Path::new(FFMPEG)
}

pub(crate) fn ffprobe() -> &'static Path {
    Path::new(FFPROBE)
}

/// Turns string slices into arguments.
pub(crate) fn words<I, S>(args: I) -> Vec<OsString>
where
    I: IntoIterator<Item = S>,
    S: AsRef<OsStr>,
{
    args.into_iter()
        .map(|arg| arg.as_ref().to_os_string())
        .collect()
}
