//! The program `refrain`: configuration, HTTP, jobs, mail, command line.

pub mod clock;
pub mod commands;
pub mod config;
pub mod critics;
pub mod footage;
pub mod housekeeping;
pub mod http;
pub mod invitations;
pub mod jobs;
pub mod limits;
pub mod mail;
pub mod own_postgres;
pub mod passwords;
pub mod state;
pub mod telemetry;
pub mod token;
pub mod usual;
