//! What notes say and which of them recur: words and numbers in, suggestions with scores and reasons out.
//!
//! Nothing here knows a clock, a disk, chance or threads. Every answer is a suggestion; a person confirms it.
