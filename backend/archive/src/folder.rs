//! The folder on disk.
//!
//! ```text
//! root/lock              held by the one process that uses the folder; the kernel lets go of it when that process dies
//! root/current           name of the index in use; replaced by rename, so it is always whole
//! root/index-<uuid>/     an index: the one in use, or one being built
//! root/rebuild-wanted    somebody asks the process that holds the folder to rebuild
//! ```
//!
//! An index folder that is not the current one is left over from a rebuild that was cut short, and is
//! removed when the folder is opened.

use std::fs::{self, File, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use uuid::Uuid;

use crate::linger::once_free;

const LOCK: &str = "lock";
const CURRENT: &str = "current";
const CURRENT_NEXT: &str = "current.next";
const REBUILD_WANTED: &str = "rebuild-wanted";
const INDEX_PREFIX: &str = "index-";

/// Why the folder cannot be used at all.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// Another process uses it.
    #[error("another process uses the index folder {0}")]
    InUse(PathBuf),
    /// The folder or its lock cannot be made.
    #[error("the index folder {path} cannot be used")]
    Io {
        /// The folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

/// The folder, held.
#[derive(Debug)]
pub(crate) struct Folder {
    root: PathBuf,
    _lock: File,
}

impl Folder {
    pub(crate) fn hold(root: &Path) -> Result<Self, FolderError> {
        let fault = |source| FolderError::Io {
            path: root.to_owned(),
            source,
        };
        fs::create_dir_all(root).map_err(fault)?;
        let lock = File::options()
            .create(true)
            .truncate(false)
            .write(true)
            .open(root.join(LOCK))
            .map_err(fault)?;
        let taken = |error: &TryLockError| matches!(error, TryLockError::WouldBlock);
        match once_free(|| lock.try_lock(), taken) {
            Ok(()) => Ok(Self {
                root: root.to_owned(),
                _lock: lock,
            }),
            Err(TryLockError::WouldBlock) => Err(FolderError::InUse(root.to_owned())),
            Err(TryLockError::Error(source)) => Err(fault(source)),
        }
    }

    /// Folder of the index in use, if one is named and there.
    pub(crate) fn current(&self) -> Option<PathBuf> {
        index_in_use(&self.root)
    }

    /// An empty folder for a new index.
    pub(crate) fn fresh(&self) -> io::Result<PathBuf> {
        let path = self.root.join(format!("{INDEX_PREFIX}{}", Uuid::new_v4()));
        fs::create_dir(&path)?;
        Ok(path)
    }

    /// Makes `index` the one in use; after a crash at any moment it is either the old or the new one.
    pub(crate) fn set_current(&self, index: &Path) -> io::Result<()> {
        let name = index
            .file_name()
            .and_then(|name| name.to_str())
            .unwrap_or_default();
        let next = self.root.join(CURRENT_NEXT);
        let mut file = File::create(&next)?;
        writeln!(file, "{name}")?;
        file.sync_all()?;
        File::open(index)?.sync_all()?;
        fs::rename(&next, self.root.join(CURRENT))?;
        File::open(&self.root)?.sync_all()
    }

    /// Removes every index but the one in use.
    pub(crate) fn sweep(&self) -> io::Result<()> {
        let current = self.current();
        for entry in fs::read_dir(&self.root)? {
            let entry = entry?;
            let is_index = entry
                .file_name()
                .to_string_lossy()
                .starts_with(INDEX_PREFIX);
            if is_index && Some(entry.path()) != current {
                remove(&entry.path());
            }
        }
        Ok(())
    }

    pub(crate) fn rebuild_wanted(&self) -> bool {
        self.root.join(REBUILD_WANTED).exists()
    }

    pub(crate) fn rebuild_done(&self) -> io::Result<()> {
        match fs::remove_file(self.root.join(REBUILD_WANTED)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
            _ => Ok(()),
        }
    }
}

/// Folder of the index in use below `root`, if one is named and there. Reads only; needs no hold on the folder.
#[must_use]
pub fn index_in_use(root: &Path) -> Option<PathBuf> {
    let name = fs::read_to_string(root.join(CURRENT)).ok()?;
    let id = name.trim_end().strip_prefix(INDEX_PREFIX)?;
    Uuid::try_parse(id).ok()?;
    let path = root.join(name.trim_end());
    path.is_dir().then_some(path)
}

/// Asks the process that holds the index folder `root` to rebuild. It takes the request back when done:
/// see [`is_rebuild_wanted`].
pub fn want_rebuild(root: &Path) -> io::Result<()> {
    fs::create_dir_all(root)?;
    File::create(root.join(REBUILD_WANTED))?.sync_all()
}

/// Whether a rebuild of the index folder `root` is asked for and not done yet.
pub fn is_rebuild_wanted(root: &Path) -> bool {
    root.join(REBUILD_WANTED).exists()
}

/// Removes an index nobody needs; what is in the way is told and tried again when the folder is next opened.
pub(crate) fn remove(index: &Path) {
    if let Err(error) = fs::remove_dir_all(index) {
        tracing::warn!(index = %index.display(), %error, "an old index could not be removed");
    }
}
