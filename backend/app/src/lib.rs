//! The program `refrain`: configuration, HTTP, jobs, mail, command line.

pub mod config;
pub mod own_postgres;
