//! What each command does.

use std::io::Write;
use std::net::TcpListener;
use std::process::ExitCode;

use store::Db;

use super::align;
use super::doctor;
use super::ground::{Ground, GroundError, Sharing};
use super::listen;
use super::match_notes;
use super::measure::{self, MeasureArgs};
use super::program;
use super::school::{SchoolArgs, SchoolError, found};
use super::step_down::{Preparing, StepDownError, step_down};
use super::tag;
use super::track;
use crate::config::{Config, ConfigError, Environment, markdown_table};
use crate::jobs::index::{self, Reindexed};
use crate::telemetry::{LogError, start_logs};

/// Why a command could not do its work.
#[derive(Debug, thiserror::Error)]
pub(super) enum Fault {
    #[error(transparent)]
    Config(#[from] ConfigError),
    #[error(transparent)]
    StepDown(#[from] StepDownError),
    #[error(transparent)]
    Logs(#[from] LogError),
    #[error(transparent)]
    Ground(#[from] GroundError),
    #[error(transparent)]
    School(#[from] SchoolError),
    #[error(transparent)]
    Program(#[from] program::ProgramError),
    #[error("the index could not be made anew")]
    Index(#[from] index::FollowError),
    #[error("REFRAIN_LISTEN: cannot listen on {address}: {source}")]
    Listen {
        address: std::net::SocketAddr,
        source: std::io::Error,
    },
    #[error("cannot start: {0}")]
    Start(#[from] std::io::Error),
    #[error("cannot write the report: {0}")]
    Report(#[from] serde_json::Error),
}

/// Reads the configuration, gives up root's rights and starts the logs.
fn begin(preparing: Preparing) -> Result<Config, Fault> {
    let config = Config::from_process()?;
    step_down(&config, preparing)?;
    start_logs(&config.logs)?;
    for unknown in Environment::of_process().unknown() {
        tracing::warn!("{unknown} is not a variable of this program");
    }
    Ok(config)
}

/// `refrain serve` and `refrain demo`
pub(super) fn serve(task: program::Task) -> Result<ExitCode, Fault> {
    let config = begin(Preparing::Folder)?;
    let address = config.server.listen;
    // Before the database is started, so that a taken port is told at once.
    let listener =
        TcpListener::bind(address).map_err(|source| Fault::Listen { address, source })?;
    let ground = Ground::lay(&config, Sharing::Alone)?;
    program::serve(config, &ground, listener, task)?;
    Ok(ExitCode::SUCCESS)
}

/// `refrain work`
pub(super) fn work() -> Result<ExitCode, Fault> {
    let config = begin(Preparing::Folder)?;
    let ground = Ground::lay(&config, Sharing::Join)?;
    program::work(config, &ground)?;
    Ok(ExitCode::SUCCESS)
}

/// `refrain school`
#[expect(clippy::print_stdout, reason = "the answer to the person who asked")]
pub(super) fn school(args: &SchoolArgs) -> Result<ExitCode, Fault> {
    let config = begin(Preparing::Folder)?;
    let ground = Ground::lay(&config, Sharing::Join)?;
    let link = found(&config, &ground, args)?;
    println!("{link}");
    Ok(ExitCode::SUCCESS)
}

/// `refrain migrate`
#[expect(clippy::print_stdout, reason = "the answer to the person who asked")]
pub(super) fn migrate() -> Result<ExitCode, Fault> {
    let config = begin(Preparing::Folder)?;
    let ground = Ground::lay(&config, Sharing::Join)?;
    if ground.migrated.is_empty() {
        println!("the database is in its present form");
    }
    for version in &ground.migrated {
        println!("{version}");
    }
    Ok(ExitCode::SUCCESS)
}

/// `refrain reindex`
#[expect(clippy::print_stdout, reason = "the answer to the person who asked")]
pub(super) fn reindex() -> Result<ExitCode, Fault> {
    let config = begin(Preparing::Folder)?;
    let ground = Ground::lay(&config, Sharing::Join)?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?;
    let done = runtime.block_on(async {
        let db = Db::new(ground.addresses.app.reveal(), 1)?;
        index::reindex(&db, &config.var.index()).await
    })?;
    match done {
        Reindexed::Here(documents) => println!("the index is new; it holds {documents} documents"),
        Reindexed::There => println!("the running program has made its index anew"),
    }
    Ok(ExitCode::SUCCESS)
}

/// `refrain align`
pub(super) fn align(args: &align::AlignArgs) -> Result<ExitCode, Fault> {
    args.step_down(&Config::from_process()?)?;
    Ok(tell(align::run(args)))
}

/// `refrain track`
pub(super) fn track(args: &track::TrackArgs) -> Result<ExitCode, Fault> {
    args.step_down(&Config::from_process()?)?;
    Ok(tell(track::run(args)))
}

/// `refrain measure`
pub(super) fn measure(args: MeasureArgs) -> Result<ExitCode, Fault> {
    step_down(&Config::from_process()?, Preparing::Nothing)?;
    Ok(tell(measure::answer(std::io::stdin().lock(), args)))
}

/// `refrain match`
pub(super) fn match_notes(json: bool) -> Result<ExitCode, Fault> {
    step_down(&Config::from_process()?, Preparing::Nothing)?;
    Ok(match_notes::match_notes(json))
}

/// `refrain tag`
pub(super) fn tag(json: bool) -> Result<ExitCode, Fault> {
    step_down(&Config::from_process()?, Preparing::Nothing)?;
    Ok(tag::tag(json))
}

/// `refrain listen`
pub(super) fn listen(json: bool) -> Result<ExitCode, Fault> {
    step_down(&Config::from_process()?, Preparing::Nothing)?;
    Ok(listen::listen(json))
}

/// Writes an answer to standard output; a fault goes to standard error alone, with exit code 2.
fn tell<E: std::fmt::Display>(answered: Result<String, E>) -> ExitCode {
    match answered {
        Ok(answer) => {
            // A reader that has seen enough closes the pipe.
            let written = writeln!(std::io::stdout().lock(), "{answer}");
            written.map_or(ExitCode::FAILURE, |()| ExitCode::SUCCESS)
        }
        Err(fault) => {
            eprintln!("refrain: {fault}");
            ExitCode::from(2)
        }
    }
}

/// `refrain doctor`
#[expect(clippy::print_stdout, reason = "the answer to the person who asked")]
pub(super) fn doctor(json: bool) -> Result<ExitCode, Fault> {
    let environment = Environment::of_process();
    let config = Config::read(&environment)?;
    step_down(&config, Preparing::Nothing)?;
    let report = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?
        .block_on(doctor::examine(&config, &environment));
    if json {
        println!("{}", serde_json::to_string_pretty(&report)?);
    } else {
        println!("{report}");
    }
    Ok(if report.ok {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

/// `refrain doctor --variables`
#[expect(clippy::print_stdout, reason = "the answer to the person who asked")]
pub(super) fn list_variables() -> ExitCode {
    print!("{}", markdown_table());
    ExitCode::SUCCESS
}
