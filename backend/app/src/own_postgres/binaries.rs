//! Where the Postgres server binaries are.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::OwnPostgresError;

/// The two programs needed to run a cluster.
#[derive(Debug, Clone)]
pub struct Binaries {
    /// Makes a cluster.
    pub initdb: PathBuf,
    /// Serves it.
    pub postgres: PathBuf,
}

impl Binaries {
    fn in_folder(folder: &Path) -> Option<Self> {
        let found = Self {
            initdb: folder.join("initdb"),
            postgres: folder.join("postgres"),
        };
        (found.initdb.is_file() && found.postgres.is_file()).then_some(found)
    }
}

/// Finds them: in the folder given, else the highest version below `/usr/lib/postgresql`, else where
/// `pg_config` points.
///
/// # Errors
/// If there are none, or the folder given does not hold them.
pub fn find_binaries(given: Option<&Path>) -> Result<Binaries, OwnPostgresError> {
    if let Some(folder) = given {
        return Binaries::in_folder(folder)
            .ok_or_else(|| OwnPostgresError::WrongBinaries(folder.to_owned()));
    }
    highest_below(Path::new("/usr/lib/postgresql"))
        .or_else(named_by_pg_config)
        .ok_or(OwnPostgresError::NoBinaries)
}

fn highest_below(folder: &Path) -> Option<Binaries> {
    let mut versions: Vec<(u32, Binaries)> = fs::read_dir(folder)
        .ok()?
        .flatten()
        .filter_map(|entry| {
            let version = entry.file_name().to_str()?.parse().ok()?;
            Some((version, Binaries::in_folder(&entry.path().join("bin"))?))
        })
        .collect();
    versions.sort_by_key(|(version, _)| *version);
    versions.pop().map(|(_, binaries)| binaries)
}

fn named_by_pg_config() -> Option<Binaries> {
    let output = Command::new("pg_config").arg("--bindir").output().ok()?;
    Binaries::in_folder(Path::new(String::from_utf8_lossy(&output.stdout).trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with_binaries(folder: &Path) {
        fs::create_dir_all(folder).unwrap();
        for name in ["initdb", "postgres"] {
            fs::write(folder.join(name), "").unwrap();
        }
    }

    #[test]
    fn takes_the_highest_version_that_is_complete() {
        let root = tempfile::tempdir().unwrap();
        for version in ["9", "15", "notes"] {
            with_binaries(&root.path().join(version).join("bin"));
        }
        fs::create_dir_all(root.path().join("16/bin")).unwrap();
        let found = highest_below(root.path()).unwrap();
        assert_eq!(found.postgres, root.path().join("15/bin/postgres"));
    }

    #[test]
    fn a_wrong_folder_names_its_variable() {
        let root = tempfile::tempdir().unwrap();
        let error = find_binaries(Some(root.path())).unwrap_err();
        assert!(error.to_string().starts_with("REFRAIN_PG_BIN: "), "{error}");
    }
}
