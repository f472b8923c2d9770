//! The program `refrain`: configuration, HTTP, jobs, mail, command line.

pub mod commands;
pub mod config;
pub mod own_postgres;
pub mod telemetry;
