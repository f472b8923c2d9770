//! The ground: commands, processes, configuration, the database's own conventions.

mod commands;
mod database;
mod footage;
mod migrations;
mod processes;
mod scope;
mod telemetry;
