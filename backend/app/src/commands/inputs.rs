//! Files a command is given, still read after root's rights are gone.
//!
//! Root may name files in folders that are closed to the user the program becomes. It opens them first and hands the open
//! files on; what it hands on is copied once, because a decoder in its sandbox needs a path.

use std::ffi::OsString;
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

use rustix::io::{FdFlags, fcntl_setfd};
use std::os::fd::AsRawFd;

use super::step_down::{StepDownError, step_down_as};
use crate::config::Config;
use crate::own_postgres::runs_as_root;

/// A file to read, under the name the person gave it.
#[derive(Debug)]
pub(super) struct Input {
    /// What the person called it.
    pub(super) name: PathBuf,
    /// Where it is read.
    pub(super) path: PathBuf,
    /// Removed with this.
    _copy: Option<tempfile::TempPath>,
}

/// If root runs this: executes `refrain COMMAND FILES... REST...` anew as the configured user, with the files open, and does not
/// come back. `names` is then given as `--named NAME` for each.
pub(super) fn step_down_with(
    config: &Config,
    command: &str,
    files: &[&Path],
    rest: &[&str],
) -> Result<(), StepDownError> {
    if !runs_as_root() {
        return Ok(());
    }
    let mut args = vec![OsString::from(command)];
    let mut open = vec![];
    for file in files {
        match opened(file) {
            Ok(handle) => {
                args.push(format!("/proc/self/fd/{}", handle.as_raw_fd()).into());
                open.push(handle);
            }
            // The user the program becomes will say what is wrong with it.
            Err(_) => args.push(
                std::path::absolute(file)
                    .unwrap_or_else(|_| file.into())
                    .into(),
            ),
        }
    }
    for file in files {
        args.push("--named".into());
        args.push(file.into());
    }
    args.extend(rest.iter().map(OsString::from));
    step_down_as(config, args)
}

fn opened(path: &Path) -> io::Result<File> {
    if !std::fs::symlink_metadata(path)?.is_file() {
        return Err(io::ErrorKind::InvalidInput.into());
    }
    let file = File::open(path)?;
    fcntl_setfd(&file, FdFlags::empty())?;
    Ok(file)
}

impl Input {
    /// The file at `path`; a copy of at most `most` bytes and one if it was handed on open, called `named`.
    pub(super) fn of(path: &Path, named: Option<&PathBuf>, most: u64) -> io::Result<Self> {
        let name = named.map_or(path, PathBuf::as_path);
        if named.is_none() || !path.starts_with("/proc/self/fd") {
            // What is not there is told as that, before anything is said about its kind.
            std::fs::symlink_metadata(path)?;
            return Ok(Self {
                name: name.to_owned(),
                path: path.to_owned(),
                _copy: None,
            });
        }
        let mut copy = tempfile::NamedTempFile::new()?;
        io::copy(
            &mut io::Read::take(File::open(path)?, most.saturating_add(1)),
            &mut copy,
        )?;
        let copy = copy.into_temp_path();
        Ok(Self {
            name: name.to_owned(),
            path: copy.to_path_buf(),
            _copy: Some(copy),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_open_file_is_copied_under_its_name_and_the_copy_goes() {
        let mut file = tempfile::NamedTempFile::new().unwrap();
        io::Write::write_all(&mut file, b"0123456789").unwrap();
        let path = PathBuf::from(format!("/proc/self/fd/{}", file.as_raw_fd()));
        let input = Input::of(&path, Some(&"shot.mp4".into()), 4).unwrap();
        assert_eq!(input.name, Path::new("shot.mp4"));
        assert_eq!(std::fs::read(&input.path).unwrap(), b"01234");
        let copy = input.path.clone();
        drop(input);
        assert!(!copy.exists());
    }
}
