//! The archive: what is found, by whom, how soon.

mod against_policies;
mod asked;
mod following;
mod invented;
mod reindexed;
