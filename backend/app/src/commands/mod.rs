//! The command line.

mod align;
mod demo;
pub mod doctor;
mod file_shelf;
pub mod ground;
mod inputs;
mod listen;
mod match_notes;
mod measure;
pub mod program;
mod run;
mod school;
mod standard;
pub mod step_down;
mod tag;
mod track;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

use program::Task;

/// Course and submission management with a critique archive, for teaching character animation by critique.
///
/// Configuration comes from the environment: `refrain doctor --variables` lists it.
#[derive(Debug, Parser)]
#[command(name = "refrain", version, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Answer requests, and work on jobs unless REFRAIN_WORKERS is 0.
    ///
    /// Starts the private Postgres unless DATABASE_URL names another, and brings the database to the present
    /// form. Stops on Ctrl-C or SIGTERM, with everything it started.
    Serve,
    /// Work on jobs alone: preparing footage, sending mail. As many of these as wanted, on any machine that
    /// reaches the database and the footage.
    Work,
    /// Serve an invented school. The first start fills it, through the same requests people make; later ones
    /// keep what is there.
    Demo {
        /// Only its first three shots, for tests.
        #[arg(long)]
        small: bool,
    },
    /// Found a school and print the link by which the first person of its office comes in.
    School(school::SchoolArgs),
    /// Bring the database to the present form, and say which steps that took.
    Migrate,
    /// Say what is missing and how to get it. Changes nothing; exits with 1 if something is missing.
    Doctor {
        /// As JSON, for programs.
        #[arg(long)]
        json: bool,
        /// List every variable of the environment instead, as the table of the README.
        #[arg(long, conflicts_with = "json")]
        variables: bool,
    },
    /// Lay one clip on another: for each new frame the old one it stands for, and what changed in it. Exits with 2 if
    /// a file is no clip that can be used.
    Align(align::AlignArgs),
    /// Follow a point of a clip through all frames, from one click or more. Exits with 2 if the file is no clip that can
    /// be used or the clicks do not fit it.
    Track(track::TrackArgs),
    /// Build the search index anew from the database.
    Reindex,
    /// Measure traces of points, or compare them between two revisions. The request is read from standard input.
    ///
    /// Without --compare: {"fps", "height_px", "traces": {PART: [[x, y, confidence] | null, ...]}, "contacts"?: {"ankle.left": [bool]},
    /// "at"?: [{"measure", "part", "start", "end"}]}. With it: {"before", "after", "map"?: [frame | null, ...], "at"}.
    Measure(measure::MeasureArgs),
    /// Say which earlier concern each note of a shot is about. Reads a JSON object from standard input.
    Match {
        /// Answer in JSON, for programs.
        #[arg(long)]
        json: bool,
    },
    /// Say what notes are about: principles, parts, kind, requests. Reads a JSON object a line from standard input.
    Tag {
        /// Answer in JSON, for programs.
        #[arg(long)]
        json: bool,
    },
    /// Turn spoken critique into draft notes on the right frames. Reads a JSON object from standard input.
    Listen {
        /// Answer in JSON, for programs.
        #[arg(long)]
        json: bool,
    },
}

/// Reads the command line and does what it asks.
#[must_use]
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    let result = match cli.command {
        Command::Serve => run::serve(Task::Serve),
        Command::Work => run::work(),
        Command::Demo { small } => run::serve(Task::Demo { small }),
        Command::School(args) => run::school(&args),
        Command::Migrate => run::migrate(),
        Command::Doctor {
            variables: true, ..
        } => Ok(run::list_variables()),
        Command::Doctor { json, .. } => run::doctor(json),
        Command::Align(args) => run::align(&args),
        Command::Track(args) => run::track(&args),
        Command::Reindex => run::reindex(),
        Command::Measure(args) => run::measure(args),
        Command::Match { json } => run::match_notes(json),
        Command::Tag { json } => run::tag(json),
        Command::Listen { json } => run::listen(json),
    };
    result.unwrap_or_else(|fault| {
        eprintln!("refrain: {fault}");
        let mut source = std::error::Error::source(&fault);
        while let Some(cause) = source {
            eprintln!("  because: {cause}");
            source = cause.source();
        }
        ExitCode::FAILURE
    })
}
