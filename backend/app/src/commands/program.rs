//! The program while it runs: its server, its workers, and how both end.

use std::net::{SocketAddr, TcpListener};
use std::time::Duration;

use actix_web::dev::ServerHandle;
use actix_web::rt::spawn;
use domain::jobs::Payload;
use tokio::signal::unix::{SignalKind, signal};

use super::demo;
use super::ground::Ground;
use crate::config::Config;
use crate::jobs::Workers;
use crate::state::{State, StateError};
use crate::{http, jobs};

/// How often is looked whether the private Postgres still runs.
const LOOK_EVERY: Duration = Duration::from_secs(1);

/// What a serving program does besides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Task {
    /// Nothing.
    Serve,
    /// Plays the invented school, whole or its first shots alone.
    Demo {
        /// Only the first shots.
        small: bool,
    },
}

/// Why the program does not run, or stopped running.
#[derive(Debug, thiserror::Error)]
pub enum ProgramError {
    /// The state could not be made.
    #[error(transparent)]
    State(#[from] StateError),
    /// The system refused something.
    #[error("the system refused: {0}")]
    System(#[from] std::io::Error),
    /// The invented school could not be played.
    #[error(transparent)]
    Demo(#[from] demo::DemoError),
    /// The private Postgres has ended by itself.
    #[error("the private Postgres ended; its log lies beside its data")]
    DatabaseEnded,
}

/// Answers requests and works on jobs until told to stop.
///
/// # Errors
/// What kept it from starting, or ended it.
pub fn serve(
    config: Config,
    ground: &Ground,
    listener: TcpListener,
    task: Task,
) -> Result<(), ProgramError> {
    actix_web::rt::System::new().block_on(async {
        let address = listener.local_addr()?;
        let state = open(config, ground, address).await?;
        let server = http::server(state.clone(), listener)?;
        let handle = server.handle();
        let serving = tokio::spawn(server);
        // What it received is looked at here and at once, whoever does the rest.
        let crews = [
            (1, Payload::KINDS_OF_ARRIVAL),
            (state.config.jobs.workers, Payload::KINDS_OF_ANYWHERE),
        ];
        let workers = jobs::start(&state, &crews);
        let following = spawn(jobs::index::run(
            state.clone(),
            ground.addresses.app.clone(),
        ));
        tracing::info!(%address, url = state.public_url, "serving");
        let outcome = tokio::select! {
            told = told_to_stop() => told,
            fell = ground_falls(ground) => Err(fell),
            played = demo_beside(task, &state, ground) => played,
        };
        following.abort();
        stop(handle, workers).await;
        drop(serving.await);
        outcome
    })
}

/// Works on jobs until told to stop.
///
/// # Errors
/// What kept it from starting, or ended it.
pub fn work(config: Config, ground: &Ground) -> Result<(), ProgramError> {
    actix_web::rt::System::new().block_on(async {
        let address = config.server.listen;
        let state = open(config, ground, address).await?;
        let n = state.config.jobs.workers.max(1);
        let workers = jobs::start(&state, &[(n, Payload::KINDS_OF_ANYWHERE)]);
        tracing::info!("working");
        let outcome = tokio::select! {
            told = told_to_stop() => told,
            fell = ground_falls(ground) => Err(fell),
        };
        workers.stop().await;
        outcome
    })
}

async fn open(config: Config, ground: &Ground, address: SocketAddr) -> Result<State, StateError> {
    State::open(config, &ground.addresses.app, address).await
}

/// Lets requests and jobs in hand end, and takes no new ones.
async fn stop(server: ServerHandle, workers: Workers) {
    tokio::join!(server.stop(true), workers.stop());
}

/// Until Ctrl-C, or whoever looks after this program, says so.
async fn told_to_stop() -> Result<(), ProgramError> {
    let mut interrupt = signal(SignalKind::interrupt())?;
    let mut terminate = signal(SignalKind::terminate())?;
    tokio::select! {
        _ = interrupt.recv() => {}
        _ = terminate.recv() => {}
    }
    tracing::info!("stopping");
    Ok(())
}

/// Until the private Postgres has ended by itself.
async fn ground_falls(ground: &Ground) -> ProgramError {
    while ground.stands() {
        tokio::time::sleep(LOOK_EVERY).await;
    }
    ProgramError::DatabaseEnded
}

/// Plays the invented school if that is the task; then, and otherwise, waits for ever.
async fn demo_beside(task: Task, state: &State, ground: &Ground) -> Result<(), ProgramError> {
    if let Task::Demo { small } = task {
        demo::run(state, ground, small).await?;
    }
    std::future::pending().await
}
