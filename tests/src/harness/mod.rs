//! The real program against a database of its own, and people who use it.

pub mod client;
pub mod cluster;
pub mod founded;
pub mod people;
pub mod process;
pub mod servers;

use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use actix_web::dev::ServerHandle;
use app::clock::{Clock, Hand};
use app::config::{Config, Secret};
use app::state::State;
use app::token::Token;
use chrono::{DateTime, Utc};
use domain::jobs::Payload;
use store::Db;

use client::Client;
use cluster::{Database, cluster};
use people::{Builder, Course, Enrolment, Person, School};

/// A running program: its server and workers on threads of their own, ended when this is dropped.
pub struct TestApp {
    /// Where it answers.
    pub address: String,
    /// Its database.
    pub database: Database,
    /// Its folder.
    pub var: PathBuf,
    server: ServerHandle,
    thread: Option<JoinHandle<()>>,
}

impl TestApp {
    /// A program with the tests' configuration.
    pub async fn start() -> Self {
        Self::start_with(|_| {}).await
    }

    /// The same, its configuration changed first.
    pub async fn start_with(change: impl FnOnce(&mut Config)) -> Self {
        Self::launch(change, None)
    }

    /// The same under a clock that only the returned hand moves.
    pub async fn start_at(at: DateTime<Utc>, change: impl FnOnce(&mut Config)) -> (Self, Hand) {
        let (clock, hand) = Clock::by_hand(at);
        (Self::launch(change, Some(clock)), hand)
    }

    fn launch(change: impl FnOnce(&mut Config), clock: Option<Clock>) -> Self {
        let (database, var) = (cluster().database(), cluster().var_folder());
        let mut config = Config::for_tests(&var, &database.app_url);
        change(&mut config);
        let listener = TcpListener::bind(config.server.listen).expect("a free port");
        let bound = listener.local_addr().expect("a bound address");
        let (tell, told) = mpsc::channel();
        let thread = std::thread::spawn(move || {
            actix_web::rt::System::new().block_on(async move {
                let url = config
                    .database
                    .url
                    .clone()
                    .unwrap_or_else(|| Secret::new(""));
                let mut state = State::open(config, &url, bound).await.expect("a state");
                if let Some(clock) = clock {
                    state.clock = clock;
                }
                let server = app::http::server(state.clone(), listener).expect("a server");
                let workers =
                    app::jobs::start(&state, &[(state.config.jobs.workers, Payload::KINDS)]);
                let following = actix_web::rt::spawn(app::jobs::index::run(state.clone(), url));
                tell.send(server.handle()).expect("somebody waits");
                server.await.expect("the server ends in peace");
                following.abort();
                workers.stop().await;
            });
        });
        Self {
            address: format!("http://{bound}"),
            database,
            var,
            server: told.recv().expect("the program starts"),
            thread: Some(thread),
        }
    }

    /// Nobody in particular.
    pub fn anonymous(&self) -> Client {
        Client::anonymous(&self.address)
    }

    /// A school of that slug.
    pub fn school(&self, slug: &str) -> School {
        self.builder().school(slug)
    }

    /// A signed-in person of the school with those roles.
    pub fn person(&self, school: &School, name: &str, roles: &[&str]) -> Person {
        let builder = self.builder();
        let (id, email) = builder.person(school, name, roles);
        let token = Token::random();
        builder.session(school, id, &token.hash());
        let client = self.anonymous().with_cookie(format!("refrain={token}"));
        Person {
            id,
            school: school.clone(),
            name: name.to_owned(),
            email,
            client,
        }
    }

    /// A course of the school.
    pub fn course(&self, school: &School, name: &str, granted: i32) -> Course {
        self.builder().course(school, name, granted)
    }

    /// A student in a course with a mentor.
    pub fn enrolment(
        &self,
        course: &Course,
        student: &Person,
        mentor: &Person,
        granted: i32,
    ) -> Enrolment {
        self.builder().enrolment(course, student, mentor, granted)
    }

    /// A pool of its own under the program's role.
    pub fn db(&self, size: usize) -> Db {
        Db::new(&self.database.app_url, size).expect("a pool")
    }

    /// The mails written so far, as bytes, oldest first.
    pub fn post(&self) -> Vec<Vec<u8>> {
        mails_in(&self.var.join("post"))
    }

    fn builder(&self) -> Builder<'_> {
        Builder {
            database: &self.database,
            now: now(),
        }
    }
}

impl Drop for TestApp {
    fn drop(&mut self) {
        // The handle only sends a word; the thread's own runtime does the rest.
        drop(self.server.stop(false));
        if let Some(thread) = self.thread.take()
            && thread.join().is_err()
            && !std::thread::panicking()
        {
            panic!("the program under test panicked");
        }
    }
}

/// The time now.
#[expect(clippy::disallowed_methods, reason = "tests may read the clock")]
pub fn now() -> DateTime<Utc> {
    Utc::now()
}

fn mails_in(folder: &Path) -> Vec<Vec<u8>> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "eml"))
        .collect();
    files.sort_by_key(|path| path.metadata().and_then(|m| m.modified()).ok());
    files
        .iter()
        .map(|path| std::fs::read(path).expect("a mail"))
        .collect()
}

/// Asks again until `read` gives something, for at most a minute.
pub async fn wait_for<T>(what: &str, mut read: impl AsyncFnMut() -> Option<T>) -> T {
    let begun = Instant::now();
    loop {
        if let Some(value) = read().await {
            return value;
        }
        assert!(
            begun.elapsed() < Duration::from_secs(60),
            "waited in vain for {what}"
        );
        tokio::time::sleep(Duration::from_millis(40)).await;
    }
}
