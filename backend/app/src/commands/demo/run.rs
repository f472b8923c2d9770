//! `refrain demo`: founds the school, plays it, and tells the person who started it how to get in.

use std::net::TcpListener;
use std::path::PathBuf;

use actix_web::dev::ServerHandle;
use seed::plan::{Role, Scenario};
use store::found_school::{Founded, NewSchool, found_school};

use super::{DemoError, Load, Stage};
use crate::clock::Clock;
use crate::commands::ground::Ground;
use crate::http;
use crate::state::State;

/// Shots played at the same time.
const LANES: usize = 2;

/// Plays what of the school is not there yet, and says when it can be entered.
pub(in crate::commands) async fn run(
    state: &State,
    ground: &Ground,
    small: bool,
) -> Result<(), DemoError> {
    let scenario = if small {
        Scenario::small()
    } else {
        Scenario::full()
    };
    let done = Done(state.config.var.path().join("demo-played"));
    if done.is_set() {
        tell_way_in(&scenario, &state.public_url);
        return Ok(());
    }
    let now = state.clock.now();
    let founded = found(ground, &scenario, now).await?;
    let (stages, servers) = stages(state)?;
    let load = Load {
        first_start: founded.unwrap_or(now),
        founded_now: founded.is_none(),
        now,
        take_back: chrono::Duration::from_std(state.config.take_back).unwrap_or_default(),
        admin_url: ground.addresses.admin.clone(),
        stages,
        sandbox: &state.sandbox,
        scratch: &state.config.var.scratch().join("demo"),
        scenario: &scenario,
    };
    let all = scenario.shots.len();
    let played = load
        .play(
            || tell_way_in(&scenario, &state.public_url),
            |ready| tell_progress(ready, all),
        )
        .await;
    for server in servers {
        server.stop(false).await;
    }
    played?;
    done.set()
}

/// The mark that the school is whole.
struct Done(PathBuf);

impl Done {
    fn is_set(&self) -> bool {
        self.0.exists()
    }

    fn set(&self) -> Result<(), DemoError> {
        Ok(std::fs::write(&self.0, "")?)
    }
}

/// Founds the school; gives when that was if it was before now.
async fn found(
    ground: &Ground,
    scenario: &Scenario,
    now: chrono::DateTime<chrono::Utc>,
) -> Result<Option<chrono::DateTime<chrono::Utc>>, DemoError> {
    let head = scenario
        .people
        .iter()
        .find(|p| p.role == Role::Office)
        .copied()
        .ok_or_else(|| DemoError::Answer("the plan has no office".into()))?;
    let (admin, school) = (ground.addresses.admin.clone(), scenario.school);
    let founded = tokio::task::spawn_blocking(move || {
        let new = NewSchool {
            slug: school.slug,
            name: school.name,
            time_zone: school.time_zone,
            office_name: head.name,
            office_email: head.email,
            at: now,
        };
        found_school(admin.reveal(), &new)
    })
    .await??;
    Ok(match founded {
        Founded::Now => None,
        Founded::Before(at) => Some(at),
    })
}

/// Servers of this process that only the loader knows, each with a clock that the loader moves.
fn stages(state: &State) -> Result<(Vec<Stage>, Vec<ServerHandle>), DemoError> {
    let http_client = reqwest::Client::builder().build()?;
    let mut stages = vec![];
    let mut servers = vec![];
    for _ in 0..LANES {
        let listener = TcpListener::bind(("127.0.0.1", 0))?;
        let address = format!("http://{}", listener.local_addr()?);
        let (clock, hand) = Clock::by_hand(state.clock.now());
        let server = http::server(
            State {
                clock,
                ..state.clone()
            },
            listener,
        )?;
        servers.push(server.handle());
        tokio::spawn(server);
        stages.push(Stage::new(http_client.clone(), address, hand));
    }
    Ok((stages, servers))
}

#[expect(clippy::print_stdout, reason = "for the person who started it")]
fn tell_progress(ready: usize, all: usize) {
    println!("shot        {ready} of {all} is ready");
}

#[expect(clippy::print_stdout, reason = "for the person who started it")]
fn tell_way_in(scenario: &Scenario, url: &str) {
    println!();
    println!("{}", scenario.school.notice);
    println!("address     {url}");
    println!("sign in     {url}/in/{}", scenario.school.slug);
    println!("password    {}   (everybody's)", scenario.password);
    for person in &scenario.people {
        let role = match person.role {
            Role::Mentor => "mentor",
            Role::Student => "student",
            Role::Office => "office",
        };
        println!("{role:12}{:34}{}", person.email, person.name);
    }
    println!("ready");
}
