//! Making a cluster and the command that serves it.

use std::fs::{self, File};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Stdio};

use super::account::own_name;
use super::{
    Account, Binaries, LOGIN_ROLES, OWNER_ROLE, OwnPostgresError, OwnPostgresOptions,
    closed_folder, hand_over,
};

/// Makes the cluster in `folder/data`. It is made beside and renamed, for a killed `initdb` leaves a folder
/// that looks complete.
pub(super) fn init(
    binaries: &Binaries,
    folder: &Path,
    account: Option<&Account>,
    durable: bool,
) -> Result<(), OwnPostgresError> {
    let fresh = folder.join("data.init");
    let data = folder.join("data");
    for old in [&fresh, &data] {
        if old.exists() {
            fs::remove_dir_all(old).map_err(OwnPostgresError::file(old))?;
        }
    }
    closed_folder(&fresh, account)?;
    let mut command = as_account(&binaries.initdb, account, "KILL");
    command
        .arg("-D")
        .arg(&fresh)
        .args(["-U", OWNER_ROLE, "--auth-local=peer", "--auth-host=reject"])
        .args(["-E", "UTF8", "--locale=C.UTF-8"]);
    if !durable {
        command.arg("--no-sync");
    }
    let output =
        command
            .stdin(Stdio::null())
            .output()
            .map_err(|source| OwnPostgresError::Start {
                program: binaries.initdb.clone(),
                source,
            })?;
    if !output.status.success() {
        let words = String::from_utf8_lossy(&output.stderr).trim().to_owned();
        return Err(OwnPostgresError::Init(words));
    }
    fs::rename(&fresh, &data).map_err(OwnPostgresError::file(&data))
}

/// Lets this program's user, and nobody else, connect as the roles of the program. Written at every start,
/// for the user may have changed.
pub(super) fn write_access_files(
    data: &Path,
    account: Option<&Account>,
) -> Result<(), OwnPostgresError> {
    let me = own_name();
    let ident: String = LOGIN_ROLES
        .iter()
        .map(|role| format!("own \"{me}\" {role}\n"))
        .collect();
    for (name, text) in [
        ("pg_hba.conf", "local all all peer map=own\n"),
        ("pg_ident.conf", ident.as_str()),
    ] {
        let path = data.join(name);
        fs::write(&path, text).map_err(OwnPostgresError::file(&path))?;
        hand_over(&path, account)?;
    }
    Ok(())
}

/// Everything the server's command line is made of.
pub(super) struct Launch<'a> {
    pub binaries: &'a Binaries,
    pub data: &'a Path,
    pub socket_folder: &'a Path,
    pub log: &'a Path,
    pub account: Option<&'a Account>,
    pub options: &'a OwnPostgresOptions,
}

impl Launch<'_> {
    /// The command that serves the cluster and dies, in good order, with the thread that spawns it.
    pub fn command(&self) -> Result<Command, OwnPostgresError> {
        let log = File::options()
            .create(true)
            .append(true)
            .open(self.log)
            .map_err(OwnPostgresError::file(self.log))?;
        let errors = log.try_clone().map_err(OwnPostgresError::file(self.log))?;
        let mut command = as_account(&self.binaries.postgres, self.account, "INT");
        command
            .arg("-D")
            .arg(self.data)
            .arg("-k")
            .arg(self.socket_folder);
        for setting in self.settings() {
            command.arg("-c").arg(setting);
        }
        command.stdin(Stdio::null()).stdout(log).stderr(errors);
        Ok(command)
    }

    fn settings(&self) -> Vec<String> {
        let mut settings: Vec<String> = [
            "listen_addresses=",
            "unix_socket_permissions=0700",
            "shared_buffers=128MB",
            "idle_in_transaction_session_timeout=60s",
            "log_line_prefix=%m [%p] %q%u@%d ",
            "timezone=UTC",
            "log_timezone=UTC",
            "jit=off",
        ]
        .map(str::to_owned)
        .to_vec();
        settings.push(format!("max_connections={}", self.options.max_connections));
        if !self.options.durable {
            settings.extend(
                [
                    "fsync=off",
                    "synchronous_commit=off",
                    "full_page_writes=off",
                    "wal_level=minimal",
                    "max_wal_senders=0",
                ]
                .map(str::to_owned),
            );
        }
        settings
    }
}

/// A command run as that account (or as ourselves), in a process group of its own so that a Ctrl-C on the
/// terminal does not reach it, and sent a signal when the thread that spawned it ends.
///
/// `setpriv` sets the death signal after it has changed the user, which would clear it.
fn as_account(program: &Path, account: Option<&Account>, death_signal: &str) -> Command {
    let mut command = Command::new("setpriv");
    if let Some(account) = account {
        command
            .arg("--reuid")
            .arg(account.uid.to_string())
            .arg("--regid")
            .arg(account.gid.to_string())
            .arg("--clear-groups");
    }
    command
        .args(["--pdeathsig", death_signal, "--"])
        .arg(program)
        .env_clear()
        .env("PATH", "/usr/bin:/bin")
        .env("LC_ALL", "C")
        // Postgres forks for every connection: what it binds at its own start no connection need bind again.
        .env("LD_BIND_NOW", "1")
        .current_dir("/")
        .process_group(0);
    command
}
