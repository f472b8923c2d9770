//! Giving up root's rights before anything else happens.
//!
//! The program executes itself anew as an unprivileged user. It does so through `/proc/self/exe`, which needs
//! no way through the folders above, so that a clone in a closed home works.

use std::ffi::OsString;
use std::fs;
use std::io;
use std::os::unix::fs::{MetadataExt, PermissionsExt, lchown};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::config::{Config, FootageConfig};
use crate::own_postgres::{Account, account_named, runs_as_root};

/// Lies in every var folder, so that no other folder is ever handed to another user.
const MARK: &str = ".refrain";

/// Why the program cannot become another user.
#[derive(Debug, thiserror::Error)]
pub enum StepDownError {
    /// No such user, or root itself.
    #[error(
        "REFRAIN_USER: `{0}` is not allowed; give the name of a user of this machine other than root"
    )]
    WrongUser(String),
    /// The var folder holds something else.
    #[error("REFRAIN_VAR: {0} holds files that are not Refrain's; give an empty or a new folder")]
    ForeignFolder(PathBuf),
    /// The var folder cannot be made or handed over.
    #[error("REFRAIN_VAR: {path}: {source}")]
    Folder {
        /// The folder or a file in it.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// The user cannot reach the var folder.
    #[error(
        "REFRAIN_VAR: {path} cannot be written by {user}; give a folder outside closed homes, such as /var/lib/refrain"
    )]
    Unreachable {
        /// The folder.
        path: PathBuf,
        /// The user.
        user: String,
    },
    /// The kernel refused.
    #[error("cannot become {user}: {source}")]
    Refused {
        /// The user.
        user: String,
        /// Why.
        source: io::Error,
    },
}

/// Whether the var folder may be made and handed over on the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Preparing {
    /// Make it and give it to the user.
    Folder,
    /// Change nothing.
    Nothing,
}

/// If root runs this program: executes it anew as the configured user, and does not come back. If not: makes
/// sure of the var folder and goes on.
///
/// # Errors
/// What keeps the program from becoming that user, or that user from using the var folder.
pub fn step_down(config: &Config, preparing: Preparing) -> Result<(), StepDownError> {
    let folder = config.var.path();
    if !runs_as_root() {
        return match preparing {
            Preparing::Folder => make_folder(folder, &config.run_as),
            Preparing::Nothing => Ok(()),
        };
    }
    let account = account_of(config)?;
    if preparing == Preparing::Folder {
        hand_over(folder, &account)?;
    }
    become_user(config, account, std::env::args_os().skip(1).collect())
}

/// Executes this program anew as the configured user, with other arguments, and does not come back. Root only.
///
/// # Errors
/// What keeps the program from becoming that user.
pub fn step_down_as(config: &Config, args: Vec<OsString>) -> Result<(), StepDownError> {
    let account = account_of(config)?;
    become_user(config, account, args)
}

fn account_of(config: &Config) -> Result<Account, StepDownError> {
    account_named(&config.run_as)
        .filter(|a| a.uid != 0)
        .ok_or_else(|| StepDownError::WrongUser(config.run_as.clone()))
}

fn become_user(
    config: &Config,
    account: Account,
    args: Vec<OsString>,
) -> Result<(), StepDownError> {
    let folder = config.var.path();
    let mut command = Command::new("/proc/self/exe");
    command
        .arg0("refrain")
        .args(args)
        .uid(account.uid)
        .gid(account.gid)
        .current_dir("/")
        .env("REFRAIN_VAR", folder)
        .env("HOME", folder)
        .env("USER", &account.name);
    if let FootageConfig::Folder(footage) = &config.footage
        && !footage.starts_with(folder)
    {
        command.env("REFRAIN_FOOTAGE_URL", footage);
    }
    if let Some(binaries) = &config.database.binaries
        && let Ok(absolute) = std::path::absolute(binaries)
    {
        command.env("REFRAIN_PG_BIN", absolute);
    }
    Err(StepDownError::Refused {
        user: account.name,
        source: command.exec(),
    })
}

/// Makes the var folder, or finds that it is there and can be written.
fn make_folder(folder: &Path, user: &str) -> Result<(), StepDownError> {
    let made = fs::create_dir_all(folder).and_then(|()| {
        let mark = folder.join(MARK);
        if mark.exists() {
            return rustix::fs::access(folder, rustix::fs::Access::WRITE_OK).map_err(Into::into);
        }
        fs::write(&mark, "")
    });
    match made {
        Ok(()) => Ok(()),
        Err(e) if e.kind() == io::ErrorKind::PermissionDenied => Err(StepDownError::Unreachable {
            path: folder.to_owned(),
            user: user.to_owned(),
        }),
        Err(source) => Err(StepDownError::Folder {
            path: folder.to_owned(),
            source,
        }),
    }
}

/// Makes the var folder the account's, with everything in it if it was another's.
fn hand_over(folder: &Path, account: &Account) -> Result<(), StepDownError> {
    let fault = |path: &Path| {
        let path = path.to_owned();
        move |source| StepDownError::Folder { path, source }
    };
    let is_new = !folder.exists();
    fs::create_dir_all(folder).map_err(fault(folder))?;
    let mark = folder.join(MARK);
    let is_empty = fs::read_dir(folder)
        .map_err(fault(folder))?
        .next()
        .is_none();
    if !mark.exists() {
        if !is_empty {
            return Err(StepDownError::ForeignFolder(folder.to_owned()));
        }
        fs::write(&mark, "").map_err(fault(&mark))?;
    }
    if is_new {
        fs::set_permissions(folder, fs::Permissions::from_mode(0o755)).map_err(fault(folder))?;
    }
    let owner = fs::metadata(folder).map_err(fault(folder))?.uid();
    if owner != account.uid {
        give(folder, account).map_err(fault(folder))?;
    }
    Ok(())
}

/// Changes the owner of a folder and of all below it, without following links.
fn give(path: &Path, account: &Account) -> io::Result<()> {
    if path.symlink_metadata()?.is_dir() {
        for entry in fs::read_dir(path)? {
            give(&entry?.path(), account)?;
        }
    }
    lchown(path, Some(account.uid), Some(account.gid))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_of_something_else_is_not_handed_over() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("letter"), "dear").unwrap();
        let account = account_named("nobody").unwrap();
        assert!(matches!(
            hand_over(folder.path(), &account),
            Err(StepDownError::ForeignFolder(_))
        ));
    }

    #[test]
    fn a_marked_folder_is_handed_over_whole() {
        if !runs_as_root() {
            return;
        }
        let folder = tempfile::tempdir().unwrap();
        let var = folder.path().join("var");
        let account = account_named("nobody").unwrap();
        hand_over(
            &var,
            &Account {
                name: "root".into(),
                uid: 0,
                gid: 0,
            },
        )
        .unwrap();
        fs::create_dir(var.join("post")).unwrap();
        fs::write(var.join("post/1.eml"), "mail").unwrap();
        hand_over(&var, &account).unwrap();
        for path in [var.clone(), var.join("post"), var.join("post/1.eml")] {
            assert_eq!(fs::metadata(path).unwrap().uid(), account.uid);
        }
    }
}
