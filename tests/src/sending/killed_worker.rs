//! `serve` without workers beside `refrain work` as processes of their own, as on other machines: one that is killed or held up in the
//! middle of a preparation loses it to another, and what it would have done is done once.

use std::path::{Path, PathBuf};

use reqwest::Method;
use rustix::process::Signal;
use serde_json::Value;
use tests::harness::client::Client;
use tests::harness::cluster::cluster;
use tests::harness::founded::Founded;
use tests::harness::process::{Serving, Working, command, eventually, processes_naming};
use tests::harness::wait_for;

use super::{footage_in, footage_of, key, send, slow_clip, text, tus};

const LEASE_SECONDS: &str = "2";

/// A program that serves, a school in it, and machines that work for it.
struct Yard {
    program: Serving,
    founded: Founded,
}

impl Yard {
    async fn new() -> Self {
        let var = cluster().var_folder();
        let mut serve = command(&var);
        let program = Serving::start_with(serve.arg("serve").env("REFRAIN_WORKERS", "0"), &var);
        // Founding waits for a mail, and so for a worker that puts it where this program would.
        let clerk = Working::start(command(&var).arg("work"));
        let founded = Founded::at(&program).await;
        drop(clerk);
        // Every time footage becomes ready leaves a line.
        program.ask(
            "CREATE TABLE became_ready (footage uuid); GRANT INSERT ON became_ready TO refrain_app;
             CREATE FUNCTION note_ready() RETURNS trigger LANGUAGE plpgsql AS
               $$ BEGIN INSERT INTO became_ready VALUES (new.id); RETURN new; END $$;
             CREATE TRIGGER note_ready AFTER UPDATE ON footage FOR EACH ROW WHEN (new.state = 'ready') EXECUTE FUNCTION note_ready()",
        );
        Self { program, founded }
    }

    fn student(&self) -> &Client {
        &self.founded.student
    }

    fn prepare_job(&self, column: &str) -> String {
        let sql = format!("SELECT {column} FROM job WHERE kind = 'prepare'");
        self.program.ask(&sql).concat()
    }

    /// The job is done at its second attempt by somebody else, its effect is there once, and nothing half made is left.
    async fn assert_done_once(&self, footage: &str, first_worker: &str) {
        let ready = footage_in(self.student(), footage, "ready").await;
        assert_eq!(
            ready["frames"],
            ready["frame_table"]["pts"].as_array().unwrap().len()
        );
        assert_eq!(self.prepare_job("state || ' ' || attempt"), "done 2");
        assert_ne!(self.prepare_job("worker"), first_worker);
        assert_eq!(
            self.program.ask("SELECT footage FROM became_ready"),
            [footage]
        );
        let folder = self.program.var.join("footage/footage").join(footage);
        let mut files: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|file| file.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        files.sort();
        assert_eq!(files, ["copy.mp4", "poster.jpg", "source", "strip.jpg"]);
        let copy = self
            .student()
            .get(&format!("/api/v1/footage/{footage}/copy"))
            .await;
        assert_eq!((copy.status, &copy.body[4..8]), (200, &b"ftyp"[..]));
    }
}

/// `refrain work` with a folder of its own: it reaches the database and the footage, and nothing else of the program that serves.
struct Machine {
    process: Working,
    var: PathBuf,
}

impl Machine {
    fn start(program: &Serving) -> Self {
        let var = cluster().var_folder();
        let process = Working::start(
            command(&var)
                .arg("work")
                .env("DATABASE_URL", program.database_url())
                .env("REFRAIN_FOOTAGE_URL", program.var.join("footage"))
                .env("REFRAIN_JOB_LEASE_SECONDS", LEASE_SECONDS),
        );
        Self { process, var }
    }
}

/// Follows the footage until its preparation is under way; gives the shares that were seen on the way.
async fn under_way(who: &Client, footage: &str) -> Vec<f64> {
    let mut seen = vec![];
    wait_for("progress", async || {
        let now = who
            .get(&format!("/api/v1/footage/{footage}"))
            .await
            .expect(200);
        assert_eq!(
            now["state"], "preparing",
            "it was too quick to be interrupted: {now}"
        );
        let share = now["progress"].as_f64().unwrap();
        if seen.last() != Some(&share) {
            seen.push(share);
        }
        (seen.len() > 2).then_some(())
    })
    .await;
    seen
}

/// Whether something still works in that folder.
fn works_in(var: &Path) -> bool {
    !processes_naming(&var.join("scratch")).is_empty()
}

#[actix_web::test]
async fn another_takes_over_what_a_killed_worker_had_begun() {
    let yard = Yard::new().await;
    let footage = footage_of(yard.student(), &slow_clip()).await;
    let mut first = Machine::start(&yard.program);
    let seen = under_way(yard.student(), &footage).await;
    assert!(
        seen.is_sorted() && seen.iter().all(|share| (0.0..1.0).contains(share)),
        "{seen:?}"
    );
    let worker = yard.prepare_job("worker");
    assert!(works_in(&first.var), "the search does not see the work");
    first.process.end(Signal::KILL);
    eventually("nothing of it lives on", || !works_in(&first.var));
    assert_eq!(yard.prepare_job("state || ' ' || attempt"), "running 1");
    let _second = Machine::start(&yard.program);
    yard.assert_done_once(&footage, &worker).await;
}

#[actix_web::test]
async fn a_worker_that_was_held_up_finds_its_job_gone_and_undoes_nothing() {
    let yard = Yard::new().await;
    let footage = footage_of(yard.student(), &slow_clip()).await;
    let first = Machine::start(&yard.program);
    under_way(yard.student(), &footage).await;
    let worker = yard.prepare_job("worker");
    first.process.signal(Signal::STOP);
    let _second = Machine::start(&yard.program);
    eventually("the second has it", || yard.prepare_job("attempt") == "2");
    first.process.signal(Signal::CONT);
    eventually("the first stops working on it", || !works_in(&first.var));
    yard.assert_done_once(&footage, &worker).await;
}

/// The submission's own effects too: what is withdrawn while it is prepared ends there, and comes back once.
#[actix_web::test]
async fn what_is_given_up_is_not_prepared_any_further() {
    let yard = Yard::new().await;
    let machine = Machine::start(&yard.program);
    let student = yard.student();
    let state = async |footage: &str| -> Value {
        student
            .get(&format!("/api/v1/footage/{footage}"))
            .await
            .expect(200)["state"]
            .clone()
    };
    // Discarded before it was sent.
    let discarded = footage_of(student, &slow_clip()).await;
    under_way(student, &discarded).await;
    assert!(works_in(&machine.var));
    student
        .delete(&format!("/api/v1/footage/{discarded}"))
        .await
        .expect(204);
    eventually("nobody works on it", || !works_in(&machine.var));
    assert_eq!(state(&discarded).await, "cancelled");
    // Withdrawn after it was sent.
    let sent_footage = footage_of(student, &slow_clip()).await;
    let sent = send(student, &yard.founded.shot, &sent_footage, &key())
        .await
        .expect(201);
    under_way(student, &sent_footage).await;
    assert!(works_in(&machine.var));
    let path = format!("/api/v1/submissions/{}/withdraw", text(&sent["id"]));
    let back = student
        .request(Method::POST, &path)
        .send()
        .await
        .expect(200);
    assert_eq!(back["quota"]["left"], 1000, "{back}");
    eventually("nobody works on it", || !works_in(&machine.var));
    assert_eq!(state(&sent_footage).await, "cancelled");
    assert_eq!(yard.program.ask("SELECT count(*) FROM became_ready"), ["0"]);
    assert_eq!(
        yard.program
            .ask("SELECT string_agg(state, ' ') FROM job WHERE kind = 'prepare'"),
        ["cancelled cancelled"]
    );
    // An ended upload's file is gone at once as well.
    let path = super::announce(student, 10).await;
    tus(student, Method::DELETE, &path).send().await.expect(204);
    assert_eq!(
        std::fs::read_dir(yard.program.var.join("uploads"))
            .unwrap()
            .count(),
        0
    );
}
