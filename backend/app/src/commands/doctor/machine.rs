//! What the machine has: programs, room, rights.

use std::path::Path;
use std::process::{Command, Stdio};

use rustix::fs::{Access, access, statvfs};

use super::Finding;
use crate::config::{Config, Environment, FootageConfig};
use crate::own_postgres::find_binaries;

/// Below this much room footage soon no longer fits.
const ROOM_NEEDED_BYTES: u64 = 5 << 30;

pub(super) fn examine(config: &Config, environment: &Environment) -> Vec<Finding> {
    let mut findings = vec![variables(environment), var_folder(config.var.path())];
    findings.push(room("room", config.var.path()));
    if let FootageConfig::Folder(folder) = &config.footage
        && !folder.starts_with(config.var.path())
    {
        findings.push(room("footage room", folder));
    }
    if config.database.url.is_none() {
        findings.push(postgres_binaries(config));
    }
    findings.push(program("ffmpeg", &["-version"], "apt-get install ffmpeg"));
    findings.push(program("ffprobe", &["-version"], "apt-get install ffmpeg"));
    findings.push(program(
        "setpriv",
        &["--version"],
        "apt-get install util-linux",
    ));
    findings.push(program(
        "prlimit",
        &["--version"],
        "apt-get install util-linux",
    ));
    findings.push(sandbox());
    findings
}

fn variables(environment: &Environment) -> Finding {
    let unknown = environment.unknown();
    if unknown.is_empty() {
        Finding::good("configuration", "every variable is known and allowed")
    } else {
        Finding::notice(
            "configuration",
            format!("not known: {}", unknown.join(", ")),
            "refrain doctor --variables lists those that are",
        )
    }
}

fn existing_part(path: &Path) -> &Path {
    path.ancestors()
        .find(|p| p.exists())
        .unwrap_or(Path::new("/"))
}

fn var_folder(folder: &Path) -> Finding {
    let shown = folder.display();
    let there = existing_part(folder);
    let may_write = access(there, Access::WRITE_OK | Access::EXEC_OK).is_ok();
    match (may_write, there == folder) {
        (true, true) => Finding::good("var folder", format!("{shown} can be written")),
        (true, false) => Finding::good("var folder", format!("{shown} can be made")),
        // Root makes the folder and hands it over at the start; asked as its user, only its absence is seen.
        (false, false) if there.starts_with("/var") => Finding::notice(
            "var folder",
            format!("{shown} is not there yet"),
            "root's first start makes it; another user needs REFRAIN_VAR to name a folder it may write",
        ),
        (false, _) => Finding::missing(
            "var folder",
            format!("{} cannot be written", there.display()),
            "set REFRAIN_VAR to a folder that the program's user may write",
        ),
    }
}

fn room(name: &'static str, folder: &Path) -> Finding {
    let there = existing_part(folder);
    match statvfs(there) {
        Ok(fs) => {
            let free = fs.f_bavail.saturating_mul(fs.f_frsize);
            let words = format!("{:.1} GiB free below {}", gib(free), there.display());
            if free >= ROOM_NEEDED_BYTES {
                Finding::good(name, words)
            } else {
                Finding::notice(
                    name,
                    words,
                    format!(
                        "footage needs room: free at least {:.0} GiB",
                        gib(ROOM_NEEDED_BYTES)
                    ),
                )
            }
        }
        Err(e) => Finding::notice(
            name,
            format!("{}: {e}", there.display()),
            "look at the disk",
        ),
    }
}

#[expect(clippy::cast_precision_loss, reason = "shown with one digit")]
fn gib(bytes: u64) -> f64 {
    bytes as f64 / f64::from(1 << 30)
}

fn postgres_binaries(config: &Config) -> Finding {
    match find_binaries(config.database.binaries.as_deref()) {
        Ok(found) => Finding::good("postgres", found.postgres.display().to_string()),
        Err(e) => Finding::missing(
            "postgres",
            e.to_string(),
            "apt-get install postgresql, or set DATABASE_URL",
        ),
    }
}

fn program(name: &'static str, arguments: &[&str], remedy: &str) -> Finding {
    match Command::new(name)
        .args(arguments)
        .stdin(Stdio::null())
        .output()
    {
        Ok(output) if output.status.success() => {
            let text = String::from_utf8_lossy(&output.stdout);
            let version = text.lines().next().unwrap_or_default();
            let version = version.split(" Copyright").next().unwrap_or_default();
            Finding::good(name, version.trim())
        }
        Ok(output) => Finding::missing(name, format!("does not run ({})", output.status), remedy),
        Err(e) => Finding::missing(name, e.to_string(), remedy),
    }
}

/// Whether footage can be read shut off from the rest of the machine.
fn sandbox() -> Finding {
    const REMEDY: &str = "apt-get install bubblewrap, and let it make user namespaces \
        (sysctl kernel.unprivileged_userns_clone=1); without it only the limits of prlimit hold";
    let tried = Command::new("bwrap")
        .args([
            "--unshare-all",
            "--die-with-parent",
            "--ro-bind",
            "/usr",
            "/usr",
        ])
        .args([
            "--symlink",
            "usr/lib",
            "/lib",
            "--symlink",
            "usr/lib64",
            "/lib64",
        ])
        .args(["--proc", "/proc", "--dev", "/dev", "--", "/usr/bin/true"])
        .stdin(Stdio::null())
        .output();
    match tried {
        Ok(output) if output.status.success() => {
            Finding::good("sandbox", "bwrap shuts ffmpeg off from the machine")
        }
        Ok(output) => {
            let words = String::from_utf8_lossy(&output.stderr).trim().to_owned();
            Finding::notice("sandbox", format!("bwrap: {words}"), REMEDY)
        }
        Err(e) => Finding::notice("sandbox", format!("bwrap: {e}"), REMEDY),
    }
}
