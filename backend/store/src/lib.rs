//! The only code that knows diesel: schema, scope, rows, queries, ledger, jobs.
//!
//! Every query of the program runs inside [`Db::scoped`], a transaction that carries school, person and roles for the policies of the
//! database. The few that must look across people call the `SECURITY DEFINER` functions through [`Db::door`].
//! Functions of the resource modules take `&mut Conn` and never open a transaction of their own, so calls compose.

pub mod courses;
pub mod credentials;
mod db;
pub mod enrolments;
mod error;
pub mod feed;
pub mod footage;
pub mod found_school;
pub mod habits;
pub mod jobs;
pub mod lexicon_words;
pub mod links;
pub mod listen;
pub mod make_database;
pub mod outbox;
pub mod people;
pub mod prepare_database;
pub mod quota;
#[rustfmt::skip]
pub mod schema;
pub mod amendments;
pub mod critiques;
pub mod desk;
pub mod drawings;
pub mod notes;
pub mod schema_text;
pub mod schools;
pub mod sessions;
pub mod shots;
mod sql;
pub mod standings;
mod statement;
pub mod submissions;
pub mod suggestions;
pub mod uploads;
pub mod verdicts;
pub mod work;

pub use db::{Conn, Db};
pub use error::{StoreError, StoreResult};
