//! A folder for half-made files, that never outlives the work.

use std::io;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

/// A hidden folder inside the one the results go to. It goes with everything in it when this is dropped, also when a
/// killed program still writes into it for a moment.
pub(crate) struct WorkDir(PathBuf);

impl WorkDir {
    pub(crate) fn in_folder(folder: &Path) -> io::Result<Self> {
        let made = tempfile::Builder::new()
            .prefix(".making-")
            .tempdir_in(folder)?;
        Ok(Self(made.keep()))
    }

    pub(crate) fn path(&self) -> &Path {
        &self.0
    }

    /// Moves finished files out, all or none.
    pub(crate) fn deliver(self, names: &[&str], folder: &Path) -> io::Result<()> {
        for (done, name) in names.iter().enumerate() {
            if let Err(error) = std::fs::rename(self.0.join(name), folder.join(name)) {
                for moved in &names[..done] {
                    std::fs::remove_file(folder.join(moved)).ok();
                }
                return Err(error);
            }
        }
        Ok(())
    }
}

impl Drop for WorkDir {
    fn drop(&mut self) {
        // A dying program may create one more file while the folder is being emptied.
        for _ in 0..20 {
            match std::fs::remove_dir_all(&self.0) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => {
                    sleep(Duration::from_millis(5))
                }
                _ => return,
            }
        }
        tracing::warn!(folder = %self.0.display(), "a work folder could not be removed");
    }
}
