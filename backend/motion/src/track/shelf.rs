//! Where a clip's frames are kept while it is traced.

use std::io::ErrorKind;

/// Keeps frames and gives them back: a clip is gone through forwards and backwards, and is too large to be in memory when it
/// is long. [`InMemory`] is one; a program may bring its own.
pub trait Shelf {
    /// Keeps one frame more.
    ///
    /// # Errors
    /// Why it could not be kept.
    fn put(&mut self, frame: &[u8]) -> Result<(), ErrorKind>;

    /// Writes the beginning of frame `index` over `start`, which is at most as long as the frame is.
    ///
    /// # Errors
    /// Why it could not be read.
    fn get(&self, index: usize, start: &mut [u8]) -> Result<(), ErrorKind>;
}

/// Frames kept in memory.
#[derive(Debug, Default)]
pub struct InMemory(Vec<Box<[u8]>>);

impl Shelf for InMemory {
    fn put(&mut self, frame: &[u8]) -> Result<(), ErrorKind> {
        self.0.push(frame.into());
        Ok(())
    }

    fn get(&self, index: usize, start: &mut [u8]) -> Result<(), ErrorKind> {
        let frame = self.0.get(index).ok_or(ErrorKind::NotFound)?;
        let kept = frame.get(..start.len()).ok_or(ErrorKind::UnexpectedEof)?;
        start.copy_from_slice(kept);
        Ok(())
    }
}
