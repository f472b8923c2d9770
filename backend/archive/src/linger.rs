//! Taking a lock that may have been let go of a moment ago.
//!
//! A child process has copies of all open files until it runs its own program, and the kernel keeps a
//! lock as long as any copy is open. So a lock this process has let go of can stay taken for a moment
//! while another thread starts a program.

use std::thread::sleep;
use std::time::{Duration, Instant};

/// How long a lock may stay taken before it is believed to be somebody else's.
const LINGERS: Duration = Duration::from_millis(500);

/// Wait between two tries.
const PAUSE: Duration = Duration::from_millis(5);

/// The outcome of `take`, tried again for a moment while it `is_taken`.
pub(crate) fn once_free<T, E>(
    mut take: impl FnMut() -> Result<T, E>,
    is_taken: impl Fn(&E) -> bool,
) -> Result<T, E> {
    let give_up = Instant::now() + LINGERS;
    loop {
        match take() {
            Err(error) if is_taken(&error) && Instant::now() < give_up => sleep(PAUSE),
            outcome => return outcome,
        }
    }
}
