//! Frames kept in a file while a long clip is worked on, so that memory does not grow with them.

use std::fs::File;
use std::io::{self, ErrorKind, Write};
use std::os::unix::fs::FileExt;

use motion::track::Shelf;

/// Where large files that last a while belong (Filesystem Hierarchy Standard 3.0, 5.15); `/tmp` may be memory.
const LARGE: &str = "/var/tmp";

/// A file without a name: it is gone with the program, however that ends.
pub(super) struct FileShelf {
    file: File,
    /// Where each frame ends.
    ends: Vec<u64>,
}

impl FileShelf {
    pub(super) fn new() -> io::Result<Self> {
        let file = tempfile::tempfile_in(LARGE).or_else(|_| tempfile::tempfile())?;
        Ok(Self { file, ends: vec![] })
    }
}

impl Shelf for FileShelf {
    fn put(&mut self, frame: &[u8]) -> Result<(), ErrorKind> {
        self.file.write_all(frame).map_err(|e| e.kind())?;
        let start = self.ends.last().copied().unwrap_or(0);
        self.ends.push(start + frame.len() as u64);
        Ok(())
    }

    fn get(&self, index: usize, start: &mut [u8]) -> Result<(), ErrorKind> {
        let end = *self.ends.get(index).ok_or(ErrorKind::NotFound)?;
        let from = index.checked_sub(1).map_or(0, |before| self.ends[before]);
        if end - from < start.len() as u64 {
            return Err(ErrorKind::UnexpectedEof);
        }
        self.file
            .read_exact_at(start, from)
            .map_err(|error| error.kind())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frames_come_back_in_any_order_and_only_whole() {
        let mut shelf = FileShelf::new().unwrap();
        for frame in [&[1u8, 2, 3][..], &[4, 5], &[6, 7, 8, 9]] {
            shelf.put(frame).unwrap();
        }
        let mut out = [0; 2];
        for (index, want) in [(2, [6, 7]), (0, [1, 2]), (1, [4, 5])] {
            shelf.get(index, &mut out).unwrap();
            assert_eq!(out, want);
        }
        assert_eq!(shelf.get(1, &mut [0; 3]), Err(ErrorKind::UnexpectedEof));
        assert_eq!(shelf.get(3, &mut out), Err(ErrorKind::NotFound));
    }
}
